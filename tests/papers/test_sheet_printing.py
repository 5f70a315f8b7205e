"""The load sheet as PDF, picture and page: readable by people, scanners and screen readers."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from patency.papers import load_sheet_html, load_sheet_pdf, load_sheet_pictures
from tests.papers.cast import FULL_LOAD, PRINTED, full_sheet, small_sheet

HOSTILE = '<b>&"\'#panic("x") *_$`\\ @a [x] // no'


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return load_sheet_pdf(full_sheet(), PRINTED)


def test_the_pdf_holds_every_port_set_place_and_caution(pdf: bytes) -> None:
    text = text_of(pdf)
    sheet = full_sheet()
    words = [*sheet.unloading_ports, *FULL_LOAD.sets, "Lapwing", FULL_LOAD.machine]
    words += [port for line in sheet.caps for port in line.ports]
    words += [" ".join(caution.split()[:4]) for caution in sheet.cautions]
    assert [word for word in words if word not in text] == []


def test_the_pdf_is_a4_tagged_and_carries_its_own_fonts(pdf: bytes) -> None:
    reader: Any = PdfReader(io.BytesIO(pdf))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == f"Load sheet {FULL_LOAD.id}"
    assert b"pdfuaid" in root["/Metadata"].get_data()
    for page in reader.pages:
        assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == (595, 842)
        for font in page["/Resources"]["/Font"].values():
            (descendant,) = font.get_object()["/DescendantFonts"]
            assert any(key.startswith("/FontFile") for key in descendant.get_object()["/FontDescriptor"])


def test_the_same_sheet_gives_the_same_bytes(pdf: bytes) -> None:
    assert load_sheet_pdf(full_sheet(), PRINTED) == pdf


def test_a_scanner_reads_the_load_and_each_set_from_the_printed_page() -> None:
    page = Image.open(io.BytesIO(load_sheet_pictures(full_sheet(), 150.0)[0]))
    read = {code.text for code in zxingcpp.read_barcodes(page)}
    assert read == {f"load:{FULL_LOAD.id}", *(f"set:{name}" for name in FULL_LOAD.sets)}


def test_the_printed_pages_are_black_and_white() -> None:
    for picture in load_sheet_pictures(small_sheet(), 40.0):
        page = Image.open(io.BytesIO(picture)).convert("RGB")
        colours: Any = page.getcolors(1 << 24)
        assert all(max(colour) - min(colour) <= 1 for _, colour in colours)


def test_a_full_load_takes_no_more_than_eight_pages(pdf: bytes) -> None:
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 8


def test_names_with_every_nasty_sign_are_set_as_they_are() -> None:
    sheet = full_sheet()
    hostile = replace(sheet, sets=(replace(sheet.sets[0], name=HOSTILE), *sheet.sets[1:]))
    assert '#panic("x")' in text_of(load_sheet_pdf(hostile, PRINTED))
    page = load_sheet_html(hostile)
    assert "&lt;b&gt;&amp;" in page
    assert HOSTILE not in page


class _Page(HTMLParser):
    """Counts what a page opens and closes, and what it refers to."""

    EMPTY = frozenset({"meta", "input", "br", "line", "rect", "circle", "ellipse", "polygon", "polyline", "path"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.boxes = 0
        self.named = 0
        self.references: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.references += [value or "" for name, value in attrs if name in {"src", "href"}]
        if tag == "input":
            self.boxes += 1
            self.named += "aria-label" in given or "label" in self.open
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.EMPTY:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.EMPTY:
            assert self.open.pop() == tag


def test_the_page_is_well_formed_needs_nothing_else_and_names_every_box() -> None:
    page = _Page(load_sheet_html(full_sheet()))
    assert page.open == []
    assert page.references == []
    assert page.boxes == page.named > len(full_sheet().port_steps)


def test_the_page_says_the_same_as_the_paper() -> None:
    page = re.sub(r"\s+", " ", load_sheet_html(full_sheet()))
    for word in (*full_sheet().unloading_ports, *FULL_LOAD.sets, "Look when unloading", "not measurements"):
        assert word in page


def test_open_ports_and_a_load_without_caps_are_said_in_words() -> None:
    sheet = replace(small_sheet(), caps=(), open_ports=("T1",), fetch=())
    for text in (text_of(load_sheet_pdf(sheet, PRINTED)), load_sheet_html(sheet)):
        assert "No port is left over" in text
        assert "No cap left for T1" in text

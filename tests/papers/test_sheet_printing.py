"""The load sheet as PDF, picture and page: readable by people, scanners and screen readers."""

from __future__ import annotations

import html
import io
import re
from dataclasses import replace
from importlib import resources
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from patency.papers import LoadSheet, load_sheet, load_sheet_html, load_sheet_pdf, load_sheet_pictures
from tests.papers.cast import (
    FULL_LOAD,
    HOSTILE,
    PRINTED,
    SMALL,
    SMALL_LOAD,
    full_sheet,
    greys_only,
    small_sheet,
    squeezed,
    text_of,
)
from tests.papers.web_page import WebPage

both_sheets = pytest.mark.parametrize("sheet", [small_sheet(), full_sheet()], ids=["small", "full"])


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return load_sheet_pdf(full_sheet(), PRINTED)


def words_on(sheet: LoadSheet) -> list[str]:
    """Every word a person has to find on a sheet."""
    words = [*sheet.unloading_ports, sheet.carrier, sheet.machine, sheet.programme, sheet.starts, sheet.ends, sheet.day]
    words += [one.name for one in sheet.sets]
    words += [f"{one.pieces_total} single pieces" for one in sheet.sets]
    words += [word for line in sheet.caps for word in (line.cap, *line.ports)]
    words += [word for step in sheet.port_steps for word in (step.name, step.of, *step.connect, *step.set_up)]
    words += [word for step in sheet.place_steps for word in (step.place, *step.notes)]
    words += [f"{line.count} × {line.name}" for step in sheet.place_steps for line in step.lines]
    words += [name for _, name in sheet.fetch]
    return [*words, *sheet.checks_before_start, sheet.unloading_look, *sheet.look_first, *sheet.cautions]


@both_sheets
def test_the_pdf_holds_every_word_of_the_sheet(sheet: LoadSheet) -> None:
    text = squeezed(text_of(load_sheet_pdf(sheet, PRINTED)))
    assert [word for word in words_on(sheet) if squeezed(word) not in text] == []


@both_sheets
def test_the_page_holds_every_word_of_the_sheet(sheet: LoadSheet) -> None:
    text = squeezed(html.unescape(re.sub(r"<[^>]+>", "", load_sheet_html(sheet))))
    assert [word for word in words_on(sheet) if squeezed(word) not in text] == []


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


def test_all_letters_come_from_the_typeface_itself(pdf: bytes) -> None:
    reader: Any = PdfReader(io.BytesIO(pdf))
    names = {str(font["/BaseFont"]) for page in reader.pages for font in page["/Resources"]["/Font"].values()}
    assert all("AtkinsonHyperlegibleNext" in name for name in names)


def test_the_same_sheet_gives_the_same_bytes(pdf: bytes) -> None:
    assert load_sheet_pdf(full_sheet(), PRINTED) == pdf
    assert load_sheet_html(full_sheet()) == load_sheet_html(full_sheet())


@pytest.mark.parametrize("resolution", [100.0, 200.0])
def test_a_scanner_reads_the_load_and_each_set_from_the_printed_page(resolution: float) -> None:
    page = Image.open(io.BytesIO(load_sheet_pictures(full_sheet(), resolution)[0]))
    read = {code.text for code in zxingcpp.read_barcodes(page)}
    assert read == {f"load:{FULL_LOAD.id}", *(f"set:{name}" for name in FULL_LOAD.sets)}


def test_the_printed_pages_are_black_and_white() -> None:
    for picture in load_sheet_pictures(small_sheet(), 40.0):
        page = Image.open(io.BytesIO(picture)).convert("RGB")
        colours: Any = page.getcolors(1 << 24)
        assert all(max(colour) - min(colour) <= 1 for _, colour in colours)


@pytest.mark.parametrize("template", ["sheet.typ", "sheet.html.j2"])
def test_every_colour_of_the_templates_is_a_grey(template: str) -> None:
    assert greys_only((resources.files("patency.papers.sheets") / template).read_text(encoding="utf-8"))


def test_a_full_load_takes_no_more_than_six_pages_none_of_them_nearly_empty(pdf: bytes) -> None:
    pages = PdfReader(io.BytesIO(pdf)).pages
    assert len(pages) <= 6
    for page in pages:
        assert len(page.extract_text().splitlines()) > 12


def test_no_heading_stands_alone_at_the_foot_of_a_page(pdf: bytes) -> None:
    headings = ("Fetch first", "Load in this order", "Close the unused", "Count", "Look ", "Clean side", "Port Set")
    for page in PdfReader(io.BytesIO(pdf)).pages:
        lines = [line.strip() for line in page.extract_text().splitlines() if line.strip()]
        last = next(line for line in reversed(lines) if not line.startswith("Planned, not yet confirmed"))
        assert not last.startswith(headings)


def test_an_overview_stands_on_the_first_page_and_steps_begin_on_a_new_one(pdf: bytes) -> None:
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]
    assert all(port in pages[0] for port in full_sheet().unloading_ports)
    assert "Loaded, it should look like this" in pages[1]
    assert "Fetch first" in pages[1]
    assert "Load in this order" in pages[2]


def hostile_sheet() -> LoadSheet:
    """The small sheet with every name that a person may choose made of signs that mean something elsewhere."""
    department = SMALL.model_copy(
        update={
            "site": HOSTILE,
            "sets": {HOSTILE: SMALL.sets["Morning"], "Noon": SMALL.sets["Noon"]},
            "carriers": {"Wren": SMALL.carriers["Wren"].model_copy(update={"name": HOSTILE})},
            "accessories": {key: part.model_copy(update={"name": HOSTILE}) for key, part in SMALL.accessories.items()},
            "instruments": {
                key: kind.model_copy(
                    update={
                        "name": HOSTILE,
                        "pieces": {
                            name: piece.model_copy(update={"name": HOSTILE + "2"})
                            for name, piece in kind.pieces.items()
                        },
                    }
                )
                for key, kind in SMALL.instruments.items()
            },
        }
    )
    named = {"Morning": HOSTILE, "Noon": "Noon"}
    pieces = tuple(piece.model_copy(update={"set": named[piece.set]}) for piece in SMALL_LOAD.pieces)
    load = SMALL_LOAD.model_copy(
        update={"id": HOSTILE, "machine": HOSTILE, "sets": (HOSTILE, "Noon"), "pieces": pieces}
    )
    return load_sheet(department, load, HOSTILE, [HOSTILE])


def test_names_with_every_nasty_sign_are_set_as_they_are() -> None:
    sheet = hostile_sheet()
    text = squeezed(text_of(load_sheet_pdf(sheet, PRINTED)))
    assert text.count(squeezed('#panic("x")')) > 20
    page = load_sheet_html(sheet)
    assert "&lt;b&gt;&amp;" in page
    assert HOSTILE not in page
    assert WebPage(page).open == []


@both_sheets
def test_the_page_is_well_formed_needs_nothing_else_and_names_every_box(sheet: LoadSheet) -> None:
    page = WebPage(load_sheet_html(sheet))
    assert page.open == []
    assert page.references_outside == []
    assert (page.lang, page.titled) == ("en", True)
    assert page.boxes == page.named_boxes
    steps = len(sheet.port_steps) + len(sheet.place_steps)
    assert page.boxes == steps + len(sheet.fetch) + len(sheet.caps) + len(sheet.sets) + len(
        sheet.checks_before_start
    ) + len(sheet.unloading_ports) + len(sheet.look_first)


def test_the_page_has_one_title_and_its_parts_under_it() -> None:
    headings = WebPage(load_sheet_html(full_sheet())).headings
    assert headings[0] == ("h1", "Lapwing")
    assert [words for tag, words in headings if tag == "h2"] == [
        "Carrier from above",
        "Loaded, it should look like this from the front",
        "Fetch first",
        "Load in this order",
        "Close the unused ports",
        "Count",
        "Look before the door closes",
        "Look when unloading",
        "Clean side: look here first",
    ]


@both_sheets
def test_on_a_narrow_screen_each_column_that_loses_its_heading_says_what_it_is(sheet: LoadSheet) -> None:
    page = load_sheet_html(sheet)
    assert page.count('data-is="Connect: "') == page.count('data-is="Set up: "') == len(sheet.port_steps)
    assert page.count('<td class="full"') == 3 * len(sheet.port_steps) + len(sheet.place_steps)


def test_open_ports_are_boxed_in_words_that_ask_for_authority() -> None:
    sheet = replace(small_sheet(), caps=(), open_ports=("T1",), fetch=())
    for text in (text_of(load_sheet_pdf(sheet, PRINTED)), load_sheet_html(sheet)):
        assert "No cap left for T1" in text
        assert "ask who may authorise that" in text
        assert "No port is left over" not in text


def test_a_load_that_uses_every_port_says_that_none_is_left_over() -> None:
    sheet = replace(small_sheet(), caps=(), open_ports=())
    for text in (text_of(load_sheet_pdf(sheet, PRINTED)), load_sheet_html(sheet)):
        assert "No port is left over" in text


def test_a_sheet_without_weak_lumens_has_no_part_for_the_clean_side() -> None:
    sheet = replace(small_sheet(), look_first=())
    for text in (text_of(load_sheet_pdf(sheet, PRINTED)), load_sheet_html(sheet)):
        assert "look here first" not in text

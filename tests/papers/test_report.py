"""A report to file: a table on paper and on a terminal."""

from __future__ import annotations

import io
from importlib import resources
from typing import Any

import pytest
from pypdf import PdfReader

from patency.papers import Report, report_pdf, report_text
from tests.papers.cast import HOSTILE, PRINTED, greys_only, squeezed, text_of


def report_of(rows: tuple[tuple[str, ...], ...]) -> Report:
    return Report("Title here", "All is said.", ("First", "Second"), rows, (1.0, 2.0), ("a note",))


@pytest.mark.parametrize("rows", [(("a", "b"),), (("a" * 100, "b"), ("c", "d"))])
def test_a_report_is_a_table_on_paper_and_on_the_terminal(rows: tuple[tuple[str, ...], ...]) -> None:
    text = report_text(report_of(rows))
    assert text.splitlines()[0] == "Title here"
    assert text.splitlines()[-1] == "All is said."
    assert all(len(line) < 120 for line in text.splitlines())
    paper = text_of(report_pdf(report_of(rows), PRINTED))
    assert all(word in paper for word in ("Title here", "All is said.", "First", "a note"))


def test_columns_of_the_terminal_stand_under_their_heads() -> None:
    lines = report_text(report_of((("long words here", "x"), ("y", "z")))).splitlines()
    column = lines[2].index("Second")
    assert [line[column] for line in lines[3:5]] == ["x", "z"]


def test_a_report_of_many_rows_repeats_its_heads_on_every_page() -> None:
    reader: Any = PdfReader(io.BytesIO(report_pdf(report_of((("a", "b"),) * 90), PRINTED)))
    assert len(reader.pages) > 1
    assert all("First" in page.extract_text() for page in reader.pages)
    assert "/StructTreeRoot" in reader.trailer["/Root"]
    assert all(float(page.mediabox.width) > float(page.mediabox.height) for page in reader.pages)


def test_a_report_is_set_with_the_same_bytes_in_greys_and_takes_any_words() -> None:
    report = report_of(((HOSTILE, HOSTILE),))
    assert report_pdf(report, PRINTED) == report_pdf(report, PRINTED)
    assert squeezed('#panic("x")') in squeezed(text_of(report_pdf(report, PRINTED)))
    assert greys_only((resources.files("patency.papers.report") / "report.typ").read_text(encoding="utf-8"))

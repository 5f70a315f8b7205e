"""A table with its heading, set as PDF or as text for a terminal."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

from patency.papers.typesetting import set_pdf

if TYPE_CHECKING:
    from datetime import datetime

_WIDEST = 46


@dataclass(frozen=True, slots=True)
class Report:
    """What stands in a report.

    Parameters
    ----------
    title
        Heading.
    summary
        What came out, in one sentence.
    heads
        Heads of the columns.
    rows
        Cells as words; as many in each row as there are heads.
    shares
        Width of each column on paper, in shares of the whole.
    notes
        Lines below the table.
    """

    title: str
    summary: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    notes: tuple[str, ...]


def report_pdf(report: Report, printed: datetime) -> bytes:
    """Set a report as an A4 PDF, landscape.

    Parameters
    ----------
    report
        What stands in it.
    printed
        Time written into the file, with its zone.

    Returns
    -------
    bytes
        The PDF.
    """
    return set_pdf(resources.files("patency.papers.report") / "report.typ", report, printed)


def report_text(report: Report) -> str:
    """Write a report for a terminal.

    Parameters
    ----------
    report
        What stands in it.

    Returns
    -------
    str
        Columns aligned, long cells folded.
    """
    folded = [[textwrap.wrap(cell, _WIDEST) or [""] for cell in row] for row in [report.heads, *report.rows]]
    widths = [max(len(line) for row in folded for line in row[column]) for column in range(len(report.heads))]
    lines = [report.title, ""]
    for row in folded:
        for depth in range(max(len(cell) for cell in row)):
            cells = (cell[depth] if depth < len(cell) else "" for cell in row)
            lines.append("  ".join(text.ljust(width) for text, width in zip(cells, widths, strict=True)).rstrip())
    return "\n".join([*lines, "", *report.notes, "", report.summary])

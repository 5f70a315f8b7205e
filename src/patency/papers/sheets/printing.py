"""Puts a load sheet on paper and on the screen."""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING

from patency.papers.pages import write_page
from patency.papers.typesetting import set_pdf, set_pictures

if TYPE_CHECKING:
    from datetime import datetime

    from patency.papers.sheets.content import LoadSheet

_ROOM = "patency.papers.sheets"


def load_sheet_pdf(sheet: LoadSheet, printed: datetime) -> bytes:
    """Set a load sheet as an A4 PDF that can also be read in black and white.

    Parameters
    ----------
    sheet
        What stands on it.
    printed
        Time written into the file, with its zone.

    Returns
    -------
    bytes
        The PDF.
    """
    return set_pdf(resources.files(_ROOM) / "sheet.typ", sheet, printed)


def load_sheet_pictures(sheet: LoadSheet, pixels_per_inch: float = 110.0) -> list[bytes]:
    """Set a load sheet as pictures, one a page.

    Parameters
    ----------
    sheet
        What stands on it.
    pixels_per_inch
        Resolution.

    Returns
    -------
    list[bytes]
        PNG files.
    """
    return set_pictures(resources.files(_ROOM) / "sheet.typ", sheet, pixels_per_inch)


def load_sheet_html(sheet: LoadSheet) -> str:
    """Write a load sheet as one web page that needs nothing else.

    Parameters
    ----------
    sheet
        What stands on it.

    Returns
    -------
    str
        HTML with its pictures inside.
    """
    return write_page(_ROOM, "sheet.html.j2", sheet=sheet)

"""Puts a load file on paper and on the screen."""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING

from patency.papers.files.sharing import printed_file
from patency.papers.pages import inline_svg, write_page
from patency.papers.typesetting import set_pdf, set_pictures

if TYPE_CHECKING:
    from datetime import datetime

    from patency.papers.files.content import LoadFile

_ROOM = "patency.papers.files"


def load_file_pdf(file: LoadFile, printed: datetime) -> bytes:
    """Set a load file as an A4 PDF that can also be read in black and white.

    Parameters
    ----------
    file
        What stands in it.
    printed
        Time written into the file, with its zone.

    Returns
    -------
    bytes
        The PDF.
    """
    return set_pdf(resources.files(_ROOM) / "file.typ", printed_file(file), printed)


def load_file_pictures(file: LoadFile, pixels_per_inch: float = 110.0) -> list[bytes]:
    """Set a load file as pictures, one a page.

    Parameters
    ----------
    file
        What stands in it.
    pixels_per_inch
        Resolution.

    Returns
    -------
    list[bytes]
        PNG files.
    """
    return set_pictures(resources.files(_ROOM) / "file.typ", printed_file(file), pixels_per_inch)


def load_file_html(file: LoadFile) -> str:
    """Write a load file as one web page that needs nothing else.

    Parameters
    ----------
    file
        What stands in it.

    Returns
    -------
    str
        HTML with its plot inside.
    """
    return write_page(_ROOM, "file.html.j2", file=file, plot=inline_svg(file.plot_svg))

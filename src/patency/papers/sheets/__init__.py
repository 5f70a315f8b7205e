"""The load sheet: what a loader works from."""

from patency.papers.sheets.content import LoadSheet, load_sheet, set_letters
from patency.papers.sheets.printing import load_sheet_html, load_sheet_pdf, load_sheet_pictures
from patency.papers.sheets.watch import LookLine, SheetWatch

__all__ = [
    "LoadSheet",
    "LookLine",
    "SheetWatch",
    "load_sheet",
    "load_sheet_html",
    "load_sheet_pdf",
    "load_sheet_pictures",
    "set_letters",
]

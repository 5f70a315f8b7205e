"""The load sheet: what a loader works from."""

from patency.papers.sheets.content import LoadSheet, draw_load_level, load_sheet
from patency.papers.sheets.floors import draw_load_floors
from patency.papers.sheets.printing import load_sheet_html, load_sheet_pdf, load_sheet_pictures
from patency.papers.sheets.steps import PlaceStep, PortStep, set_letters
from patency.papers.sheets.watch import LookLine, SheetWatch

__all__ = [
    "LoadSheet",
    "LookLine",
    "PlaceStep",
    "PortStep",
    "SheetWatch",
    "draw_load_floors",
    "draw_load_level",
    "load_sheet",
    "load_sheet_html",
    "load_sheet_pdf",
    "load_sheet_pictures",
    "set_letters",
]

"""The load sheet: what a loader works from."""

from patency.papers.load_sheet.content import LoadSheet, load_sheet
from patency.papers.load_sheet.printing import load_sheet_html, load_sheet_pdf, load_sheet_pictures

__all__ = ["LoadSheet", "load_sheet", "load_sheet_html", "load_sheet_pdf", "load_sheet_pictures"]

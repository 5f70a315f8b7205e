"""What people hold: load sheets and load files, as PDF, web page and picture."""

from patency.papers.load_sheet import LoadSheet, load_sheet, load_sheet_html, load_sheet_pdf, load_sheet_pictures

__all__ = ["LoadSheet", "load_sheet", "load_sheet_html", "load_sheet_pdf", "load_sheet_pictures"]

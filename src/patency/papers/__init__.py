"""What people hold: load sheets and load files, as PDF, web page and picture."""

from patency.papers.files import (
    LoadFile,
    LumenLine,
    load_file,
    load_file_html,
    load_file_pdf,
    load_file_pictures,
    plot_record,
)
from patency.papers.report import Report, report_pdf, report_text
from patency.papers.sheets import (
    LoadSheet,
    load_sheet,
    load_sheet_html,
    load_sheet_pdf,
    load_sheet_pictures,
    set_letters,
)

__all__ = [
    "LoadFile",
    "LoadSheet",
    "LumenLine",
    "Report",
    "load_file",
    "load_file_html",
    "load_file_pdf",
    "load_file_pictures",
    "load_sheet",
    "load_sheet_html",
    "load_sheet_pdf",
    "load_sheet_pictures",
    "plot_record",
    "report_pdf",
    "report_text",
    "set_letters",
]

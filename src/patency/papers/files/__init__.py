"""The load file: what is known about one load, for the person who decides."""

from patency.papers.files.content import CriterionLine, LoadFile, LumenLine, load_file, steam_file
from patency.papers.files.printing import load_file_html, load_file_pdf, load_file_pictures
from patency.papers.files.record_plot import plot_record

__all__ = [
    "CriterionLine",
    "LoadFile",
    "LumenLine",
    "load_file",
    "load_file_html",
    "load_file_pdf",
    "load_file_pictures",
    "plot_record",
    "steam_file",
]

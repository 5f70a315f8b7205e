"""What people hold: load sheets and load files, as PDF, web page and picture."""

from patency.papers.bench.comparison import plot_comparison
from patency.papers.bench.form import BenchForm, bench_form, bench_form_pdf, bench_form_pictures
from patency.papers.codes import data_matrix_svg
from patency.papers.drawing.piece import draw_piece
from patency.papers.faults.matrix import plot_faults
from patency.papers.files import (
    LoadFile,
    LumenLine,
    load_file,
    load_file_html,
    load_file_pdf,
    load_file_pictures,
    plot_record,
    steam_file,
)
from patency.papers.flows.lumens_plot import LumenBar, plot_lumens
from patency.papers.flows.manifold_plot import plot_manifold
from patency.papers.reach.pictures import (
    LOOK_WORDS,
    REACH_WORDS,
    SIDES,
    ReachPictures,
    draw_piece_reach,
    draw_reach,
    draw_reach_legend,
    reach_pictures,
)
from patency.papers.report import Report, report_pdf, report_text
from patency.papers.sheets import (
    LoadSheet,
    LookLine,
    PlaceStep,
    PortStep,
    SheetWatch,
    draw_load_floors,
    draw_load_level,
    load_sheet,
    load_sheet_html,
    load_sheet_pdf,
    load_sheet_pictures,
    set_letters,
)
from patency.papers.statistics.control_chart import plot_control_chart

__all__ = [
    "LOOK_WORDS",
    "REACH_WORDS",
    "SIDES",
    "BenchForm",
    "LoadFile",
    "LoadSheet",
    "LookLine",
    "LumenBar",
    "LumenLine",
    "PlaceStep",
    "PortStep",
    "ReachPictures",
    "Report",
    "SheetWatch",
    "bench_form",
    "bench_form_pdf",
    "bench_form_pictures",
    "data_matrix_svg",
    "draw_load_floors",
    "draw_load_level",
    "draw_piece",
    "draw_piece_reach",
    "draw_reach",
    "draw_reach_legend",
    "load_file",
    "load_file_html",
    "load_file_pdf",
    "load_file_pictures",
    "load_sheet",
    "load_sheet_html",
    "load_sheet_pdf",
    "load_sheet_pictures",
    "plot_comparison",
    "plot_control_chart",
    "plot_faults",
    "plot_lumens",
    "plot_manifold",
    "plot_record",
    "reach_pictures",
    "report_pdf",
    "report_text",
    "set_letters",
    "steam_file",
]

"""Charts with axes, black and white: one place for typeface, strokes and the library that draws them."""

from __future__ import annotations

import io
import re
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from patency.papers.drawing.svg import FONT
from patency.papers.fonts import fonts_folder

if TYPE_CHECKING:
    from collections.abc import Iterator

CHART_WIDTH_MM = 186.0
_STYLE: Any = {
    "font.family": [FONT.split(",", maxsplit=1)[0], "DejaVu Sans"],
    "font.size": 8.5,
    "svg.fonttype": "none",
    "text.parse_math": False,
}
# Strokes that tell lines apart without colour.
LINES = ("-", "--", "-.", ":")


@contextmanager
def new_chart(height_mm: float) -> Iterator[Any]:
    """Open a figure as wide as a page's text; draw and save it inside the ``with``.

    Parameters
    ----------
    height_mm
        Its height [mm].

    Yields
    ------
    Figure
        An empty figure.
    """
    import matplotlib as mpl
    from matplotlib import font_manager
    from matplotlib.figure import Figure

    with fonts_folder() as folder:
        for font in sorted(folder.glob("*.ttf")):
            font_manager.fontManager.addfont(font)
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(CHART_WIDTH_MM / 25.4, height_mm / 25.4))
        # Room around for browsers that lack the typeface and take a wider one.
        figure.set_layout_engine("constrained", rect=(0.01, 0.0, 0.95, 0.97))
        yield figure


def chart_svg(figure: Any, title: str) -> str:  # noqa: ANN401 - matplotlib
    """Return a figure as SVG source.

    Parameters
    ----------
    figure
        The figure, while it is open.
    title
        What it shows, for people who cannot see it.

    Returns
    -------
    str
        SVG source, the same for the same figure.
    """
    out = io.BytesIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Title": title})
    return _numbered(out.getvalue().decode())


def _numbered(svg: str) -> str:
    """Number the elements others refer to: the library names some after their place in memory, never twice the same."""
    names = dict.fromkeys(re.findall(r'id="([a-z][0-9a-f]{10})"', svg))
    for number, name in enumerate(names):
        svg = svg.replace(name, f"ref{number}")
    return svg

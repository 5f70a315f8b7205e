"""Measured beside predicted, drawn: each reading as a share of what the fitted model shows there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.papers.drawing.svg import INK, Picture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.flow import BenchFit, ComparedReading

_WIDTH_MM, _LEFT_MM, _RIGHT_MM = 186.0, 78.0, 178.0
_ROW_MM, _TOP_MM = 6.5, 16.0
_LEAST_SHARE = 0.05
_GREY = "#888"


def plot_comparison(fit: BenchFit, noise: Sequence[float]) -> str:
    """Draw every reading: before the fit as a ring, after it as a dot, with the instrument's 95 % interval.

    Parameters
    ----------
    fit
        The fit.
    noise
        Of each of its readings the standard deviation as a share of it [-].

    Returns
    -------
    str
        SVG source, 186 mm wide; it can be read in black and white.
    """
    before = [one.measured / one.described - 1.0 for one in fit.readings]
    after = [one.measured / one.predicted - 1.0 for one in fit.readings]
    spans = [abs(share) + 2.0 * sd for share, sd in zip(after, noise, strict=True)]
    widest = 0.02 * math.ceil(max(_LEAST_SHARE, *(abs(share) for share in before), *spans) / 0.02)
    height = _TOP_MM + _ROW_MM * len(fit.readings) + 14.0
    picture = Picture(_WIDTH_MM, height, "Measured over predicted, each reading before and after the fit")

    def at(share: float) -> float:
        return (_LEFT_MM + _RIGHT_MM) / 2.0 + share / widest * (_RIGHT_MM - _LEFT_MM) / 2.0

    bottom = _TOP_MM + _ROW_MM * len(fit.readings)
    picture.text(2.0, 6.0, "Measured over predicted", 4.2, text_anchor="start", font_weight="bold")
    picture.text(2.0, 11.0, "ring: as described; dot: fitted; bar: 95 % of the reading", 3.2, text_anchor="start")
    for share in (-widest, -widest / 2.0, 0.0, widest / 2.0, widest):
        dash = "none" if share == 0.0 else "1 1"
        picture.add(
            "line", x1=at(share), y1=_TOP_MM - 2.0, x2=at(share), y2=bottom, stroke=_GREY, stroke_width=0.25,
            stroke_dasharray=dash,
        )  # fmt: skip
        picture.text(at(share), bottom + 4.5, f"{share * 100.0:+.0f} %" if share else "0", 3.2)
    for row, one in enumerate(fit.readings):
        y = _TOP_MM + _ROW_MM * (row + 0.5)
        picture.text(2.0, y + 1.1, _named(one), 3.2, text_anchor="start")
        ends = [at(after[row] - 2.0 * noise[row]), at(after[row] + 2.0 * noise[row])]
        picture.add("line", x1=ends[0], y1=y, x2=ends[1], y2=y, stroke=INK, stroke_width=0.5)
        picture.add("circle", cx=at(before[row]), cy=y, r=1.3, fill="white", stroke=INK, stroke_width=0.35)
        picture.add("circle", cx=at(after[row]), cy=y, r=1.0, fill=INK)
    picture.text((_LEFT_MM + _RIGHT_MM) / 2.0, bottom + 10.0, "measured less predicted, over predicted", 3.2)
    return picture.to_text()


def _named(one: ComparedReading) -> str:
    mark = "! " if one.stands_out else ""
    return f"{mark}{one.reading.instrument} {one.reading.at}: {one.reading.setup}"[:58]

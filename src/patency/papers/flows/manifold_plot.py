"""Pressure along the manifold of a load's carrier: a line for each circuit, readable in black and white."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.papers.drawing.charts import LINES, chart_svg, new_chart

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.flow import ManifoldPlace

_HEIGHT_MM = 150.0
_MARKS = ("o", "s", "^", "D", "v")
_MBAR = 1e-2
_INK = "#111111"


def plot_manifold(load_id: str, stage: str, circuits: Mapping[str, Sequence[ManifoldPlace]]) -> str:
    """Draw the pressure along every circuit.

    Parameters
    ----------
    load_id
        The load.
    stage
        The stage the pressures are of.
    circuits
        Circuit to its places, away from the dock.

    Returns
    -------
    str
        SVG source, 186 mm wide. Circuits differ by stroke and by the form of the marks, of which one stands at every
        place with ports, with their names.
    """
    # Names stand above the upper circuits and below the lower ones, where the fewest meet.
    by_pressure = sorted(circuits, key=lambda name: circuits[name][-1].pressure_pa)
    lower = by_pressure[: len(by_pressure) // 2]
    with new_chart(_HEIGHT_MM) as figure:
        panel = figure.subplots()
        for number, (name, places) in enumerate(circuits.items()):
            panel.plot(
                [place.distance_m * 1e3 for place in places],
                [place.pressure_pa * _MBAR for place in places],
                color=_INK,
                linewidth=1.0,
                linestyle=LINES[number % len(LINES)],
                marker=_MARKS[number % len(_MARKS)],
                markersize=4.0,
                markerfacecolor="white" if number % 2 else _INK,
                markevery=[row for row, place in enumerate(places) if place.ports],
                label=name,
            )
            for place in (one for one in places if one.ports):
                panel.annotate(
                    ", ".join(place.ports),
                    (place.distance_m * 1e3, place.pressure_pa * _MBAR),
                    xytext=(0, -5 if name in lower else 5),
                    textcoords="offset points",
                    rotation=90,
                    ha="center",
                    va="top" if name in lower else "bottom",
                    fontsize=6.5,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.8},
                )
        panel.set_xlabel("length of pipe from the dock [mm]")
        panel.set_ylabel("total pressure, at the level of the sump's water [mbar]")
        panel.set_title(
            f"Load {load_id}, stage {stage}: pressure along the manifold, a mark at every port", fontsize=9.5
        )
        panel.margins(x=0.02, y=0.12)
        panel.grid(color="0.88", linewidth=0.5)
        panel.spines[["top", "right"]].set_visible(False)
        figure.legend(loc="outside lower center", ncols=5, frameon=False, fontsize=7.5, handlelength=4.0)
        return chart_svg(
            figure, "total pressure at every place of the carrier's circuits against the way from the dock"
        )

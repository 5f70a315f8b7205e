"""Flow and wall shear of every connected lumen, each with its interval and its limit, readable in black and white."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from patency.papers.drawing.charts import chart_svg, new_chart

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.flow import LeastValue
    from patency.quantities import Interval

_ROW_MM = 4.4
_AROUND_MM = 34.0
_ROWS_MM = 200.0  # what a page has room for; more lumens stand closer
_FONT = 7.5
_PANELS = (("flow [mL/min]", 6e7), ("wall shear [Pa]", 1.0))
_FEW_TICKS = 50.0  # an axis with less than that from end to end gets numbers between powers of ten
# What marks tell, by form alone.
_PREDICTED = "predicted, with its interval"
_WEAKEST = "among the weakest of the load"
_LIMIT = "limit"
_OUT_OF_DATE = "limit out of date"
_INK = "#111111"


@dataclass(frozen=True, slots=True)
class LumenBar:
    """One lumen as the chart shows it.

    Parameters
    ----------
    name
        Piece, lumen, set and port in words.
    flow_m3_s
        Its flow in the stage that is worst for it [m³/s].
    shear_pa
        Its wall shear stress in the stage that is worst for it [Pa]; None over a nozzle, where it is not known.
    least_flow
        What its flow has to reach [m³/s]; None where nothing is stated.
    least_shear
        What its wall shear has to reach [Pa]; None where nothing is stated.
    weak
        Whether it is among the weakest lumens of the load.
    """

    name: str
    flow_m3_s: Interval
    shear_pa: Interval | None
    least_flow: LeastValue | None
    least_shear: LeastValue | None
    weak: bool


def plot_lumens(load_id: str, letters: Mapping[str, str], bars: Sequence[LumenBar]) -> str:
    """Draw flow and wall shear of lumens.

    Parameters
    ----------
    load_id
        The load.
    letters
        Set to the letter that stands for it in the names of the lumens.
    bars
        Its lumens, from top to bottom; at least one.

    Returns
    -------
    str
        SVG source, 186 mm wide and no taller than a page. A bar is the interval, a dot in it the value at nominal
        sizes, a diamond that of one of the weakest lumens, an upright stroke the limit, a dotted one a limit out of
        date. Both axes are logarithmic; what does not flow is said in words.
    """
    numbers: tuple[list[tuple[Interval | None, LeastValue | None]], ...] = (
        [(bar.flow_m3_s, bar.least_flow) for bar in bars],
        [(bar.shear_pa, bar.least_shear) for bar in bars],
    )
    row_mm = min(_ROW_MM, _ROWS_MM / len(bars))
    with new_chart(_AROUND_MM + row_mm * len(bars)) as figure:
        # Names are long: a browser that lacks the typeface takes one that makes them longer by a sixth.
        figure.get_layout_engine().set(rect=(0.08, 0.0, 0.89, 0.97))
        panels = figure.subplots(1, 2, sharey=True, width_ratios=(1, 1))
        for panel, (label, factor), values in zip(panels, _PANELS, numbers, strict=True):
            _draw_panel(panel, values, [bar.weak for bar in bars], factor)
            panel.set_xlabel(label)
        panels[0].set_yticks(range(len(bars)), [bar.name for bar in bars], fontsize=_FONT * row_mm / _ROW_MM)
        panels[0].set_ylim(len(bars) - 0.4, -0.6)
        sets = ", ".join(f"{letter}: {name}" for name, letter in letters.items())
        title = f"Load {load_id}: every connected lumen in the stage that is worst for it"
        figure.suptitle(f"{title}\n{sets}", fontsize=9)
        handles = {label: handle for panel in panels for handle, label in zip(*panel.get_legend_handles_labels())}  # noqa: B905
        figure.legend(
            handles.values(),
            handles,
            loc="outside lower center",
            ncols=4,
            columnspacing=5.0,
            frameon=False,
            fontsize=_FONT,
        )
        return chart_svg(figure, "flow and wall shear of every connected lumen with interval and limit")


def _draw_panel(
    panel: Any,  # noqa: ANN401 - matplotlib
    values: Sequence[tuple[Interval | None, LeastValue | None]],
    weak: Sequence[bool],
    factor: float,
) -> None:
    panel.set_xscale("log")
    for row, (interval, least) in enumerate(values):
        if interval is None:
            _say(panel, row, "not known over a nozzle")
        elif interval.nominal <= 0.0:
            _say(panel, row, "nothing flows")
        else:
            low, nominal, high = (end * factor for end in (interval.low, interval.nominal, interval.high))
            # The bar runs out of the chart where its lower end is nothing, which no logarithm has.
            panel.plot((low or nominal * 1e-3, high), (row, row), color=_INK, linewidth=1.1, solid_capstyle="butt")
            mark, size = ("D", 4.5) if weak[row] else ("o", 3.5)
            label = _WEAKEST if weak[row] else _PREDICTED
            panel.plot(nominal, row, mark, color=_INK, markersize=size, label=label)
        if least is not None:
            stroke, label = ("-", _LIMIT) if least.in_date else (":", _OUT_OF_DATE)
            at = least.value * factor
            panel.plot((at, at), (row - 0.42, row + 0.42), stroke, color="#666666", linewidth=1.8, label=label)
    panel.grid(axis="both", color="0.88", linewidth=0.5)
    panel.set_axisbelow(True)
    panel.spines[["top", "right"]].set_visible(False)
    panel.tick_params(axis="y", length=0)
    panel.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    first, last = panel.get_xlim()
    if last / first < _FEW_TICKS:
        panel.xaxis.set_minor_formatter(lambda value, _: f"{value:g}" if f"{value:e}"[0] in "25" else "")
        panel.tick_params(axis="x", which="minor", labelsize=_FONT)
    else:
        panel.xaxis.set_minor_formatter(lambda _value, _: "")


def _say(panel: Any, row: int, words: str) -> None:  # noqa: ANN401 - matplotlib
    panel.text(0.02, row, words, transform=panel.get_yaxis_transform(), va="center", fontsize=7, fontstyle="italic")

"""One control chart: values as found above, what the chart follows below, signals by shape and word."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patency.papers.drawing.charts import chart_svg, new_chart

if TYPE_CHECKING:
    from patency.evidence import GroupChart

_HEIGHT_MM = 110.0
_INK = "#111111"
_MOST_LABELS = 12


def plot_control_chart(one: GroupChart) -> str:
    """Draw a control chart.

    Parameters
    ----------
    one
        The chart.

    Returns
    -------
    str
        SVG source, 186 mm wide. A signal is a filled square with its word; the points since the change are filled.
    """
    places = range(len(one.shown))
    moved = {place for signal in one.chart.signals for place in range(signal.began, signal.at + 1)}
    with new_chart(_HEIGHT_MM) as figure:
        found, followed = figure.subplots(2, 1, sharex=True)
        found.plot(places, one.shown, color=_INK, linewidth=0.8)
        for filled in (True, False):
            at = [place for place in places if (place in moved) == filled]
            face = _INK if filled else "white"
            found.plot(
                at, [one.shown[place] for place in at], "o", color=_INK, markerfacecolor=face, markersize=4, zorder=3
            )
        found.set_ylabel(f"{one.result}\n[{one.unit or 'findings per piece'}]")
        found.set_title(f"{one.result}: {one.by}, {one.group}" if one.by != one.group else one.result, fontsize=9.5)
        followed.plot(places, one.chart.statistic, color=_INK, linewidth=1.0)
        for limit, word in ((one.chart.high, "upper limit"), (one.chart.low, "lower limit")):
            if limit is not None:
                followed.axhline(limit, color=_INK, linewidth=0.9, linestyle="--")
                followed.annotate(
                    word, (0.0, limit), xytext=(2, 3), textcoords="offset points", fontsize=7.5, va="bottom"
                )
        for signal in one.chart.signals:
            height = one.chart.statistic[signal.at]
            followed.plot([signal.at], [height], "s", color=_INK, markersize=7)
            followed.annotate(
                f"{signal.direction} since {one.labels[signal.began]}",
                (signal.at, height),
                xytext=(-8, 0),
                textcoords="offset points",
                ha="right",
                va="center",
                fontsize=7.5,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
            )
        followed.set_ylabel("sum above allowance" if one.chart.low is None else "standard deviations")
        followed.set_xlabel(f"{one.chart.rule}\na false alarm once in {one.chart.run_length:.0f} points on the average")
        _name_points(followed, one)
        for panel in (found, followed):
            panel.grid(color="0.88", linewidth=0.5)
            panel.spines[["top", "right"]].set_visible(False)
            panel.margins(y=0.12)
        return chart_svg(figure, f"control chart of {one.result}, {one.group}: {len(one.chart.signals)} signals")


def _name_points(panel: Any, one: GroupChart) -> None:  # noqa: ANN401 - matplotlib
    each = -(-len(one.labels) // _MOST_LABELS)
    named = range(0, len(one.labels), each)
    panel.set_xticks(list(named), [one.labels[place] for place in named], rotation=30, ha="right", fontsize=7)

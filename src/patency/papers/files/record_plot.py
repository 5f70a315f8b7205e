"""A cycle record over time, drawn so that it can be read in black and white: stages, limits, predicted pressures."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from patency.evidence import PRESSURE_CRITERION
from patency.papers.drawing.charts import CHART_WIDTH_MM, LINES, chart_svg, new_chart
from patency.papers.drawing.svg import Picture

if TYPE_CHECKING:
    from patency.evidence import CycleRecord, Evidence, SteamEvidence, Trace

_UNITS = {
    "temperature": "°C",
    "pressure": "mbar",
    "conductivity": "μS/cm",
    "rotation": "rpm",
    "dosed volume": "mL",
}
_HEIGHTS = {"temperature": 3.6, "pressure": 2.6, "conductivity": 1.3, "rotation": 1.3, "dosed volume": 1.3}
# Units of the criteria whose limits can be drawn beside a trace; limits of pressure are drawn as predicted bands.
_LIMIT_UNITS = {"temperature": "degC", "conductivity": "uS/cm", "rotation": "rpm"}
# From the record's unit to the one on the axis.
_FACTORS = {"pressure": 1e-2, "dosed volume": 1e6}


def plot_record(record: CycleRecord, evidence: Evidence | SteamEvidence) -> str:
    """Draw a record.

    Parameters
    ----------
    record
        The record.
    evidence
        Its evaluation, for the stages, their limits and what each pressure sensor should show, drawn as bands.

    Returns
    -------
    str
        SVG source, 186 mm wide.
    """
    shown = [quantity for quantity in _UNITS if record.of(quantity)]
    if not shown:
        nothing = Picture(CHART_WIDTH_MM, 12.0, "no record over time")
        nothing.text(CHART_WIDTH_MM / 2, 7.0, "The record holds no measured values.", 4.0)
        return nothing.to_text()
    band = _plateau_band(evidence)
    if band is not None and "temperature" in shown:
        shown.insert(1, "temperature")
    ratios = [_HEIGHTS[quantity] for quantity in shown]
    with new_chart(15 + 9.5 * sum(ratios)) as figure:
        panels = figure.subplots(len(shown), 1, sharex=True, height_ratios=ratios, squeeze=False)[:, 0]
        for panel, quantity in zip(panels, shown, strict=True):
            _draw_panel(panel, quantity, record, evidence)
        if band is not None and shown.count("temperature") > 1:
            _look_closer(panels[1], *band)
        if "pressure" in shown:
            _draw_predictions(panels[shown.index("pressure")], evidence)
        _name_stages(panels[0], evidence)
        panels[-1].set_xlabel("minutes since the start of the record")
        return chart_svg(figure, "cycle record over time")


def _draw_panel(panel: Any, quantity: str, record: CycleRecord, evidence: Evidence | SteamEvidence) -> None:  # noqa: ANN401 - matplotlib
    for place, trace in enumerate(record.of(quantity)):
        panel.plot(
            record.time_s / 60,
            trace.values * _FACTORS.get(quantity, 1.0),
            color="black",
            linewidth=0.9,
            linestyle=LINES[place % len(LINES)],
            label=_trace_words(trace),
        )
    _draw_limits(panel, quantity, evidence)
    for place, stage in enumerate(evidence.stages):
        if place % 2:
            panel.axvspan(stage.start_s / 60, stage.end_s / 60, color="0.93", linewidth=0, zorder=0)
    panel.set_ylabel(_UNITS[quantity])
    panel.grid(axis="y", color="0.85", linewidth=0.5)
    panel.spines[["top", "right"]].set_visible(False)
    panel.margins(x=0.005)
    if quantity != "pressure":
        panel.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False, fontsize=7.5)


def _plateau_band(evidence: Evidence | SteamEvidence) -> tuple[float, float] | None:
    """Return the lowest and highest limit of the temperature on a sterilizer's plateau [°C]; None without one."""
    plateaus = {stage.name for stage in evidence.stages if stage.kind == "hold"}
    asked = (one.limit for one in evidence.criteria if one.stage in plateaus and one.unit == "degC")
    ends = [end for limit in asked for end in (limit if isinstance(limit, tuple) else (limit,)) if end is not None]
    return (min(ends), max(ends)) if ends else None


def _look_closer(panel: Any, low_c: float, high_c: float) -> None:  # noqa: ANN401 - matplotlib
    """Show a band of few kelvins as large as the eye needs it, with half its width beside it."""
    beside = max((high_c - low_c) / 2, 1.0)
    panel.set_ylim(low_c - beside, high_c + beside)
    panel.set_ylabel("°C, closer")
    panel.get_legend().remove()


def _draw_limits(panel: Any, quantity: str, evidence: Evidence | SteamEvidence) -> None:  # noqa: ANN401 - matplotlib
    """Draw the limits of criteria that ask a sensor something in one stage, over that stage."""
    spans = _spans(evidence)
    label: str | None = "limit"
    for criterion in evidence.criteria:
        if criterion.unit != _LIMIT_UNITS.get(quantity) or criterion.stage not in spans:
            continue
        ends = criterion.limit if isinstance(criterion.limit, tuple) else (criterion.limit,)
        for end in ends:
            if end is not None:
                panel.hlines(end, *spans[criterion.stage], color="0.35", linewidth=1.6, linestyle=":", label=label)
                label = None


def _trace_words(trace: Trace) -> str:
    return f"{trace.name}: {trace.quantity},\n{trace.place}"


def _draw_predictions(panel: Any, evidence: Evidence | SteamEvidence) -> None:  # noqa: ANN401 - matplotlib
    """Draw what each sensor at the circulation should show in each stage of this load."""
    spans = _spans(evidence)
    bands = [
        (spans[criterion.stage], [end * _FACTORS["pressure"] for end in criterion.limit])
        for criterion in evidence.criteria
        if criterion.name == PRESSURE_CRITERION and isinstance(criterion.limit, tuple) and criterion.stage in spans
    ]
    if bands:
        # Zoomed to where prediction and record lie: a pressure that is off leaves the panel at its foot, plain enough.
        measured = [value for line in panel.get_lines() for value in line.get_ydata() if isfinite(value)]
        highest = max([*measured, *(high for _, (_, high) in bands)])
        panel.set_ylim(0.6 * min(low for _, (low, _) in bands), 1.05 * highest)
    label: str | None = "predicted for\nthis load"
    for span, ends in bands:
        panel.fill_between(span, *ends, facecolor="none", edgecolor="0.35", hatch="////", linewidth=0.8, label=label)
        label = None
    panel.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False, fontsize=7.5)


def _spans(evidence: Evidence | SteamEvidence) -> dict[str, tuple[float, float]]:
    """Return where each stage lies [min], by what it is called; no two are called the same."""
    return {stage.name: (stage.start_s / 60, stage.end_s / 60) for stage in evidence.stages}


def _name_stages(panel: Any, evidence: Evidence | SteamEvidence) -> None:  # noqa: ANN401 - matplotlib
    for stage in evidence.stages:
        panel.annotate(
            stage.name,
            ((stage.start_s + stage.end_s) / 120, 1.02),
            xycoords=("data", "axes fraction"),
            ha="center",
            va="bottom",
            fontsize=8,
            fontweight="bold",
            rotation=35 if len(evidence.stages) > 5 else 0,
        )

"""Charts of results, one for each family, position or machine, with the samples that a signal rests on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from patency.evidence.statistics.charts import Inspected, counts_chart, ewma_chart, individuals_chart
from patency.evidence.statistics.results import CountedSettings, MeasuredSettings, Scale

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.evidence.statistics.charts import Chart
    from patency.evidence.statistics.results import ChartSettings, Result

NOT_STATED = "not stated"
"""The group of results that leave their group out."""
ALL = "all"


@dataclass(frozen=True, slots=True)
class GroupChart:
    """The chart of one kind of result in one group.

    Parameters
    ----------
    result
        What was charted.
    by
        The column that tells the groups apart; ``all`` where none does.
    group
        Which of them.
    labels
        What each point is called: the sample or the cycle.
    times
        When, ISO 8601.
    shown
        The values as people read them, in ``unit``; findings per piece for counts.
    unit
        Their unit; empty for counts.
    chart
        The chart.
    """

    result: str
    by: str
    group: str
    labels: tuple[str, ...]
    times: tuple[str, ...]
    shown: tuple[float, ...]
    unit: str
    chart: Chart


def chart_results(results: Mapping[str, Sequence[Result]], settings: ChartSettings, by: str) -> list[GroupChart]:
    """Chart every kind of result for every group.

    Parameters
    ----------
    results
        What was charted to its results in the order of time.
    settings
        How they are charted.
    by
        ``family``, ``position``, ``machine``, or ``all`` for one chart of each kind of result.

    Returns
    -------
    list
        One for each kind and group, in the order of the settings and of the groups' names.
    """
    charts = []
    for name, how in settings.results.items():
        groups: dict[str, list[Result]] = {}
        for result in results.get(name, ()):
            group = ALL if by == ALL else result.groups.get(by) or NOT_STATED
            groups.setdefault(group, []).append(result)
        charts += [_charted(name, by, group, groups[group], how) for group in sorted(groups)]
    return charts


def _charted(
    name: str, by: str, group: str, results: list[Result], how: MeasuredSettings | CountedSettings
) -> GroupChart:
    values = [one.value for one in results]
    if isinstance(how, CountedSettings):
        looks = [Inspected(one.pieces, one.found) for one in results]
        chart = counts_chart(looks, how.acceptable, how.unacceptable, how.run_length)
        shown = tuple(one.found / one.pieces for one in results)
    elif how.scale is Scale.LOGARITHM:
        chart = _measured(values, how, 0.0)
        shown = tuple(math.exp(value) for value in values)
    else:
        chart = _measured(values, how, how.step)
        shown = tuple(values)
    return GroupChart(
        name,
        by,
        group,
        tuple(one.sample for one in results),
        tuple(one.at.isoformat(timespec="minutes") for one in results),
        shown,
        how.unit if isinstance(how, MeasuredSettings) else "",
        chart,
    )


def _measured(values: Sequence[float], how: MeasuredSettings, step: float) -> Chart:
    if how.chart == "individuals":
        return individuals_chart(values, how.run_length, step)
    return ewma_chart(values, how.run_length, how.weight, step)


def charts_document(charts: Sequence[GroupChart]) -> dict[str, Any]:
    """Return charts as plain values for JSON, format ``patency-charted/1``.

    Parameters
    ----------
    charts
        The charts.

    Returns
    -------
    dict
        Mappings, lists, numbers and text only.
    """
    return {"format": "patency-charted/1", "charts": [_document(one) for one in charts]}


def _document(one: GroupChart) -> dict[str, Any]:
    chart = one.chart
    return {
        "result": one.result,
        "by": one.by,
        "group": one.group,
        "unit": one.unit,
        "chart": chart.kind.value,
        "rule": chart.rule,
        "low": chart.low,
        "high": chart.high,
        "run_length": chart.run_length,
        "false_alarm_chance": chart.false_alarm_chance,
        "points": [
            {"sample": label, "at": at, "value": value, "statistic": None if math.isnan(drawn) else drawn}
            for label, at, value, drawn in zip(one.labels, one.times, one.shown, chart.statistic, strict=True)
        ],
        "signals": [
            {
                "at": one.times[signal.at],
                "since": one.times[signal.began],
                "direction": signal.direction,
                "samples": list(one.labels[signal.began : signal.at + 1]),
            }
            for signal in chart.signals
        ],
    }

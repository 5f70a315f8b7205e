"""What many results and many cycles tell together: control charts, drift, inspection by risk, wet packs."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from patency.errors import InputError, InputErrors
from patency.evidence import (
    chart_results,
    charts_document,
    drift_charts,
    plan_inspection,
    read_inspection,
    read_judged,
    read_packs,
    read_results,
    read_settings,
    wet_patterns,
)
from patency.papers import plot_control_chart
from patency.steps.files import read_text

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from patency.evidence import GroupChart, InspectionPlan, JudgedCycle, WetPattern


@dataclass(frozen=True, slots=True)
class Charted:
    """Control charts with their pictures.

    Parameters
    ----------
    charts
        The charts.
    """

    charts: tuple[GroupChart, ...]

    @property
    def signals(self) -> int:
        """How many signals there are."""
        return sum(len(one.chart.signals) for one in self.charts)

    @property
    def data(self) -> dict[str, Any]:
        """The charts as plain values for JSON."""
        return charts_document(self.charts)

    @property
    def lines(self) -> list[str]:
        """The charts in words, one line each and one for each signal."""
        lines = []
        for one in self.charts:
            name = one.result if one.by == one.group else f"{one.result}, {one.group}"
            lines.append(
                f"{name}: {len(one.labels)} points, {one.chart.rule}; a false alarm once in "
                f"{one.chart.run_length:.0f} points, by now with a chance of {one.chart.false_alarm_chance:.1%}"
            )
            for signal in one.chart.signals:
                samples = ", ".join(one.labels[signal.began : signal.at + 1])
                lines.append(f"signal        {name}: {signal.direction} since {one.times[signal.began]} ({samples})")
        return lines

    def pictures(self) -> dict[str, bytes]:
        """Draw the charts.

        Returns
        -------
        dict[str, bytes]
            File name to SVG.
        """
        drawn: dict[str, bytes] = {}
        for number, one in enumerate(self.charts, start=1):
            name = re.sub(r"[^a-z0-9]+", "-", f"{one.result} {one.group}".lower()).strip("-")
            drawn[f"chart-{number:02}-{name[:60]}.svg"] = plot_control_chart(one).encode()
        return drawn


def chart_table(results: Path, settings: Path, by: str) -> Charted:
    """Chart the results of inspection and testing.

    Parameters
    ----------
    results
        CSV, one line for each result.
    settings
        YAML that says what is charted and how.
    by
        ``family``, ``position``, ``machine`` or ``all``.

    Returns
    -------
    Charted
        The charts.

    Raises
    ------
    InputErrors
        With every fault of either file.
    """
    how = read_settings(read_text(settings), str(settings))
    return Charted(tuple(chart_results(read_results(read_text(results), how, str(results)), how, by)))


def chart_drift(files: Sequence[Path], run_length: float, weight: float) -> Charted:
    """Chart what machines showed from cycle to cycle.

    Parameters
    ----------
    files
        The evidence of each cycle as JSON.
    run_length
        Mean number of cycles until a false alarm of one chart.
    weight
        Weight of the newest cycle.

    Returns
    -------
    Charted
        The charts.

    Raises
    ------
    InputErrors
        With every file that is no evidence of a cycle, or is one given before.
    """
    faults: list[InputError] = []
    cycles: dict[str, JudgedCycle] = {}
    for file in files:
        try:
            cycle = read_judged(read_text(file), str(file))
        except InputError as fault:
            faults.append(fault)
            continue
        if cycles.setdefault(cycle.record_sha256, cycle) is not cycle:
            faults.append(InputError(str(file), "the same record a second time", "each cycle once"))
    if faults:
        raise InputErrors(faults)
    return Charted(tuple(drift_charts(list(cycles.values()), run_length, weight)))


def plan_inspections(file: Path) -> InspectionPlan:
    """Choose the pieces to inspect today.

    Parameters
    ----------
    file
        YAML with the pieces that wait and what the site asks for.

    Returns
    -------
    InspectionPlan
        The pieces.

    Raises
    ------
    InputErrors
        With every fault of the file.
    """
    return plan_inspection(read_inspection(read_text(file), str(file)))


def find_wet_patterns(file: Path) -> list[WetPattern]:
    """Compare where wet packs lay with where all packs lay.

    Parameters
    ----------
    file
        CSV, one line for each pack.

    Returns
    -------
    list
        The most unlikely pattern first.

    Raises
    ------
    InputErrors
        With every fault of the file.
    """
    return wet_patterns(read_packs(read_text(file), str(file)))

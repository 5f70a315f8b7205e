"""Lets kept cycles of known loads update a carrier's fit, and watches whether what they show drifts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import bench_fit_of
from patency.errors import InputError
from patency.flow import (
    CyclesModel,
    KeptCycles,
    described_parameters,
    entry_of_cycles,
    fit_readings,
    updated_by,
    watch_cycles,
)
from patency.load import load_kind
from patency.steps.commissioning import as_kept
from patency.steps.drift_refusing import CYCLES_BETWEEN_FALSE_ALARMS, refuse_nobody, taken_despite
from patency.steps.kept_baselines import baseline_of, read_baselines
from patency.steps.load_planning import read_planned

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from patency.catalogue import Department
    from patency.flow import WatchedSensor
    from patency.steps.commissioning import FittedBench


def read_kept_cycles(folder: Path, plan: Path, baselines: Sequence[Path]) -> tuple[Department, list[KeptCycles]]:
    """Read kept cycles and find the loads they are of.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    plan
        A plan that has loads like theirs.
    baselines
        Files as ``patency baseline`` writes them.

    Returns
    -------
    tuple[Department, list[KeptCycles]]
        The department, and the cycles of each file.

    Raises
    ------
    InputErrors
        With every fault of a file.
    InputError
        If the plan has no load like that of a baseline.
    """
    department, planned = read_planned(plan, folder)
    loads = {load_kind(load): load for load in reversed(planned.loads)}
    kept = []
    for path, file in zip(baselines, read_baselines(baselines), strict=True):
        load = loads.get(file.load_kind)
        if load is None:
            what = f"the plan has no load like it (of {file.carrier}, {file.programme})"
            raise InputError(str(path), what, "a plan with the same lumens on the same ports")
        kept.append(KeptCycles(load, baseline_of(file), tuple(cycle.kept_on for cycle in file.cycles)))
    return department, kept


def fit_cycles(
    folder: Path,
    plan: Path,
    baselines: Sequence[Path],
    by: str,
    fitted_on: date,
    *,
    days: tuple[date | None, date | None] = (None, None),
    despite_drift: str | None = None,
) -> FittedBench:
    """Update a carrier's fit by kept cycles.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    plan
        A plan that has loads like theirs.
    baselines
        Files as ``patency baseline`` writes them: all cycles that shall count, for a fit to cycles starts from that to
        bench readings and never from another to cycles.
    by
        Who answers for the fit.
    fitted_on
        The day.
    days
        First and last day of the cycles that count; None where there is no such day.
    despite_drift
        Why cycles shall be taken though what they show drifts; None where nobody says.

    Returns
    -------
    FittedBench
        The fit and its file; nothing is written.

    Raises
    ------
    InputErrors
        With every fault of a file.
    InputError
        If nobody answers for the fit, the cycles are of several machines or carriers, too few, or of no load of the
        plan, or what they show drifts and nobody says why they shall be taken.
    PhysicsError
        If a load draws more from the pump than its curve knows.
    """
    refuse_nobody(by)
    department, read = read_kept_cycles(folder, plan, baselines)
    kept = [_of_days(one, *days) for one in read]
    model = CyclesModel(department, kept)
    watched = watch_cycles(department, kept, CYCLES_BETWEEN_FALSE_ALARMS)
    drifts = [f"load {one.load_id} in {one.machine}, {one.sensor} {one.drifts}" for one in watched if one.drifts]
    remark = taken_despite(drifts, despite_drift, "cycles without it (--since, --until)")
    known = bench_fit_of(department, kept[0].load.carrier, kept[0].load.machine_kind)
    fit = fit_readings(
        model, updated_by(described_parameters(list(model.benches.values()), department.limits.flow), known)
    )
    entry = entry_of_cycles(department, kept, fit, by, fitted_on, remark)
    return as_kept(entry, fit, np.sqrt(np.diag(model.covariance())))


def _of_days(kept: KeptCycles, first: date | None, last: date | None) -> KeptCycles:
    """Take the cycles of some days."""
    rows = [
        row for row, day in enumerate(kept.days) if (first is None or first <= day) and (last is None or day <= last)
    ]
    baseline = replace(
        kept.baseline,
        readings=kept.baseline.readings[rows],
        records=tuple(kept.baseline.records[row] for row in rows),
    )
    return KeptCycles(kept.load, baseline, tuple(kept.days[row] for row in rows))


def watch_kept_cycles(
    folder: Path, plan: Path, baselines: Sequence[Path], cycles_between_false_alarms: float
) -> tuple[WatchedSensor, ...]:
    """Look whether what kept cycles show drifts.

    Parameters
    ----------
    folder
        Holds the department's YAML files.
    plan
        A plan that has loads like theirs.
    baselines
        Files as ``patency baseline`` writes them.
    cycles_between_false_alarms
        Mean number of cycles of a sensor until it is flagged though nothing happened.

    Returns
    -------
    tuple[WatchedSensor, ...]
        Each sensor in each load.

    Raises
    ------
    InputErrors
        With every fault of a file.
    InputError
        If the cycles of a load are too few, or of no load of the plan.
    """
    department, kept = read_kept_cycles(folder, plan, baselines)
    return watch_cycles(department, kept, cycles_between_false_alarms)

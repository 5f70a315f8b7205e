"""Lets kept cycles of known loads update a carrier's fit, and watches whether what they show drifts."""

from __future__ import annotations

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
from patency.steps.commissioning import as_kept, refuse_nobody
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


def fit_cycles(folder: Path, plan: Path, baselines: Sequence[Path], by: str, fitted_on: date) -> FittedBench:
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
        plan.
    PhysicsError
        If a load draws more from the pump than its curve knows.
    """
    refuse_nobody(by)
    department, kept = read_kept_cycles(folder, plan, baselines)
    model = CyclesModel(department, kept)
    known = bench_fit_of(department, kept[0].load.carrier, kept[0].load.machine_kind)
    fit = fit_readings(
        model, updated_by(described_parameters(list(model.benches.values()), department.limits.flow), known)
    )
    entry = entry_of_cycles(department, kept, fit, by, fitted_on)
    return as_kept(entry, fit, np.sqrt(np.diag(model.covariance())))


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
        If the cycles are of several machines or carriers, too few, or of no load of the plan.
    """
    department, kept = read_kept_cycles(folder, plan, baselines)
    return watch_cycles(department, kept, cycles_between_false_alarms)

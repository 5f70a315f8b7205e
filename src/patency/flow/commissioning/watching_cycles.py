"""Kept cycles of a load one after the other: whether what its sensors show drifts, and which faults would show so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import bench_fit_of
from patency.flow.commissioning.cycles import CyclesModel
from patency.flow.commissioning.drift import innovations, limit_for, watch, words_of
from patency.flow.commissioning.parameters import described_parameters, updated_by
from patency.flow.detection.doubts import stage_means
from patency.flow.faults.effects import shown_in_faults
from patency.flow.faults.listing import faults_of_load
from patency.flow.faults.sensing import Measured, fitted_sensors
from patency.flow.solved_load import solve_load

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.commissioning.cycles import KeptCycles
    from patency.flow.commissioning.drift import Drift
    from patency.flow.faults.fault import Fault

    Floats = NDArray[np.float64]

SOON = 20
"""Within how many cycles a fault has to be flagged to count as observable (a choice of method)."""
# A sum for each direction: each may alarm half as often.
_DIRECTIONS = 2.0
# Mean square of the difference of two independent numbers over their variance.
_OF_DIFFERENCES = 2.0


@dataclass(frozen=True, slots=True)
class WatchedFault:
    """How soon a fault would be flagged by a sensor's readings if it came now and stayed.

    Parameters
    ----------
    fault
        The fault.
    moved
        By what share it moves the reading [-]; not-a-number where that is not known.
    cycles
        How many cycles until it is flagged, with readings that scatter no more than they did; None where it is not
        within 20 cycles, and where it is not known by what share it moves the reading.
    """

    fault: Fault
    moved: float
    cycles: int | None


@dataclass(frozen=True, slots=True)
class WatchedSensor:
    """What one sensor showed in a load's cycles, as the mean over the wet stages.

    Parameters
    ----------
    load_id
        The load.
    machine
        The machine.
    sensor
        The sensor's key.
    measured
        What it measures.
    days
        Days of the cycles, in order.
    values
        Mean reading of each cycle [Pa]; of a flow the geometric one [m³/s].
    scatter
        Standard deviation of one cycle's mean reading, as a share of it [-].
    falling, rising
        What is summed up to either side.
    faults
        Every single fault of the load but those of arms, and how soon it would be flagged.
    """

    load_id: str
    machine: str
    sensor: str
    measured: Measured
    days: tuple[date, ...]
    values: tuple[float, ...]
    scatter: float
    falling: Drift
    rising: Drift
    faults: tuple[WatchedFault, ...]

    @property
    def flagged(self) -> Drift | None:
        """The side that was flagged, the earlier one of both; None where neither was."""
        sides = [one for one in (self.falling, self.rising) if one.flagged_at is not None]
        return min(sides, key=lambda one: one.flagged_at or 0, default=None)

    @property
    def drifts(self) -> str:
        """Which way it drifts, in words; empty where it is not flagged."""
        drift = self.flagged
        return "" if drift is None else words_of(drift, "falls" if drift is self.falling else "rises", self.days)


def watch_cycles(
    department: Department, kept: Sequence[KeptCycles], readings_between_false_alarms: float
) -> tuple[WatchedSensor, ...]:
    """Watch what the sensors showed in kept cycles.

    Parameters
    ----------
    department
        The department.
    kept
        Cycles of loads, whichever carrier and machine; each load is watched by itself.
    readings_between_false_alarms
        Mean number of cycles that pass until a sensor is flagged though nothing happened.

    Returns
    -------
    tuple[WatchedSensor, ...]
        Each sensor in each load.

    Raises
    ------
    InputError
        If cycles of a load are too few, a sensor is not described, or shows no pressure or flow in a cycle.
    PhysicsError
        If a load draws more from the pump than its curve knows.

    Notes
    -----
    Each cycle is compared with what the fit to bench readings and the cycles before let expect, so a lasting error of
    sensor or fit counts once. What scatters is taken from the differences of cycles that follow each other, which a
    slow drift hardly moves, and never as less than is assumed of every reading.
    """
    limit = limit_for(_DIRECTIONS * readings_between_false_alarms)
    found: list[WatchedSensor] = []
    for one in kept:
        found += _watch_load(department, one, limit)
    return tuple(found)


def _watch_load(department: Department, kept: KeptCycles, limit: float) -> list[WatchedSensor]:
    model, load, baseline = CyclesModel(department, [kept]), kept.load, kept.baseline
    known = updated_by(
        described_parameters(list(model.benches.values()), department.limits.flow),
        bench_fit_of(department, load.carrier, load.machine_kind),
    )
    predicted = model.predict(known.names, known.mean)
    order = sorted(range(baseline.cycles), key=lambda place: kept.days[place])
    of_flow = np.array([one.instrument == "meter" for one in model.readings])
    cycles = baseline.readings[order]
    scaled = np.where(of_flow, np.log(np.abs(cycles)), cycles)
    means = stage_means(baseline.columns, baseline.sensors)
    doubts = model.common() + predicted.jacobian @ known.covariance @ predicted.jacobian.T
    seen, expected = scaled @ means.T, means @ predicted.shown
    differences = np.mean(np.diff(seen, axis=0) ** 2, axis=0) / _OF_DIFFERENCES
    noise = np.sqrt(np.maximum(differences, np.diag(means @ model.assumed() @ means.T)))
    doubt = np.sqrt(np.diag(means @ doubts @ means.T))
    moved = _moved_by_faults(department, kept)
    found = []
    for row, sensor in enumerate(baseline.sensors):
        flow = bool(of_flow[means[row] > 0.0].any())
        short = [float(one) for one in expected[row] - seen[:, row]]
        z = innovations(short, float(noise[row]), float(doubt[row]))
        size = 1.0 if flow else float(seen[:, row].mean())
        faults, shares = moved
        cases = [(abs(float(share)) * size, float(share)) for share in shares[:, row]]
        found.append(
            WatchedSensor(
                load_id=load.id,
                machine=baseline.machine,
                sensor=sensor,
                measured=Measured.FLOW if flow else Measured.PRESSURE,
                days=tuple(kept.days[place] for place in order),
                values=tuple(float(one) for one in (np.exp(seen[:, row]) if flow else seen[:, row])),
                scatter=float(noise[row]) / size,
                falling=watch(z, limit),
                rising=watch([-one for one in z], limit),
                faults=tuple(
                    WatchedFault(
                        fault, share, _flagged_after(shift, len(z), float(noise[row]), float(doubt[row]), limit)
                    )
                    for fault, (shift, share) in zip(faults, cases, strict=True)
                ),
            )
        )
    return found


def _flagged_after(shift: float, before: int, noise: float, doubt: float, limit: float) -> int | None:
    """Count the cycles until a shift is flagged that comes after some cycles without one and is slowly learned."""
    if not np.isfinite(shift):
        return None
    flagged = watch(innovations([0.0] * before + [shift] * SOON, noise, doubt), limit).flagged_at
    return None if flagged is None else flagged - before + 1


def _moved_by_faults(department: Department, kept: KeptCycles) -> tuple[tuple[Fault, ...], Floats]:
    """Compute by what share each fault moves each sensor's mean reading, shape (faults, sensors)."""
    load, baseline = kept.load, kept.baseline
    solved = solve_load(department, load)
    points = {point.name: point for point in fitted_sensors(department, load)}
    faults = faults_of_load(department, load, solved.network)
    planned, shown = shown_in_faults(solved, faults, [points[name] for name in baseline.sensors])
    stages = list(solved.stages)
    shares = np.empty((len(faults.faults), len(baseline.sensors)))
    for column, sensor in enumerate(baseline.sensors):
        rows = [stages.index(stage) for stage, name in baseline.columns if name == sensor]
        shares[:, column] = (shown[rows, :, column] / planned[rows, column][:, None]).mean(axis=0) - 1.0
    return faults.faults, shares

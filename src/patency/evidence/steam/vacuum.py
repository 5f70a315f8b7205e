"""The criteria of the vacuum: pulses that remove air, the drying, the air-leakage test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import Asked, Bounds, Criterion, compared, compared_time, limit_fault, shown, unanswered
from patency.evidence.holding import total
from patency.evidence.timing import Spacing

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.steam.case import ChamberPressure, SteamCase
    from patency.quantities import Limit

# A pulse has ended when the pressure has risen to twice the vacuum that counts: so that noise at the border counts none
# twice. A choice of method; a higher one counts fewer pulses.
_RISEN = 2.0
_NO_PLATEAU = "no plateau was found"


def pulses_criterion(case: SteamCase) -> Criterion:
    """Judge that air was removed as often as prescribed, each time down to the vacuum that counts.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        With the number of pulses before the plateau.
    """
    asked = Asked("air-removal pulses", "1")
    limit = case.limits.pulse_vacuum
    fault = limit_fault(limit, "Pa", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, f"vacuum of a pulse: {fault}")
    pressure = case.pressure
    if isinstance(pressure, str):
        return unanswered(asked, pressure)
    if case.plateau is None:
        return unanswered(asked, _NO_PLATEAU)
    doubt = pressure.uncertainty_pa or 0.0
    before = pressure.pressure_pa[: case.plateau[0]]
    count, low = 0, False
    for value in before.tolist():
        if not low and value + doubt <= limit.value:
            count, low = count + 1, True
        elif low and value > _RISEN * limit.value:
            low = False
    known = None if pressure.uncertainty_pa is None else 0.0
    source = f"programme {case.programme.name}, version {case.programme.version}; vacuum: {limit.source}"
    note = f"each down to {shown(limit.value, 'Pa')} or less"
    return compared(asked, float(count), known, Bounds(source, low=float(case.programme.pulses)), note)


def drying_criterion(case: SteamCase) -> Criterion:
    """Judge that the chamber was in vacuum after the plateau for the prescribed time; gaps do not count.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        With the time in vacuum.
    """
    asked = Asked("drying time in vacuum", "s")
    limit = case.limits.drying_vacuum
    fault = limit_fault(limit, "Pa", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, f"vacuum of the drying: {fault}")
    pressure = case.pressure
    if isinstance(pressure, str):
        return unanswered(asked, pressure)
    if case.plateau is None:
        return unanswered(asked, _NO_PLATEAU)
    after = np.arange(pressure.pressure_pa.size) > case.plateau[1]
    worst = pressure.pressure_pa + (pressure.uncertainty_pa or 0.0)
    mask, unknown = after & (worst <= limit.value), after & np.isnan(worst)
    lasted = total(mask, unknown, case.record.axis, case.tolerated_gap_s)
    source = f"programme {case.programme.name}, version {case.programme.version}; vacuum: {limit.source}"
    bounds = Bounds(source, low=case.programme.drying_s)
    note = f"at {shown(limit.value, 'Pa')} or less; no record shows that a load is dry"
    if pressure.uncertainty_pa is None:
        return compared(asked, lasted.certain_s, None, bounds, note)
    return compared_time(asked, lasted.certain_s, lasted.possible_s, bounds, note)


def leakage_criteria(case: SteamCase) -> list[Criterion]:
    """Judge an air-leakage test: how deep it began, and how far the pressure rose behind shut valves.

    Parameters
    ----------
    case
        The case; its record is that of the test alone.

    Returns
    -------
    list
        Start and rise. A wet or cooling chamber changes the pressure too and can feign or hide a leak.
    """
    start = Asked("pressure at the start of the leakage test", "Pa")
    rise = Asked("rise of the pressure in the leakage test", "Pa")
    limits = case.limits
    units = {"leak_start": "Pa", "leak_settling": "s", "leak_time": "s", "leak_rise": "Pa"}
    stated = {name: getattr(limits, name) for name in units}
    faults = {name: limit_fault(stated[name], unit, case.on) for name, unit in units.items()}
    missing = [f"{name}: {fault}" for name, fault in faults.items() if fault]
    pressure = case.pressure
    if isinstance(pressure, str) or missing:
        missing += [pressure] if isinstance(pressure, str) else []
        return [unanswered(asked, "; ".join(missing)) for asked in (start, rise)]
    if np.isnan(pressure.pressure_pa).all():
        return [unanswered(asked, "the sensor shows no value") for asked in (start, rise)]
    lowest = float(np.nanmin(pressure.pressure_pa))
    bounds = Bounds(stated["leak_start"].source, high=stated["leak_start"].value)
    return [compared(start, lowest, pressure.uncertainty_pa, bounds), _rise(case, pressure, stated, rise)]


def _rise(case: SteamCase, pressure: ChamberPressure, stated: dict[str, Limit], asked: Asked) -> Criterion:
    """Judge how far the pressure rose in the time of the measurement, after the time left aside."""
    time, values = case.record.time_s, pressure.pressure_pa
    doubt = pressure.uncertainty_pa or 0.0
    lowest = float(np.nanmin(values))
    shut = int(np.flatnonzero(values <= lowest + max(doubt, 0.01 * lowest))[0])
    first_s = float(time[shut]) + stated["leak_settling"].value
    last_s = first_s + stated["leak_time"].value
    begin, end = (_at(case, values, moment) for moment in (first_s, last_s))
    if time[-1] < last_s or begin is None or end is None:
        return unanswered(asked, f"the record ends less than {shown(last_s - float(time[shut]), 's')} behind the start")
    part = slice(shut, int(np.searchsorted(time, last_s, side="right")))
    if np.diff(time[part]).max() > case.tolerated_gap_s or (case.record.axis.spacing[part] == Spacing.CLOCK_STEP).any():
        return unanswered(asked, "the record has a gap, or its clock was set back")
    if end - begin < -doubt:
        return unanswered(asked, "the pressure fell: the valves were not shut, or the chamber cooled")
    note = f"in {shown(last_s - first_s, 's')}, the first {shown(stated['leak_settling'].value, 's')} left aside"
    bounds = Bounds(stated["leak_rise"].source, high=stated["leak_rise"].value)
    return compared(asked, end - begin, pressure.uncertainty_pa, bounds, note)


def _at(case: SteamCase, values: NDArray[np.float64], moment_s: float) -> float | None:
    """Return the median of the readings within five intervals about a moment."""
    near = np.abs(case.record.time_s - moment_s) <= 5 * case.record.axis.usual_s
    readings = values[near & ~np.isnan(values)]
    return float(np.median(readings)) if readings.size else None

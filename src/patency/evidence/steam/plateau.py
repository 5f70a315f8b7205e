"""The criteria of the plateau: equilibration, holding time, band, spread, and temperatures against saturation."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import (
    Asked,
    Bounds,
    Criterion,
    CriterionState,
    compared,
    compared_time,
    limit_fault,
    shown,
    unanswered,
)
from patency.evidence.holding import longest
from patency.evidence.steam.case import HOLDING, NO_THERMOMETER, SteamCase, saturation_c

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.record import Trace

_LOWEST = Asked("lowest reading against saturation", "K", HOLDING)
_HIGHEST = Asked("highest reading against saturation", "K", HOLDING)
_STEAM = Asked("saturation temperature of the pressure", "degC", HOLDING)
_NO_PLATEAU = "not every point reached the sterilization temperature at the same time"


def plateau_criteria(case: SteamCase) -> list[Criterion]:
    """Judge the plateau: what happened from the reference point's reaching the sterilization temperature on.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        Equilibration and holding time, and for each point its band; the spread; readings against saturation.
    """
    return [equilibration(case), holding_time(case), *_band(case), _spread(case), *_saturation(case)]


def _source(case: SteamCase) -> str:
    return f"programme {case.programme.name}, version {case.programme.version}"


def holding_time(case: SteamCase) -> Criterion:
    """Judge that every point stayed at the sterilization temperature for the prescribed time without a break.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        With the longest such time, uncertainties subtracted first.
    """
    asked = Asked("holding time", "s")
    if not case.thermometers:
        return unanswered(asked, NO_THERMOMETER)
    set_c = case.programme.sterilization_temperature_c
    bounds = Bounds(_source(case), low=case.programme.holding_s)
    note = f"every point at {shown(set_c, 'degC')} or more"
    known = all(trace.uncertainty is not None for trace in case.thermometers)
    lowest = case.coldest(1.0 if known else 0.0)
    found = longest(lowest >= set_c, np.isnan(lowest), case.record.axis, case.tolerated_gap_s)
    if not known:
        return compared(asked, found.certain_s, None, bounds, note)
    return compared_time(asked, found.certain_s, found.possible_s, bounds, f"{note}, uncertainties subtracted")


def equilibration(case: SteamCase) -> Criterion:
    """Judge how long the last point took to follow the first to the sterilization temperature.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        By the raw readings; open where a sensor's uncertainty is not known.
    """
    asked = Asked("equilibration time", "s")
    limit = case.limits.equilibration
    fault = limit_fault(limit, "s", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    if case.reference is None or len(case.thermometers) < 2:
        return unanswered(asked, "the record has no reference point beside another point", limit)
    if case.plateau is None:
        return unanswered(asked, _NO_PLATEAU, limit)
    lasted_s = _slowest_s(case)
    known = all(trace.uncertainty is not None for trace in case.thermometers)
    # The moments lie between two samples: the time may be longer by one interval.
    doubt_s = case.record.axis.usual_s if known and lasted_s > 0.0 else (0.0 if known else None)
    return compared(
        asked, lasted_s, doubt_s, Bounds(limit.source, high=limit.value), f"reference {case.reference.name}"
    )


def _slowest_s(case: SteamCase) -> float:
    """Return how long the points took to follow; after a dip they have to again, and the slowest time counts.

    Where another point than the reference is there first, it counts from that one on.
    """
    hot = [trace.values >= case.programme.sterilization_temperature_c for trace in case.thermometers]
    below = np.flatnonzero(~np.any(hot, axis=0))
    followed = np.array([first for first, _ in case.at_temperature])
    reached = np.concatenate([[0], below + 1])[np.searchsorted(below, followed)]
    reached, once = np.unique(np.minimum(reached, followed), return_index=True)
    return float((case.record.time_s[followed[once]] - case.record.time_s[reached]).max())


def _part(trace: Trace, case: SteamCase) -> NDArray[np.float64]:
    values = trace.values[case.held]
    return values[~np.isnan(values)]


def _band(case: SteamCase) -> list[Criterion]:
    limit = case.limits.temperature_band
    fault = limit_fault(limit, "K", case.on)
    set_c = case.programme.sterilization_temperature_c
    criteria = []
    for trace in case.thermometers:
        asked = Asked("highest temperature", "degC", HOLDING, trace.name)
        if limit is None or fault is not None:
            criteria.append(unanswered(asked, f"band: {fault}", limit))
        elif case.plateau is None:
            criteria.append(unanswered(asked, _NO_PLATEAU, limit))
        else:
            bounds = Bounds(f"{_source(case)}; band: {limit.source}", high=set_c + limit.value)
            criteria.append(compared(asked, float(_part(trace, case).max()), trace.uncertainty, bounds))
    return criteria


def _spread(case: SteamCase) -> Criterion:
    asked = Asked("spread between points", "K", HOLDING)
    limit = case.limits.spread
    fault = limit_fault(limit, "K", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    if len(case.thermometers) < 2:
        return unanswered(asked, "the record has fewer than two temperature sensors", limit)
    if case.plateau is None:
        return unanswered(asked, _NO_PLATEAU, limit)
    rows = np.array([trace.values[case.held] for trace in case.thermometers])
    rows = rows[:, ~np.isnan(rows).any(axis=0)]
    apart = rows.max(axis=0) - rows.min(axis=0)
    moment = int(np.argmax(apart))
    hottest, coldest = (case.thermometers[int(pick(rows[:, moment]))] for pick in (np.argmax, np.argmin))
    doubts = (hottest.uncertainty, coldest.uncertainty)
    doubt = None if None in doubts else sum(each for each in doubts if each is not None)
    note = f"{hottest.name} above {coldest.name}"
    return compared(asked, float(apart[moment]), doubt, Bounds(limit.source, high=limit.value), note)


def _saturation(case: SteamCase) -> list[Criterion]:
    """Hold every point, and the band itself, against the saturation temperature of the measured pressure."""
    asked = (_LOWEST, _HIGHEST, _STEAM)
    if isinstance(case.pressure, str) or case.plateau is None:
        why = case.pressure if isinstance(case.pressure, str) else _NO_PLATEAU
        return [unanswered(each, why) for each in asked]
    part, saturated = case.pressure.pressure_pa[case.held], case.pressure.saturated_c[case.held]
    if np.isnan(saturated).all():
        return [unanswered(each, "the pressure shows no value that has a saturation temperature") for each in asked]
    uncertainty = case.pressure.uncertainty_pa
    doubt_k = None if uncertainty is None else _doubt_k(float(np.nanmin(part)), uncertainty)
    sensor = case.pressure.trace.name
    return [*_off_saturation(case, saturated, doubt_k), _steam_in_band(case, saturated, doubt_k, sensor)]


def _off_saturation(case: SteamCase, saturated: NDArray[np.float64], doubt_k: float | None) -> list[Criterion]:
    limit = case.limits.off_saturation
    fault = limit_fault(limit, "K", case.on)
    if limit is None or fault is not None:
        return [unanswered(each, fault or "", limit) for each in (_LOWEST, _HIGHEST)]
    off = [(trace, trace.values[case.held] - saturated) for trace in case.thermometers]
    known = [(trace, values[~np.isnan(values)]) for trace, values in off]
    low = [(float(values.min()), trace) for trace, values in known if values.size]
    high = [(float(values.max()), trace) for trace, values in known if values.size]
    if not low:
        return [
            unanswered(each, "no moment of the holding time has both readings", limit) for each in (_LOWEST, _HIGHEST)
        ]
    coldest = min(low, key=lambda item: item[0] - (item[1].uncertainty or 0.0))
    hottest = max(high, key=lambda item: item[0] + (item[1].uncertainty or 0.0))
    criteria = []
    for each, (value, trace), bounds, sign in (
        (_LOWEST, coldest, Bounds(limit.source, low=-limit.value), "air or another gas in the steam"),
        (_HIGHEST, hottest, Bounds(limit.source, high=limit.value), "superheated steam"),
    ):
        doubt = None if trace.uncertainty is None or doubt_k is None else trace.uncertainty + doubt_k
        judged = compared(each._replace(sensor=trace.name), value, doubt, bounds)
        if judged.state is CriterionState.NOT_MET:
            judged = replace(judged, why=f"{judged.why}; a sign of {sign}, or of a sensor at fault")
        criteria.append(judged)
    return criteria


def _steam_in_band(case: SteamCase, saturated: NDArray[np.float64], doubt_k: float | None, sensor: str) -> Criterion:
    band = case.limits.temperature_band
    fault = limit_fault(band, "K", case.on)
    if band is None or fault is not None:
        return unanswered(_STEAM, f"band: {fault}", band)
    set_c = case.programme.sterilization_temperature_c
    bounds = Bounds(f"{_source(case)}; band: {band.source}", low=set_c, high=set_c + band.value)
    ends = (float(np.nanmin(saturated)), float(np.nanmax(saturated)))
    worst = min(ends, key=lambda value: bounds.margin(value, 0.0))
    return compared(_STEAM._replace(sensor=sensor), worst, doubt_k, bounds)


def _doubt_k(pressure_pa: float, uncertainty_pa: float) -> float:
    """Return the doubt of the saturation temperature that a doubt of the pressure makes, at the lower end of it."""
    ends = saturation_c(np.array([max(pressure_pa - uncertainty_pa, 1e3), pressure_pa]))
    return float(ends[1] - ends[0])

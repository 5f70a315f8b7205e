"""The criteria of water, chemistry, motion and air: doses, final rinse, spray arms, drying."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import (
    Asked,
    Bounds,
    Criterion,
    compared,
    compared_time,
    limit_fault,
    shown,
    unanswered,
)
from patency.evidence.holding import total

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.case import Case
    from patency.evidence.record import Trace
    from patency.evidence.stages import StageSpan

# Choices of method, none of them a limit. Pump and arms start and stop in the first and last tenth of the circulation;
# the last quarter of the last water shows what stays on the load, before it the machine still exchanges and mixes; a
# twentieth of an arm's readings may lie lower, so that a single reading does not decide.
_STEADY = (0.1, 0.9)
_LAST_WATER = (0.75, 1.0)
_LOW_PERCENTILE = 5.0


def part_of(case: Case, trace: Trace, span: StageSpan, share: tuple[float, float] = _STEADY) -> NDArray[np.float64]:
    """Return the readings of a sensor in a part of a stage: of its circulation where it has one, else of all of it.

    Parameters
    ----------
    case
        The case.
    trace
        The sensor.
    span
        The stage.
    share
        Where the part starts and ends, as shares of that time; the steady part when left out.

    Returns
    -------
    numpy.ndarray
        The readings there are, in the order of time, shape (m,); m may be 0.
    """
    first, last = span.first, span.last
    if span.stage.kind.wet and case.found.running is not None:
        on = np.flatnonzero(case.found.running[first : last + 1])
        first, last = (first + int(on[0]), first + int(on[-1])) if on.size else (first, last)
    time = case.record.time_s[first : last + 1]
    start, end = time[0] + (time[-1] - time[0]) * np.array(share)
    values = trace.values[first : last + 1]
    wanted: NDArray[np.float64] = values[(time >= start) & (time <= end) & ~np.isnan(values)]
    return wanted


def dose_criteria(case: Case) -> list[Criterion]:
    """Judge every prescribed dose by what its meter counted up to the end of its stage since the stage before.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each dose of each stage.
    """
    limit = case.limits.dose_tolerance
    fault = limit_fault(limit, "1", case.on)
    spans = {span.position: span for span in case.found.spans}
    criteria = []
    for position, stage in enumerate(case.programme.stages):
        before = spans[position - 1].last if position - 1 in spans else 0
        end = spans[position].last if position in spans else None
        for dose in stage.doses:
            asked = Asked(f"volume of {dose.agent}", "m3", stage.name)
            if limit is None or fault is not None:
                criteria.append(unanswered(asked, f"tolerance: {fault}", limit))
                continue
            off = limit.value * dose.volume_m3
            source = f"{case.programme_source}; tolerance: {limit.source}"
            counted = _counted(case, dose.agent, before, end)
            if isinstance(counted, str):
                criteria.append(unanswered(asked, counted))
                continue
            value, meter = counted
            asked = replace(asked, sensor=meter.name)
            bounds = Bounds(source, low=dose.volume_m3 - off, high=dose.volume_m3 + off)
            criteria.append(compared(asked, value, meter.uncertainty, bounds))
    return criteria


def _counted(case: Case, agent: str, before: int, end: int | None) -> tuple[float, Trace] | str:
    """Return what an agent's meter counted between two samples, or why that cannot be told."""
    meter = _meter(case, agent)
    if meter is None:
        return f"the record has no dosed volume at {agent!r}"
    if end is None:
        return "the stage was not found in the record"
    readings = meter.values[before : end + 1]
    readings = readings[~np.isnan(readings)]
    if readings.size < 2:
        return "the meter shows no values in this stage"
    if (np.diff(readings) < 0).any():
        return "the meter ran backwards within the stage"
    return float(readings[-1] - readings[0]), meter


def _meter(case: Case, agent: str) -> Trace | None:
    """Find the meter of an agent: its place is the agent's name or words of it, the most words first."""
    name = set(agent.casefold().split())
    words = [(set(meter.place.casefold().split()), meter) for meter in case.record.of("dosed volume")]
    fitting = [(len(place), meter) for place, meter in words if place <= name]
    return max(fitting, key=lambda item: item[0])[1] if fitting else None


def conductivity_criterion(case: Case) -> Criterion:
    """Judge the conductivity of the water that stays on the load: at the end of the last wet stage.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        With the highest reading in the last quarter of that stage.
    """
    asked = Asked("conductivity of the last water", "uS/cm")
    limit = case.limits.final_rinse_conductivity
    fault = limit_fault(limit, "uS/cm", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    wet = [position for position, stage in enumerate(case.programme.stages) if stage.kind.wet]
    span = next((span for span in case.found.spans if wet and span.position == wet[-1]), None)
    probes = case.record.of("conductivity")
    if span is None or not probes:
        why = "the record has no conductivity" if span else "the last wet stage was not found in the record"
        return unanswered(asked, why, limit)
    found = [(float(part.max()), probe) for probe in probes if (part := part_of(case, probe, span, _LAST_WATER)).size]
    if not found:
        return unanswered(asked, f"no reading at the end of {span.stage.name!r}", limit)
    value, probe = max(found, key=lambda item: item[0])
    asked = Asked(asked.name, asked.unit, span.stage.name, probe.name)
    return compared(asked, value, probe.uncertainty, Bounds(limit.source, high=limit.value))


def arm_criteria(case: Case) -> list[Criterion]:
    """Judge that every recorded spray arm turned in every wet stage.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        For each recorded arm its lowest and highest speed; empty where no arm is recorded.
    """
    lowest, highest = case.limits.arm_rotation_least, case.limits.arm_rotation_highest
    criteria = []
    for arm in case.record.of("rotation"):
        parts = [(span.stage.name, part_of(case, arm, span)) for span in case.found.wet]
        slow = [(float(np.percentile(part, _LOW_PERCENTILE)), name) for name, part in parts if part.size]
        fast = [(float(part.max()), name) for name, part in parts if part.size]
        for word, limit, speeds, pick in (("lowest", lowest, slow, min), ("highest", highest, fast, max)):
            asked = Asked(f"{word} speed of {arm.place}", "rpm", sensor=arm.name)
            fault = limit_fault(limit, "rpm", case.on)
            if limit is None or fault is not None:
                criteria.append(unanswered(asked, fault or "", limit))
            elif not parts or len(speeds) < len(parts):
                criteria.append(unanswered(asked, "not every wet stage has a reading", limit))
            else:
                speed, stage = pick(speeds)
                low, high = (limit.value, None) if word == "lowest" else (None, limit.value)
                asked = Asked(asked.name, asked.unit, stage, arm.name)
                criteria.append(compared(asked, speed, arm.uncertainty, Bounds(limit.source, low, high)))
    return criteria


def drying_criteria(case: Case) -> list[Criterion]:
    """Judge that every prescribed drying stage ran for its time; long gaps in the record do not count.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each drying stage; empty where the programme has none.
    """
    criteria = []
    for position, stage in enumerate(case.programme.stages):
        if stage.kind is not StageKind.DRY:
            continue
        asked = Asked("drying time", "s", stage.name)
        span = next((span for span in case.found.spans if span.position == position), None)
        if span is None:
            criteria.append(unanswered(asked, "the stage was not found in the record"))
            continue
        during = np.zeros(case.record.time_s.size, dtype=bool)
        during[span.first : span.last + 1] = True
        lasted = total(during, np.zeros_like(during), case.record.axis, case.tolerated_gap_s)
        air = [float(part.max()) for trace in case.thermometers if (part := part_of(case, trace, span)).size]
        reached = f"hottest reading {shown(max(air), 'degC')}; " if air else ""
        note = f"{reached}no record shows that lumens are dry inside"
        bounds = Bounds(case.programme_source, low=stage.hold_s)
        criteria.append(compared_time(asked, lasted.certain_s, lasted.possible_s, bounds, note))
    return criteria

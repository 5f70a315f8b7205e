"""The criteria of water, chemistry and motion: doses, final rinse, spray arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, limit_fault
from patency.evidence.machine_code import compiled
from patency.evidence.meters import meter_of
from patency.evidence.weighing import Weighed, left_open, weighed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace


def part_of(case: Case, trace: Trace, span: StageSpan, share: tuple[float, float]) -> NDArray[np.float64]:
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
        Where the part starts and ends, as shares of that time.

    Returns
    -------
    numpy.ndarray
        The readings there are, in the order of time, shape (m,); m may be 0.
    """
    asked = (trace.name, span.position, share)
    readings = case.parts.get(asked)
    if readings is None:
        within = case.circulated(span)
        readings = case.parts[asked] = compiled("readings_within")(trace.values, case.record.time_s, within, share)
    return readings


def ends_of(case: Case, trace: Trace, span: StageSpan, share: tuple[float, float]) -> tuple[float, float] | None:
    """Return the lowest and the highest reading of a sensor in a part of a stage.

    Parameters
    ----------
    case
        The case.
    trace
        The sensor.
    span
        The stage.
    share
        Where the part starts and ends, as shares of that time.

    Returns
    -------
    tuple or None
        None where it shows no value there.
    """
    part = part_of(case, trace, span, share)
    return compiled("lowest_and_highest")(part) if part.size else None


def worst_ends(
    case: Case, sensors: list[Trace], span: StageSpan, share: tuple[float, float]
) -> tuple[tuple[float, Trace], tuple[float, Trace]] | None:
    """Return the lowest and the highest reading of some sensors in a part of a stage, the one that counts worst first.

    Parameters
    ----------
    case
        The case.
    sensors
        The sensors.
    span
        The stage.
    share
        Where the part starts and ends, as shares of that time.

    Returns
    -------
    tuple or None
        Lowest and highest, each with its sensor; None where none shows a value there.
    """
    ends = [(found, one) for one in sensors if (found := ends_of(case, one, span, share))]
    if not ends:
        return None
    low = min(((found[0], one) for found, one in ends), key=lambda f: f[0] - (f[1].uncertainty or 0.0))
    high = max(((found[1], one) for found, one in ends), key=lambda f: f[0] + (f[1].uncertainty or 0.0))
    return low, high


def dose_criteria(case: Case) -> list[Weighed]:
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
        if stage.kind.wet and stage.doses is None:
            asked = Asked("dosed volume", "m3", case.called[position])
            criteria.append(left_open(asked, "the programme does not state the doses"))
        for dose in stage.doses or ():
            asked = Asked(f"volume of {dose.agent}", "m3", case.called[position])
            if limit is None or fault is not None:
                criteria.append(left_open(asked, f"tolerance: {fault}", limit))
                continue
            off = limit.value * dose.volume_m3
            source = f"{case.programme_source}; tolerance: {limit.source}"
            counted = _counted(case, dose.agent, before, end)
            if isinstance(counted, str):
                criteria.append(left_open(asked, counted))
                continue
            value, meter = counted
            asked = Asked(asked.name, asked.unit, asked.stage, meter.name)
            bounds = Bounds(source, low=dose.volume_m3 - off, high=dose.volume_m3 + off)
            criteria.append(weighed(asked, value, meter.uncertainty, bounds))
    return criteria


def _counted(case: Case, agent: str, before: int, end: int | None) -> tuple[float, Trace] | str:
    """Return what an agent's meter counted between two samples, or why that cannot be told."""
    meter = meter_of(case.record, agent)
    if meter is None:
        return f"the record has no dosed volume at {agent!r}"
    if end is None:
        return "the stage was not found in the record"
    readings, more, falls = compiled("meter_counted")(meter.values[before : end + 1])
    if readings < 2:
        return "the meter shows no values in this stage"
    if falls:
        return "the meter ran backwards within the stage"
    return more, meter


def conductivity_criterion(case: Case) -> Weighed:
    """Judge the conductivity of the water that stays on the load: at the end of the last wet stage.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        With the highest reading in the last share of that stage that the site names.
    """
    asked = Asked("conductivity of the last water", "uS/cm")
    limit = case.limits.final_rinse_conductivity
    fault = limit_fault(limit, "uS/cm", case.on)
    if limit is None or fault is not None:
        return left_open(asked, fault or "", limit)
    last = case.limits.last_water_share
    fault = limit_fault(last, "1", case.on)
    if last is None or fault is not None:
        return left_open(asked, f"share of the last water: {fault}", limit)
    wet = [position for position, stage in enumerate(case.programme.stages) if stage.kind.wet]
    span = next((span for span in case.found.spans if wet and span.position == wet[-1]), None)
    probes = case.record.of("conductivity")
    if span is None or not probes:
        why = "the record has no conductivity" if span else "the last wet stage was not found in the record"
        return left_open(asked, why, limit)
    share = (1 - last.value, 1.0)
    found = [(ends[1], probe) for probe in probes if (ends := ends_of(case, probe, span, share))]
    if not found:
        return left_open(asked, f"no reading at the end of {span.called!r}", limit)
    value, probe = max(found, key=lambda item: item[0])
    asked = Asked(asked.name, asked.unit, span.called, probe.name)
    return weighed(asked, value, probe.uncertainty, Bounds(limit.source, high=limit.value))


def dosed_rinse_criteria(case: Case) -> list[Weighed]:
    """Judge what the water at the end of every rinse with a dose conducts, between what was found at validation.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        For each such rinse the lowest and the highest reading in the last share of its circulation that the site names:
        too little is an agent that did not arrive, too much one that was overdosed or old water that stayed.
    """
    return [
        criterion
        for position, stage in enumerate(case.programme.stages)
        if stage.kind is StageKind.RINSE and stage.doses
        for criterion in _dosed_rinse(case, position)
    ]


def _dosed_rinse(case: Case, position: int) -> list[Weighed]:
    called, (least, highest) = case.called[position], case.programme.stages[position].conductivities
    both = [Asked(f"{word} conductivity of the rinse with its dose", "uS/cm", called) for word in ("lowest", "highest")]
    last = case.limits.last_water_share
    fault = limit_fault(last, "1", case.on)
    span = next((span for span in case.found.spans if span.position == position), None)
    if last is None or fault is not None or least is None or highest is None or span is None:
        unknown = "the programme does not state what its water conducts" if None in (least, highest) else None
        why = unknown or (f"share of the last water: {fault}" if fault else "the stage was not found in the record")
        return [left_open(asked, why) for asked in both]
    share = (1 - last.value, 1.0)
    found = worst_ends(case, case.record.of("conductivity"), span, share)
    if found is None:
        return [left_open(asked, "no reading at its end") for asked in both]
    (low, thin), (high, thick) = found
    bounds = (Bounds(case.programme_source, low=least), Bounds(case.programme_source, high=highest))
    return [
        weighed(Asked(both[0].name, both[0].unit, called, thin.name), low, thin.uncertainty, bounds[0]),
        weighed(Asked(both[1].name, both[1].unit, called, thick.name), high, thick.uncertainty, bounds[1]),
    ]


def arm_criteria(case: Case) -> list[Weighed]:
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
    aside, unsteady = case.limits.arm_readings_aside, case.limits.unsteady_share
    fault = limit_fault(aside, "1", case.on) or limit_fault(unsteady, "1", case.on)
    if aside is None or unsteady is None or fault is not None:
        why = f"share of an arm's readings that count: {fault}"
        arms = case.record.of("rotation")
        return [left_open(Asked(f"speed of {arm.place}", "rpm", sensor=arm.name), why) for arm in arms]
    steady = (unsteady.value, 1 - unsteady.value)
    criteria = []
    for arm in case.record.of("rotation"):
        parts = [(span.called, part_of(case, arm, span, steady)) for span in case.found.wet]
        slow = [(compiled("quantile")(part, aside.value), name) for name, part in parts if part.size]
        fast = [(compiled("lowest_and_highest")(part)[1], name) for name, part in parts if part.size]
        for word, limit, speeds, pick in (("lowest", lowest, slow, min), ("highest", highest, fast, max)):
            asked = Asked(f"{word} speed of {arm.place}", "rpm", sensor=arm.name)
            fault = limit_fault(limit, "rpm", case.on)
            if limit is None or fault is not None:
                criteria.append(left_open(asked, fault or "", limit))
            elif not parts or len(speeds) < len(parts):
                criteria.append(left_open(asked, "not every wet stage has a reading", limit))
            else:
                speed, stage = pick(speeds)
                low, high = (limit.value, None) if word == "lowest" else (None, limit.value)
                asked = Asked(asked.name, asked.unit, stage, arm.name)
                criteria.append(weighed(asked, speed, arm.uncertainty, Bounds(limit.source, low, high)))
    return criteria

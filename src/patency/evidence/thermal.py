"""The criteria of heat: A0, the hold at disinfection temperature, the first contact with water, the cleaning."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, limit_fault, shown
from patency.evidence.holding import Shown, best_window, longest, total
from patency.evidence.lethality import Lethality, integrate
from patency.evidence.machine_code import compiled
from patency.evidence.moist import WATER_BOILS_C
from patency.evidence.weighing import Weighed, left_open, weighed, weighed_time

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.evidence.case import BareCase, Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace
    from patency.evidence.running import Stretch
    from patency.evidence.timing import TimeAxis

    Measure = Callable[[NDArray[np.bool_], NDArray[np.bool_], TimeAxis, float, Stretch], Shown]

_NO_THERMOMETER = "the record has no temperature sensor in the chamber or the load"


def a0_of(case: BareCase, trace: Trace, subtract_k: float) -> Lethality:
    """Return A0 of one temperature sensor over the wet stages up to the end of disinfection.

    A reading that is hotter than water can be counts as missing: it is that of air or of a sensor at fault.

    Parameters
    ----------
    case
        The case.
    trace
        The sensor.
    subtract_k
        What to subtract from each reading: nothing for the raw value, the uncertainty for the guarded one [K].

    Returns
    -------
    Lethality
        A0 with the part credited across long gaps.
    """
    return integrate(
        case.record.axis,
        trace.values,
        case.moist.counted,
        case.tolerated_gap_s,
        highest_c=WATER_BOILS_C,
        subtract_k=subtract_k,
    )


def a0_criteria(case: BareCase) -> list[Weighed]:
    """Judge A0 of every temperature sensor in the chamber and the load; the guarded value decides.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each sensor.
    """
    if not case.thermometers:
        return [left_open(Asked("A0", "s"), _NO_THERMOMETER, case.a0_target)]
    return [_a0(case, trace) for trace in case.thermometers]


def _a0(case: BareCase, trace: Trace) -> Weighed:
    asked = Asked("A0", "s", sensor=trace.name)
    limit = case.a0_target
    fault = limit_fault(limit, "s", case.on)
    if limit is None or fault is not None:
        return left_open(asked, fault or "", limit)
    if not case.moist.counted.any():
        return left_open(asked, "no disinfection was found in the record", limit)
    if case.moist.doubt:
        return left_open(asked, case.moist.doubt, limit)
    bounds = Bounds(limit.source, low=limit.value)
    doubt = trace.uncertainty
    if doubt is None:
        return weighed(asked, a0_of(case, trace, 0.0).a0_s, None, bounds, "raw value")
    guarded = a0_of(case, trace, doubt)
    certain = guarded.a0_s - guarded.in_long_gaps_s
    if certain < limit.value <= guarded.a0_s:
        return left_open(
            asked,
            lambda: f"reached only with {shown(guarded.in_long_gaps_s, 's')} credited across long gaps in the record",
            limit,
        )
    return weighed(asked, guarded.a0_s, 0.0, bounds, partial(_beside_raw_a0, case, trace, doubt))


def _beside_raw_a0(case: BareCase, trace: Trace, doubt_k: float) -> str:
    raw = shown(a0_of(case, trace, 0.0).a0_s, "s")
    return f"after subtracting the sensor's {doubt_k:.2g} K; the raw value is {raw}"


def hold_criteria(case: Case) -> list[Weighed]:
    """Judge that the disinfection temperature was held within its band, by every sensor, for the prescribed time.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        The hold time, and for each sensor the lowest and the highest temperature.
    """
    spans = case.found.of(StageKind.DISINFECT)
    if not spans or not case.thermometers:
        why = "no disinfection was found in the record" if case.thermometers else _NO_THERMOMETER
        return [left_open(Asked("disinfection hold time", "s"), why)]
    return [criterion for span in spans for criterion in (_hold_time(case, span), *_hold_band(case, span))]


def _readings(case: Case, sensors: list[Trace], *, worsened: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the lowest and highest reading of some thermometers, holes filled, uncertainties subtracted and added."""
    asked: tuple[float | str, ...] = (worsened, *(trace.name for trace in sensors))
    found = case.read.get(asked)
    if found is None:
        values = np.stack([trace.values for trace in sensors])
        doubts = np.array([worsened * (trace.uncertainty or 0.0) for trace in sensors])
        found = compiled("ends_of_readings")(values, doubts, case.record.time_s, case.tolerated_gap_s)
        case.read[asked] = found
    return found


def time_in_band(
    case: Case, sensors: list[Trace], span: StageSpan, band_c: tuple[float, float], *, worsened: float, how: Measure
) -> Shown:
    """Return how long every one of some thermometers lay within a band during a stage.

    Parameters
    ----------
    case
        The case.
    sensors
        The thermometers, one at least.
    span
        The stage.
    band_c
        Lowest and highest temperature of the band [°C].
    worsened
        How many times its uncertainty each reading is worsened by.
    how
        How time counts: the longest stretch, or all of it.

    Returns
    -------
    Shown
        The time, with what the record leaves open.
    """
    low, high = _readings(case, sensors, worsened=worsened)
    inside, unknown = compiled("in_band")(low[span.first : span.last + 1], high[span.first : span.last + 1], band_c)
    return how(inside, unknown, case.record.axis, case.tolerated_gap_s, (span.first, span.last))


def _hold_time(case: Case, span: StageSpan) -> Weighed:
    asked = Asked("disinfection hold time", "s", span.called)
    limit = case.limits.disinfection_band
    fault = limit_fault(limit, "K", case.on)
    if limit is None or fault is not None:
        return left_open(asked, f"band: {fault}", limit)
    ends = (span.stage.temperature_c, span.stage.temperature_c + limit.value)
    raw = partial(time_in_band, case, case.thermometers, span, ends, worsened=0.0, how=longest)
    bounds = Bounds(f"{case.programme_source}; band: {limit.source}", low=span.stage.hold_s)
    if not _doubts_known(case.thermometers):
        return weighed(asked, raw().certain_s, None, bounds, partial(_between, ends))
    guarded = time_in_band(case, case.thermometers, span, ends, worsened=1.0, how=longest)
    return weighed_time(
        asked,
        guarded.certain_s,
        guarded.possible_s,
        bounds,
        lambda: f"{_between(ends)}, uncertainties taken into account; {shown(raw().certain_s, 's')} by the raw values",
    )


def _between(ends_c: tuple[float, float]) -> str:
    return f"every sensor from {shown(ends_c[0], 'degC')} to {shown(ends_c[1], 'degC')}"


def _doubts_known(sensors: list[Trace]) -> bool:
    return None not in [trace.uncertainty for trace in sensors]


def _hold_band(case: Case, span: StageSpan) -> list[Weighed]:
    set_c, name = span.stage.temperature_c, span.called
    low, _ = _readings(case, case.thermometers, worsened=1.0)
    window = best_window(low, case.record.axis, (span.first, span.last), span.stage.hold_s, case.tolerated_gap_s)
    limit = case.limits.disinfection_band
    fault = limit_fault(limit, "K", case.on)
    hold_s, criteria = span.stage.hold_s, []
    for trace in case.thermometers:
        lowest = Asked("lowest temperature of the hold", "degC", name, trace.name)
        if window is None:
            criteria.append(left_open(lowest, lambda: f"no unbroken {shown(hold_s, 's')} of {name!r} in the record"))
        else:
            value, _ = compiled("lowest_and_highest")(trace.values[window[0] : window[1] + 1])
            bounds = Bounds(case.programme_source, low=set_c)
            criteria.append(
                weighed(
                    lowest, value, trace.uncertainty, bounds, lambda: f"in the best {shown(hold_s, 's')} of the stage"
                )
            )
        highest = Asked("highest temperature of the disinfection", "degC", name, trace.name)
        hottest = _extreme(trace, span)
        if limit is None or fault is not None:
            criteria.append(left_open(highest, f"band: {fault}", limit))
        elif hottest is None:
            criteria.append(left_open(highest, "the sensor shows no value in this stage", limit))
        else:
            bounds = Bounds(f"{case.programme_source}; band: {limit.source}", high=set_c + limit.value)
            criteria.append(weighed(highest, hottest, trace.uncertainty, bounds))
    return criteria


def _extreme(trace: Trace, span: StageSpan) -> float | None:
    _, highest = compiled("lowest_and_highest")(trace.values[span.first : span.last + 1])
    return None if np.isnan(highest) else highest


def hottest_of(sensors: list[Trace], spans: list[StageSpan]) -> tuple[float, Trace] | None:
    """Return the highest reading in some stages and its sensor, the one that counts worst first.

    Parameters
    ----------
    sensors
        The thermometers.
    spans
        The stages.

    Returns
    -------
    tuple or None
        Reading [°C] and sensor; None where no sensor shows a value.
    """
    found = [
        (value + (trace.uncertainty or 0.0), value, trace)
        for trace in sensors
        for span in spans
        if (value := _extreme(trace, span)) is not None
    ]
    if not found:
        return None
    _, value, trace = max(found, key=lambda item: item[0])
    return value, trace


def first_contact_criterion(case: Case) -> Weighed:
    """Judge that the water before the first cleaning was too cool to fix blood protein.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        With the highest temperature before the first cleaning stage.
    """
    name = "highest temperature before cleaning"
    asked = Asked(name, "degC")
    limit = case.limits.first_rinse_highest
    fault = limit_fault(limit, "degC", case.on)
    if limit is None or fault is not None:
        return left_open(asked, fault or "", limit)
    cleaning = [place for place, stage in enumerate(case.programme.stages) if stage.kind is StageKind.CLEAN]
    before = cleaning[0] if cleaning else len(case.programme.stages)
    spans = [span for span in case.found.of(StageKind.FLUSH, StageKind.RINSE) if span.position < before]
    hottest = hottest_of(case.thermometers, spans)
    if hottest is None:
        return left_open(asked, "no stage before cleaning with a temperature was found in the record", limit)
    value, trace = hottest
    asked = Asked(name, "degC", spans[0].called, trace.name)
    return weighed(asked, value, trace.uncertainty, Bounds(limit.source, high=limit.value))


def cleaning_criteria(case: Case) -> list[Weighed]:
    """Judge time and temperature of every cleaning stage.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        For each cleaning stage the time within its temperature band, and the highest temperature.
    """
    spans = case.found.of(StageKind.CLEAN)
    prescribed = sum(stage.kind is StageKind.CLEAN for stage in case.programme.stages)
    if len(spans) < prescribed:
        return [left_open(Asked("cleaning time", "s"), "not every cleaning stage was found in the record")]
    return [criterion for span in spans for criterion in _cleaning(case, span)]


def _cleaning(case: Case, span: StageSpan) -> list[Weighed]:
    time = Asked("cleaning time", "s", span.called)
    heat = Asked("highest temperature of the cleaning", "degC", span.called)
    limit = case.limits.cleaning_temperature_tolerance
    fault = limit_fault(limit, "K", case.on)
    hottest = hottest_of(case.thermometers, [span])
    if limit is None or fault is not None or hottest is None:
        why = f"temperature tolerance: {fault}" if fault else _NO_THERMOMETER
        return [left_open(time, why), left_open(heat, why)]
    ends = (span.stage.temperature_c - limit.value, span.stage.temperature_c + limit.value)
    note = partial(_between, ends)
    bounds = Bounds(f"{case.programme_source}; tolerance: {limit.source}", low=span.stage.hold_s)
    if not _doubts_known(case.thermometers):
        raw = time_in_band(case, case.thermometers, span, ends, worsened=0.0, how=total)
        lasted = weighed(time, raw.certain_s, None, bounds, note)
    else:
        guarded = time_in_band(case, case.thermometers, span, ends, worsened=1.0, how=total)
        lasted = weighed_time(time, guarded.certain_s, guarded.possible_s, bounds, note)
    value, trace = hottest
    heat = Asked(heat.name, heat.unit, heat.stage, trace.name)
    return [lasted, weighed(heat, value, trace.uncertainty, Bounds(bounds.source, high=ends[1]))]

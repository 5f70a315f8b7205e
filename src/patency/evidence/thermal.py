"""The criteria of heat: A0, the hold at disinfection temperature, the first contact with water, the cleaning."""

from __future__ import annotations

from functools import partial
from math import isnan
from typing import TYPE_CHECKING

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, limit_fault, shown
from patency.evidence.heat_asked import (
    beside_hottest,
    between,
    doubts_of,
    hottest_asked,
    hottest_of,
    time_in_band,
)
from patency.evidence.lethality import Lethality, integrate
from patency.evidence.measure_kernels import IN_WINDOW
from patency.evidence.measuring import (
    Asking,
    answer_of,
    best_window,
    credit,
    extremes,
    in_all,
    longest,
    said,
    time_within,
    together,
)
from patency.evidence.moist import WATER_BOILS_C
from patency.evidence.weighing import Weighed, left_open, weighed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.evidence.case import BareCase, Case
    from patency.evidence.measuring import Answer
    from patency.evidence.record import Trace
    from patency.quantities import Limit


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


def a0_criteria(case: BareCase) -> Asking:
    """Judge A0 of every temperature sensor in the chamber and the load; the guarded value decides.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        One criterion for each sensor.
    """
    limit = case.a0_target
    fault = limit_fault(limit, "s", case.on)
    if not case.thermometers:
        return said(left_open(Asked("A0", "s"), _NO_THERMOMETER, limit))
    asked = [Asked("A0", "s", sensor=one.name) for one in case.thermometers]
    if limit is None or fault is not None:
        return said(*(left_open(one, fault or "", limit) for one in asked))
    if not case.moist.counted.any():
        return said(*(left_open(one, "no disinfection was found in the record", limit) for one in asked))
    if case.moist.doubt:
        return said(*(left_open(one, case.moist.doubt, limit) for one in asked))
    doubts = [one.uncertainty for one in case.thermometers]

    def weigh(case: BareCase, answers: Sequence[Answer]) -> list[Weighed]:
        each = zip(asked, doubts, answers, strict=True)
        return [_a0(case, one, doubt_k, answer, limit) for one, doubt_k, answer in each]

    return Asking(tuple(credit(one.name, WATER_BOILS_C, one.uncertainty or 0.0) for one in case.thermometers), weigh)


def _a0(case: BareCase, asked: Asked, doubt_k: float | None, answer: Answer, limit: Limit) -> Weighed:
    a0_s, in_long_gaps_s = answer[0], answer[1]
    bounds = Bounds(limit.source, low=limit.value)
    if doubt_k is None:
        return weighed(asked, a0_s, None, bounds, "raw value")
    if a0_s - in_long_gaps_s < limit.value <= a0_s:
        return left_open(
            asked,
            lambda: f"reached only with {shown(in_long_gaps_s, 's')} credited across long gaps in the record",
            limit,
        )
    return weighed(asked, a0_s, 0.0, bounds, partial(_beside_raw_a0, case, asked, doubt_k))


def _beside_raw_a0(case: BareCase, asked: Asked, doubt_k: float) -> str:
    sensor = next(one for one in case.thermometers if one.name == asked.sensor)
    raw = shown(a0_of(case, sensor, 0.0).a0_s, "s")
    return f"after subtracting the sensor's {doubt_k:.2g} K; the raw value is {raw}"


def hold_criteria(case: Case) -> Asking:
    """Judge that the disinfection temperature was held within its band, by every sensor, for the prescribed time.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        The hold time, and for each sensor the lowest and the highest temperature.
    """
    places = case.found.places(StageKind.DISINFECT)
    if not places or not case.thermometers:
        why = "no disinfection was found in the record" if case.thermometers else _NO_THERMOMETER
        return said(left_open(Asked("disinfection hold time", "s"), why))
    return together([one for place in places for one in (_hold_time(case, place), _hold_band(case, place))])


def _hold_time(case: Case, place: int) -> Asking:
    span = case.found.spans[place]
    stage, asked = span.stage, Asked("disinfection hold time", "s", span.called)
    limit = case.limits.disinfection_band
    fault = limit_fault(limit, "K", case.on)
    if limit is None or fault is not None:
        return said(left_open(asked, f"band: {fault}", limit))
    ends = (stage.temperature_c, stage.temperature_c + limit.value)
    bounds = Bounds(f"{case.programme_source}; band: {limit.source}", low=stage.hold_s)
    known = None not in [one.uncertainty for one in case.thermometers]

    def note(case: Case) -> str:
        if not known:
            return between(ends)
        raw = longest(answer_of(case, time_within(case.thermometers, place, ends, worsened=0.0)))
        return f"{between(ends)}, uncertainties taken into account; {shown(raw.certain_s, 's')} by the raw values"

    return time_in_band(case.thermometers, place, ends, longest, (asked, bounds, note))


def _hold_band(case: Case, place: int) -> Asking:
    stage, name = case.found.spans[place].stage, case.found.spans[place].called
    limit = case.limits.disinfection_band
    fault = limit_fault(limit, "K", case.on)
    least = Bounds(case.programme_source, low=stage.temperature_c)
    most = None
    if limit is not None and fault is None:
        most = Bounds(f"{case.programme_source}; band: {limit.source}", high=stage.temperature_c + limit.value)
    best = f"in the best {shown(stage.hold_s, 's')} of the stage"
    each = [
        (
            Asked("lowest temperature of the hold", "degC", name, one.name),
            Asked("highest temperature of the disinfection", "degC", name, one.name),
            one.uncertainty,
        )
        for one in case.thermometers
    ]

    def weigh(_: Case, answers: Sequence[Answer]) -> list[Weighed]:
        window, *found = answers
        criteria = []
        for (lowest, highest, doubt), held, all_of_it in zip(each, found[::2], found[1::2], strict=True):
            if window[0] < 0:
                why = f"no unbroken {shown(stage.hold_s, 's')} of {name!r} in the record"
                criteria.append(left_open(lowest, why))
            else:
                criteria.append(weighed(lowest, held[0], doubt, least, best))
            if most is None:
                criteria.append(left_open(highest, f"band: {fault}", limit))
            elif isnan(all_of_it[1]):
                criteria.append(left_open(highest, "the sensor shows no value in this stage", limit))
            else:
                criteria.append(weighed(highest, all_of_it[1], doubt, most))
        return criteria

    ends = (extremes(one.name, where) for one in case.thermometers for where in (IN_WINDOW, place))
    return Asking((best_window(case.thermometers, place, stage.hold_s), *ends), weigh)


def first_contact_criterion(case: Case) -> Asking:
    """Judge that the water before the first cleaning was too cool to fix blood protein.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        With the highest temperature before the first cleaning stage.
    """
    name = "highest temperature before cleaning"
    limit = case.limits.first_rinse_highest
    fault = limit_fault(limit, "degC", case.on)
    if limit is None or fault is not None:
        return said(left_open(Asked(name, "degC"), fault or "", limit))
    cleaning = [place for place, stage in enumerate(case.programme.stages) if stage.kind is StageKind.CLEAN]
    before = cleaning[0] if cleaning else len(case.programme.stages)
    spans = case.found.spans
    places = [one for one in case.found.places(StageKind.FLUSH, StageKind.RINSE) if spans[one].position < before]
    first = spans[places[0]].called if places else None
    doubts, bounds = doubts_of(case.thermometers), Bounds(limit.source, high=limit.value)

    def weigh(_: Case, answers: Sequence[Answer]) -> list[Weighed]:
        hottest = hottest_of(doubts, answers)
        if hottest is None:
            why = "no stage before cleaning with a temperature was found in the record"
            return [left_open(Asked(name, "degC"), why, limit)]
        value, sensor, doubt = hottest
        return [weighed(Asked(name, "degC", first, sensor), value, doubt, bounds)]

    return Asking(hottest_asked(case.thermometers, places), weigh)


def cleaning_criteria(case: Case) -> Asking:
    """Judge time and temperature of every cleaning stage.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        For each cleaning stage the time within its temperature band, and the highest temperature.
    """
    places = case.found.places(StageKind.CLEAN)
    prescribed = sum(stage.kind is StageKind.CLEAN for stage in case.programme.stages)
    if len(places) < prescribed:
        return said(left_open(Asked("cleaning time", "s"), "not every cleaning stage was found in the record"))
    return together([_cleaning(case, place) for place in places])


def _cleaning(case: Case, place: int) -> Asking:
    span = case.found.spans[place]
    set_c = span.stage.temperature_c
    time = Asked("cleaning time", "s", span.called)
    heat = Asked("highest temperature of the cleaning", "degC", span.called)
    limit = case.limits.cleaning_temperature_tolerance
    fault = limit_fault(limit, "K", case.on)
    if limit is None or fault is not None or not case.thermometers:
        why = f"temperature tolerance: {fault}" if fault else _NO_THERMOMETER
        return said(left_open(time, why), left_open(heat, why))
    ends = (set_c - limit.value, set_c + limit.value)
    bounds = Bounds(f"{case.programme_source}; tolerance: {limit.source}", low=span.stage.hold_s)
    lasted = time_in_band(case.thermometers, place, ends, in_all, (time, bounds, lambda _: between(ends)))
    return beside_hottest(lasted, case.thermometers, place, heat, Bounds(bounds.source, high=ends[1]), _NO_THERMOMETER)

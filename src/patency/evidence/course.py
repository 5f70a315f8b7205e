"""The criteria of a stage's course: how fast it heats, how warm a rinse ends, how much old water carries over."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, Criterion, CriterionState, limit_fault, shown
from patency.evidence.machine_code import compiled
from patency.evidence.process import ends_of, worst_ends
from patency.evidence.weighing import Weighed, as_weighed, left_open, weighed

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace
    from patency.quantities import Limit

_MINUTE_S = 60.0
# A smaller climb is that of a controller near its aim and tells nothing of the heater. A choice of method.
_CLIMB_K = 5.0


def heating_criteria(case: Case) -> list[Weighed]:
    """Judge that no thermometer rose faster than water can be heated: faster is steam, air or a sensor at fault.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each wet stage found, with the largest rise of any thermometer within a minute; its
        uncertainty counts fully, though most of a sensor's error does not change within a minute.
    """
    limit = case.limits.fastest_heating
    fault = limit_fault(limit, "K", case.on)
    if not case.found.wet or not case.thermometers:
        why = "no wet stage was found in the record" if case.thermometers else "the record has no thermometer"
        return [left_open(Asked("fastest heating", "K"), why, limit)]
    criteria = []
    for span in case.found.wet:
        asked = Asked("fastest heating", "K", span.called)
        if limit is None or fault is not None:
            criteria.append(left_open(asked, fault or "", limit))
            continue
        rises = [
            (rise + (one.uncertainty or 0.0), rise, one) for one in case.thermometers for rise in _rise(case, span, one)
        ]
        if not rises:
            criteria.append(left_open(asked, "no unbroken minute with readings", limit))
            continue
        _, rise, trace = max(rises, key=lambda item: item[0])
        asked = Asked(asked.name, asked.unit, span.called, trace.name)
        criteria.append(weighed(asked, rise, trace.uncertainty, Bounds(limit.source, high=limit.value), "in a minute"))
    return criteria


def _rise(case: Case, span: StageSpan, trace: Trace) -> list[float]:
    """Return the largest rise within a minute as a list of one; none where no minute of the stage is unbroken."""
    axis, samples = case.record.axis, slice(span.first, span.last + 1)
    # Across a clock set back nobody knows how long a rise took: none reaches over one.
    clock_step = axis.clock_step[span.first : span.last]
    rise = compiled("largest_rise")(trace.values[samples], axis.elapsed_s[samples], clock_step, _MINUTE_S)
    return [] if np.isnan(rise) else [rise]


def slow_heating_criteria(case: Case) -> list[Weighed]:
    """Judge that every stage with a heater at work warmed up no slower than the site allows.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each cleaning and disinfection found, with the slowest thermometer: from its lowest reading to
        the first at the set temperature, or to the highest where none is.
    """
    limit = case.limits.slowest_heating
    fault = limit_fault(limit, "K", case.on)
    criteria = []
    for span in case.found.of(StageKind.CLEAN, StageKind.DISINFECT):
        asked = Asked("slowest heating", "K", span.called)
        if limit is None or fault is not None:
            criteria.append(left_open(asked, fault or "", limit))
            continue
        found = [(climb, one) for one in case.thermometers if (climb := _climb(case, span, one)) is not None]
        if not found or len(found) < len(case.thermometers):
            criteria.append(left_open(asked, "not every thermometer shows how long it took", limit))
            continue
        if all(rise_k < _CLIMB_K for (rise_k, _), _ in found):
            criteria.append(_filled_hot(asked, limit))
            continue
        (rise_k, took_s), trace = min(found, key=lambda item: item[0][0] / item[0][1])
        asked = Asked(asked.name, asked.unit, span.called, trace.name)
        doubt = None if trace.uncertainty is None else trace.uncertainty * _MINUTE_S / took_s
        note = partial(_in_a_minute, rise_k, took_s)
        bounds = Bounds(limit.source, low=limit.value)
        criteria.append(weighed(asked, rise_k * _MINUTE_S / took_s, doubt, bounds, note))
    return criteria


def _climb(case: Case, span: StageSpan, trace: Trace) -> tuple[float, float] | None:
    """Return by how much a thermometer rose up to the set temperature [K] and in which time [s]; None where unknown."""
    axis, part = case.record.axis, slice(span.first, span.last + 1)
    climbed, rise_k, took_s = compiled("climb")(
        trace.values[part], axis.elapsed_s[part], axis.clock_step[span.first : span.last], span.stage.temperature_c
    )
    return (rise_k, max(took_s, axis.usual_s)) if climbed else None


def _in_a_minute(rise_k: float, took_s: float) -> str:
    return f"in a minute; {shown(rise_k, 'K')} in {shown(took_s, 's')}"


def _filled_hot(asked: Asked, limit: Limit) -> Weighed:
    """Say that a stage was filled with water as hot as it has to be, so that no heater was asked to do anything."""
    why = f"filled hot: every thermometer rose by less than {shown(_CLIMB_K, 'K')} up to the set temperature"
    criterion = Criterion(
        name=asked.name,
        value=None,
        unit=asked.unit,
        limit=limit.value,
        source=limit.source,
        margin=None,
        state=CriterionState.MET,
        why=why,
        stage=asked.stage,
    )
    return as_weighed(criterion)


def rinse_temperature_criteria(case: Case) -> list[Weighed]:
    """Judge the temperature at the end of every rinse, in the share of it that the site names for the last water.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        The lowest and the highest reading of any thermometer, for each rinse of the programme.
    """
    return [
        criterion
        for position, stage in enumerate(case.programme.stages)
        if stage.kind is StageKind.RINSE
        for criterion in _rinse_temperature(case, position)
    ]


def _rinse_temperature(case: Case, position: int) -> list[Weighed]:
    called, set_c = case.called[position], case.programme.stages[position].temperature_c
    both = [Asked(f"{word} temperature of the rinse", "degC", called) for word in ("lowest", "highest")]
    limit, last = case.limits.rinse_temperature_tolerance, case.limits.last_water_share
    fault = limit_fault(limit, "K", case.on) or limit_fault(last, "1", case.on)
    span = next((span for span in case.found.spans if span.position == position), None)
    if limit is None or last is None or fault is not None or span is None:
        why = fault or "the stage was not found in the record"
        return [left_open(asked, why, limit) for asked in both]
    share = (1 - last.value, 1.0)
    found = worst_ends(case, case.thermometers, span, share)
    if found is None:
        return [left_open(asked, "no temperature at its end", limit) for asked in both]
    (low, coldest), (high, hottest) = found
    source = f"{case.programme_source}; tolerance: {limit.source}"
    lowest = Asked(both[0].name, both[0].unit, called, coldest.name)
    highest = Asked(both[1].name, both[1].unit, called, hottest.name)
    return [
        weighed(lowest, low, coldest.uncertainty, Bounds(source, low=set_c - limit.value)),
        weighed(highest, high, hottest.uncertainty, Bounds(source, high=set_c + limit.value)),
    ]


def carry_over_criteria(case: Case) -> list[Weighed]:
    """Judge that every rinse without a dose took the water before it away, by its conductivity.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        For each such rinse the conductivity at its end as a share of that at the end of the wet stage before, the
        probe's uncertainty against both; water as pure as the last has to be is enough. Rinses with a dose are left
        out: the agent conducts too.
    """
    return [_carry_over(case, position) for position in _plain_rinses(case)]


def _plain_rinses(case: Case) -> list[int]:
    stages = case.programme.stages
    return [
        position
        for position, stage in enumerate(stages)
        if position and stage.kind is StageKind.RINSE and not stage.doses and stages[position - 1].kind.wet
    ]


def _carry_over(case: Case, position: int) -> Weighed:
    asked = Asked("carried over into the rinse", "1", case.called[position])
    limit, last, pure = (
        case.limits.rinse_carry_over,
        case.limits.last_water_share,
        case.limits.final_rinse_conductivity,
    )
    fault = limit_fault(limit, "1", case.on)
    if limit is None or fault is not None:
        return left_open(asked, fault or "", limit)
    fault = limit_fault(last, "1", case.on)
    if last is None or fault is not None:
        return left_open(asked, f"share of the last water: {fault}", limit)
    fault = limit_fault(pure, "uS/cm", case.on)
    if pure is None or fault is not None:
        return left_open(asked, f"what the last water may conduct: {fault}", limit)
    spans = {span.position: span for span in case.found.spans}
    if position not in spans or position - 1 not in spans:
        return left_open(asked, "the rinse or the stage before it was not found in the record", limit)
    found = []
    for probe in case.record.of("conductivity"):
        before, after = (ends_of(case, probe, spans[one], (1 - last.value, 1.0)) for one in (position - 1, position))
        if before and after:
            doubt = probe.uncertainty or 0.0
            least = max(before[0] - doubt, pure.value / limit.value if limit.value else 0.0)
            share = (after[1] + doubt) / least if least > 0 else float("inf")
            found.append((share, probe, after[1]))
    if not found:
        return left_open(asked, "no conductivity at the end of both", limit)
    share, probe, value = max(found, key=lambda item: item[0])
    if not np.isfinite(share):
        return left_open(asked, "the water before conducts no more than the probe is uncertain by", limit)
    asked = Asked(asked.name, asked.unit, asked.stage, probe.name)
    known = None if probe.uncertainty is None else 0.0
    bounds = Bounds(limit.source, high=limit.value)
    return weighed(
        asked, share, known, bounds, lambda: f"{shown(value, 'uS/cm')} at its end, uncertainty taken into account"
    )

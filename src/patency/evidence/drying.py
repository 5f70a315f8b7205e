"""The criteria of drying: how long it ran, how long its air was hot, how hot it got; never whether lumens are dry."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, compared, compared_time, limit_fault, shown, unanswered
from patency.evidence.holding import total
from patency.evidence.thermal import hottest_of, time_in_band

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.criteria import Criterion
    from patency.evidence.found_stages import StageSpan


def drying_criteria(case: Case) -> list[Criterion]:
    """Judge that every prescribed drying stage ran for its time, and its air was hot for that time and never too hot.

    The air is measured by the thermometers in the chamber; those in the load lag behind it. Long gaps in the record do
    not count.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        Three criteria for each drying stage; empty where the programme has none.
    """
    criteria = []
    for position, stage in enumerate(case.programme.stages):
        if stage.kind is StageKind.DRY:
            span = next((span for span in case.found.spans if span.position == position), None)
            criteria += _not_found(case.called[position]) if span is None else _drying(case, span)
    return criteria


def _asked(called: str) -> tuple[Asked, Asked, Asked]:
    return (
        Asked("drying time", "s", called),
        Asked("drying time at temperature", "s", called),
        Asked("highest temperature of the drying air", "degC", called),
    )


def _not_found(called: str) -> list[Criterion]:
    return [unanswered(asked, "the stage was not found in the record") for asked in _asked(called)]


def _drying(case: Case, span: StageSpan) -> list[Criterion]:
    lasted, heated, highest = _asked(span.called)
    within = (span.first, span.last)
    during = np.ones(span.last + 1 - span.first, dtype=bool)
    ran = total(during, ~during, case.record.axis, case.tolerated_gap_s, within)
    note = "no record shows that lumens are dry inside"
    bounds = Bounds(case.programme_source, low=span.stage.hold_s)
    time = compared_time(lasted, ran.certain_s, ran.possible_s, bounds, note)
    limit = case.limits.drying_temperature_tolerance
    fault = limit_fault(limit, "K", case.on)
    air = case.record.of("temperature", "chamber")
    hottest = hottest_of(air, [span])
    if limit is None or fault is not None or hottest is None:
        why = f"temperature tolerance: {fault}" if fault else "the record has no temperature of the chamber's air"
        return [time, unanswered(heated, why), unanswered(highest, why)]
    source = f"{case.programme_source}; tolerance: {limit.source}"
    low_c, high_c = span.stage.temperature_c - limit.value, span.stage.temperature_c + limit.value
    bounds = Bounds(source, low=span.stage.hold_s)
    note = f"every sensor of the chamber at {shown(low_c, 'degC')} or more"
    raw = time_in_band(case, air, span, (low_c, np.inf), worsened=0.0, how=total)
    if any(trace.uncertainty is None for trace in air):
        hot = compared(heated, raw.certain_s, None, bounds, note)
    else:
        guarded = time_in_band(case, air, span, (low_c, np.inf), worsened=1.0, how=total)
        hot = compared_time(heated, guarded.certain_s, guarded.possible_s, bounds, note)
    value, trace = hottest
    highest = replace(highest, sensor=trace.name)
    return [time, hot, compared(highest, value, trace.uncertainty, Bounds(source, high=high_c))]

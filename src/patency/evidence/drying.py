"""The criteria of drying: how long it ran, how long its air was hot, how hot it got; never whether lumens are dry."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, limit_fault, shown
from patency.evidence.holding import total
from patency.evidence.thermal import hottest_of, time_in_band
from patency.evidence.weighing import Weighed, left_open, weighed, weighed_time

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan


def drying_criteria(case: Case) -> list[Weighed]:
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


def _not_found(called: str) -> list[Weighed]:
    return [left_open(asked, "the stage was not found in the record") for asked in _asked(called)]


def _drying(case: Case, span: StageSpan) -> list[Weighed]:
    lasted, heated, highest = _asked(span.called)
    within = (span.first, span.last)
    during = np.ones(span.last + 1 - span.first, dtype=bool)
    ran = total(during, ~during, case.record.axis, case.tolerated_gap_s, within)
    note = "no record shows that lumens are dry inside"
    bounds = Bounds(case.programme_source, low=span.stage.hold_s)
    time = weighed_time(lasted, ran.certain_s, ran.possible_s, bounds, note)
    limit = case.limits.drying_temperature_tolerance
    fault = limit_fault(limit, "K", case.on)
    air = case.record.of("temperature", "chamber")
    hottest = hottest_of(air, [span])
    if limit is None or fault is not None or hottest is None:
        why = f"temperature tolerance: {fault}" if fault else "the record has no temperature of the chamber's air"
        return [time, left_open(heated, why), left_open(highest, why)]
    source = f"{case.programme_source}; tolerance: {limit.source}"
    low_c, high_c = span.stage.temperature_c - limit.value, span.stage.temperature_c + limit.value
    bounds = Bounds(source, low=span.stage.hold_s)
    warm = partial(_warm, low_c)
    if None in [trace.uncertainty for trace in air]:
        raw = time_in_band(case, air, span, (low_c, np.inf), worsened=0.0, how=total)
        hot = weighed(heated, raw.certain_s, None, bounds, warm)
    else:
        guarded = time_in_band(case, air, span, (low_c, np.inf), worsened=1.0, how=total)
        hot = weighed_time(heated, guarded.certain_s, guarded.possible_s, bounds, warm)
    value, trace = hottest
    highest = Asked(highest.name, highest.unit, highest.stage, trace.name)
    return [time, hot, weighed(highest, value, trace.uncertainty, Bounds(source, high=high_c))]


def _warm(low_c: float) -> str:
    return f"every sensor of the chamber at {shown(low_c, 'degC')} or more"

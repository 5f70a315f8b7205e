"""The criteria of drying: how long it ran, how long its air was hot, how hot it got; never whether lumens are dry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.evidence.criteria import Asked, Bounds, limit_fault, shown
from patency.evidence.heat_asked import beside_hottest, time_in_band
from patency.evidence.measuring import Asking, in_all, said, time_within, together
from patency.evidence.weighing import Weighed, left_open, weighed_time

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.evidence.case import Case
    from patency.evidence.measuring import Answer


def drying_criteria(case: Case) -> Asking:
    """Judge that every prescribed drying stage ran for its time, and its air was hot for that time and never too hot.

    The air is measured by the thermometers in the chamber; those in the load lag behind it. Long gaps in the record do
    not count.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        Three criteria for each drying stage; empty where the programme has none.
    """
    found = {span.position: place for place, span in enumerate(case.found.spans)}
    prescribed = [place for place, stage in enumerate(case.programme.stages) if stage.kind is StageKind.DRY]
    return together([_drying(case, found[one]) if one in found else _not_found(case.called[one]) for one in prescribed])


def _asked(called: str) -> tuple[Asked, Asked, Asked]:
    return (
        Asked("drying time", "s", called),
        Asked("drying time at temperature", "s", called),
        Asked("highest temperature of the drying air", "degC", called),
    )


def _not_found(called: str) -> Asking:
    return said(*(left_open(asked, "the stage was not found in the record") for asked in _asked(called)))


def _drying(case: Case, place: int) -> Asking:
    span = case.found.spans[place]
    lasted, heated, highest = _asked(span.called)
    least = Bounds(case.programme_source, low=span.stage.hold_s)

    def weigh(_: Case, answers: Sequence[Answer]) -> list[Weighed]:
        ran = in_all(answers[0])
        return [
            weighed_time(lasted, ran.certain_s, ran.possible_s, least, "no record shows that lumens are dry inside")
        ]

    time = Asking((time_within((), place, (-np.inf, np.inf)),), weigh)
    limit = case.limits.drying_temperature_tolerance
    fault = limit_fault(limit, "K", case.on)
    air = case.record.of("temperature", "chamber")
    none = "the record has no temperature of the chamber's air"
    if limit is None or fault is not None or not air:
        why = f"temperature tolerance: {fault}" if fault else none
        return together([time, said(left_open(heated, why), left_open(highest, why))])
    source = f"{case.programme_source}; tolerance: {limit.source}"
    low_c, high_c = span.stage.temperature_c - limit.value, span.stage.temperature_c + limit.value
    bounds = Bounds(source, low=span.stage.hold_s)
    hot = time_in_band(air, place, (low_c, np.inf), in_all, (heated, bounds, lambda _: _warm(low_c)))
    return together([time, beside_hottest(hot, air, place, highest, Bounds(source, high=high_c), none)])


def _warm(low_c: float) -> str:
    return f"every sensor of the chamber at {shown(low_c, 'degC')} or more"

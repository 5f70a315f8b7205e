"""Whether the circulation pressure stands still: foam in the pump, and air past a low water level, make it swing."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from patency.evidence.criteria import Asked, Bounds, CriterionState, limit_fault
from patency.evidence.machine_code import compiled
from patency.evidence.surroundings import Surroundings, surroundings_of
from patency.evidence.swing_causes import causes_of_swings
from patency.evidence.weighing import Weighed, left_open, weighed

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace

# A pump that starts or stops within this time of a reading moves it, whatever the water holds; shorter stretches than
# twice that say nothing of swings. Choices of method: more of it leaves more out, and what is left has to be judged.
_SETTLING_S = 15.0
_FEWEST = 10


def steadiness_criteria(case: Case) -> list[Weighed]:
    """Judge that the circulation pressure of each wet stage swings by no more than the site allows.

    What is judged is the standard deviation of the readings about a straight line through each unbroken stretch of
    circulation, as a share of their median less the sensor's uncertainty. Noise of the sensor counts against it.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each wet stage found and pressure sensor of the circulation.
    """
    sensors = case.record.of("pressure", "circulation")
    spans = case.found.wet
    if not sensors or not spans:
        why = "no wet stage was found in the record" if sensors else "the record has no pressure at the circulation"
        return [left_open(Asked("swing of the circulation pressure", "1"), why)]
    return [_steadiness(case, span, trace) for span in spans for trace in sensors]


def _steadiness(case: Case, span: StageSpan, trace: Trace) -> Weighed:
    asked = Asked("swing of the circulation pressure", "1", span.called, trace.name)
    limit = case.limits.pressure_swing
    fault = limit_fault(limit, "1", case.on)
    if limit is None or fault is not None:
        return left_open(asked, fault or "", limit)
    around = Surroundings(0.0, 0.0, "") if trace.gauge else surroundings_of(case.record, span.first, span.last)
    if isinstance(around, str):
        return left_open(asked, f"the sensor measures absolute pressure and {around}", limit)
    swings = _about_the_line(case, span, trace)
    if swings is None:
        return left_open(asked, "no stretch of circulation is long enough to tell", limit)
    deviation_pa, median_pa = swings
    rest_pa = median_pa - around.pressure_pa - (trace.uncertainty or 0.0) - (around.uncertainty_pa or 0.0)
    if rest_pa <= 0:
        return left_open(asked, "the pressure is no higher than the sensor is uncertain", limit)
    known = None if None in (trace.uncertainty, around.uncertainty_pa) else 0.0
    judged = weighed(asked, deviation_pa / rest_pa, known, Bounds(limit.source, high=limit.value))
    if judged.state is not CriterionState.NOT_MET:
        return judged
    return judged.but(judged.state, partial(causes_of_swings, case, span, trace))


def _about_the_line(case: Case, span: StageSpan, trace: Trace) -> tuple[float, float] | None:
    """Return the standard deviation about the lines and the median of what lies on them [Pa]."""
    if case.found.running is None:
        return None
    samples = slice(span.first, span.last + 1)
    on = compiled("bounds_of_stretches")(case.found.running[samples])
    about, many, readings = compiled("about_lines")(
        trace.values[samples], case.record.time_s[samples], on, _SETTLING_S, _FEWEST
    )
    return (math.sqrt(about / many), compiled("quantile")(readings, 0.5)) if many else None

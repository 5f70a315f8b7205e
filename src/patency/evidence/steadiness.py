"""Whether the circulation pressure stands still: foam in the pump, and air past a low water level, make it swing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import Asked, Bounds, compared, limit_fault, unanswered
from patency.evidence.running import stretches
from patency.evidence.surroundings import Surroundings, surroundings_of

if TYPE_CHECKING:
    from patency.evidence.case import Case
    from patency.evidence.criteria import Criterion
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.record import Trace

# A pump that starts or stops within this time of a reading moves it, whatever the water holds; shorter stretches than
# twice that say nothing of swings. Choices of method: more of it leaves more out, and what is left has to be judged.
_SETTLING_S = 15.0
_FEWEST = 10


def steadiness_criteria(case: Case) -> list[Criterion]:
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
        return [unanswered(Asked("swing of the circulation pressure", "1"), why)]
    return [_steadiness(case, span, trace) for span in spans for trace in sensors]


def _steadiness(case: Case, span: StageSpan, trace: Trace) -> Criterion:
    asked = Asked("swing of the circulation pressure", "1", span.called, trace.name)
    limit = case.limits.pressure_swing
    fault = limit_fault(limit, "1", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    around = Surroundings(0.0, 0.0, "") if trace.gauge else surroundings_of(case.record, span.first, span.last)
    if isinstance(around, str):
        return unanswered(asked, f"the sensor measures absolute pressure and {around}", limit)
    swings = _about_the_line(case, span, trace)
    if swings is None:
        return unanswered(asked, "no stretch of circulation is long enough to tell", limit)
    deviation_pa, median_pa = swings
    rest_pa = median_pa - around.pressure_pa - (trace.uncertainty or 0.0) - (around.uncertainty_pa or 0.0)
    if rest_pa <= 0:
        return unanswered(asked, "the pressure is no higher than the sensor is uncertain", limit)
    known = None if None in (trace.uncertainty, around.uncertainty_pa) else 0.0
    return compared(asked, deviation_pa / rest_pa, known, Bounds(limit.source, high=limit.value))


def _about_the_line(case: Case, span: StageSpan, trace: Trace) -> tuple[float, float] | None:
    """Return the standard deviation about the lines and the median of what lies on them [Pa]."""
    time = case.record.time_s
    running = case.found.running
    if running is None:
        return None
    on = np.zeros(time.size, dtype=bool)
    on[span.first : span.last + 1] = running[span.first : span.last + 1]
    off, readings = [], []
    for first, last in stretches(on):
        settled = (time >= time[first] + _SETTLING_S) & (time <= time[last] - _SETTLING_S) & ~np.isnan(trace.values)
        settled[:first] = settled[last + 1 :] = False
        if settled.sum() < _FEWEST:
            continue
        values, after = trace.values[settled], time[settled] - time[first]
        slope, start = np.polyfit(after, values, 1)
        off.append(values - (start + slope * after))
        readings.append(values)
    if not off:
        return None
    return float(np.sqrt(np.mean(np.concatenate(off) ** 2))), float(np.median(np.concatenate(readings)))

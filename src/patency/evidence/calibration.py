"""Whether the sensors were calibrated, and how long ago: a reading is worth what its sensor's calibration is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.evidence.criteria import Asked, Bounds, Criterion, compared, limit_fault, unanswered

if TYPE_CHECKING:
    from datetime import date

    from patency.evidence.record import CycleRecord
    from patency.quantities import Limit

_DAY_S = 86400.0


def calibration_criterion(record: CycleRecord, limit: Limit | None, on: date) -> Criterion:
    """Judge that no sensor of a record was calibrated longer ago than the site lets it count.

    Parameters
    ----------
    record
        The record.
    limit
        How long a calibration counts: the site's limit.
    on
        The day of the decision; the age of a calibration is reckoned to the end of it.

    Returns
    -------
    Criterion
        With the oldest calibration; not evaluated where one is not stated, or lies after the day.
    """
    asked = Asked("calibration of the sensors", "s")
    fault = limit_fault(limit, "s", on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    days = {trace.name: trace.calibrated for trace in record.traces.values()}
    stated = {name: day for name, day in days.items() if day is not None}
    bounds = Bounds(limit.source, high=limit.value)
    if stated:
        oldest = min(stated, key=lambda name: stated[name])
        age_s = ((on - stated[oldest]).days + 1) * _DAY_S
        judged = compared(asked, age_s, 0.0, bounds, f"{oldest} was calibrated on {stated[oldest]}")
        if age_s > limit.value:
            return judged
    unknown = [name for name, day in days.items() if day is None]
    if unknown:
        return unanswered(asked, f"the description does not say when it was: {', '.join(unknown)}", limit)
    later = [f"{name} on {day}" for name, day in stated.items() if day > on]
    if later:
        return unanswered(asked, f"after the day of the decision: {', '.join(later)}", limit)
    return judged if stated else unanswered(asked, "the record has no sensor", limit)

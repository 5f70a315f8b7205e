"""The criteria of the record itself: is it of the right programme, are its stages in order, is it complete."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import Asked, Bounds, Criterion, CriterionState, compared, limit_fault, unanswered
from patency.evidence.running import stretches
from patency.evidence.timing import Spacing

if TYPE_CHECKING:
    from patency.evidence.case import BareCase, Case


def programme_criterion(case: Case) -> list[Criterion]:
    """Judge that the record names the programme it is judged against.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion; empty where the record names no programme.
    """
    named = case.record.description.programme
    if named is None:
        return []
    planned = case.programme_key or case.programme.name
    same = named in {planned, case.programme.name}
    why = f"the record names {named!r}" + ("" if same else f", the load was planned for {planned!r}")
    state = CriterionState.MET if same else CriterionState.NOT_MET
    return [Criterion("programme", None, "", None, case.programme_source, None, state, why)]


def stages_criterion(case: Case) -> Criterion:
    """Judge that every stage of the programme was found, in its order.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        With the number of stages found.
    """
    found, prescribed = case.found, len(case.programme.stages)
    if found.contradictions:
        state, why = CriterionState.NOT_MET, "; ".join(found.contradictions)
    elif found.doubts:
        state, why = CriterionState.NOT_EVALUATED, "; ".join(found.doubts)
    else:
        complete = len(found.spans) == prescribed
        state = CriterionState.MET if complete else CriterionState.NOT_MET
        why = f"{len(found.spans)} of {prescribed} stages, found by the {found.origin.value}"
    return Criterion(
        name="stages in order",
        value=float(len(found.spans)),
        unit="1",
        limit=float(prescribed),
        source=case.programme_source,
        margin=float(len(found.spans) - prescribed),
        state=state,
        why=why,
    )


def completeness_criterion(case: BareCase) -> Criterion:
    """Judge that the record leaves no gap that could hide something.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        With the longest time without a sample, or without a value of a sensor that is judged.
    """
    asked = Asked("longest gap in the record", "s")
    limit = case.limits.longest_gap
    fault = limit_fault(limit, "s", case.on)
    if limit is None or fault is not None:
        return unanswered(asked, fault or "", limit)
    axis = case.record.axis
    if (axis.spacing == Spacing.CLOCK_STEP).any():
        return unanswered(asked, "the clock was set back; how long the time in between was is unknown", limit)
    holes = {"all columns": float(np.diff(axis.elapsed_s).max())}
    for trace in (*case.thermometers, *case.record.of("pressure", "circulation")):
        for first, last in stretches(np.isnan(trace.values)):
            start, end = axis.elapsed_s[max(first - 1, 0)], axis.elapsed_s[min(last + 1, axis.elapsed_s.size - 1)]
            holes[trace.name] = max(holes.get(trace.name, 0.0), float(end - start))
    where = max(holes, key=lambda name: holes[name])
    return compared(asked, holes[where], 0.0, Bounds(limit.source, high=limit.value), f"in {where}")

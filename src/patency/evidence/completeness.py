"""The criteria of the record itself: is it of the right machine and programme, in order, and complete."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.evidence.criteria import Asked, Bounds, Criterion, CriterionState, limit_fault
from patency.evidence.machine_code import compiled
from patency.evidence.machine_sensors import recordable
from patency.evidence.measuring import Asking, longest_gap
from patency.evidence.weighing import Weighed, as_weighed, left_open, weighed

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.evidence.case import BareCase, Case
    from patency.evidence.measuring import Answer
    from patency.evidence.record import CycleRecord, Trace
    from patency.quantities import Limit

_NO_MACHINE = "which machine the load was planned for was not given"


def programme_criterion(case: Case) -> Weighed:
    """Judge that the record names the programme it is judged against.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        Not evaluated where the record names no programme.
    """
    planned = case.programme_key or case.programme.name
    known = (planned, case.programme.name)
    return _named("programme", case.record.description.programme, known, case.programme_source)


def machine_criterion(case: Case) -> Weighed:
    """Judge that the record names a machine of the kind the load was planned for.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        Not evaluated where the record names no machine, or nobody says which the load was planned for.
    """
    if case.machine is None:
        return left_open(Asked("machine"), _NO_MACHINE)
    return _named("machine", case.record.description.machine, case.machine.names, f"plan: {case.machine.kind}")


def _named(what: str, named: str | None, known: tuple[str, ...], source: str) -> Weighed:
    if named is None:
        return left_open(Asked(what), f"the record names no {what}")
    same = named in known
    planned = " or ".join(repr(name) for name in dict.fromkeys(known))
    why = f"the record names {named!r}" + ("" if same else f", the load was planned for {planned}")
    state = CriterionState.MET if same else CriterionState.NOT_MET
    return as_weighed(Criterion(what, None, "", None, source, None, state, why))


def sensors_criterion(case: Case) -> Weighed:
    """Judge that the record holds every sensor the machine has, so that none that would object is left out.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
        With the number of the machine's sensors in the record; not evaluated where one is missing or none is known. A
        flow meter does not count: a record has no column for it and no criterion rests on it.
    """
    asked = Asked("sensors of the machine", "1")
    if case.machine is None:
        return left_open(asked, _NO_MACHINE)
    expected = recordable(case.machine)
    if not expected:
        return left_open(asked, f"no sensor of {case.machine.kind!r} is described")
    found = set(case.sensors.values())
    missing = [f"{sensor.quantity} at {sensor.place!r}" for key, sensor in expected.items() if key not in found]
    if missing:
        return left_open(asked, f"the machine has them, the record has not: {', '.join(missing)}")
    bounds = Bounds(f"description of {case.machine.kind!r}", low=float(len(expected)))
    return weighed(asked, float(len(expected)), 0.0, bounds)


def stages_criterion(case: Case) -> Weighed:
    """Judge that every stage of the programme was found, in its order.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Weighed
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
    criterion = Criterion(
        name="stages in order",
        value=float(len(found.spans)),
        unit="1",
        limit=float(prescribed),
        source=case.programme_source,
        margin=float(len(found.spans) - prescribed),
        state=state,
        why=why,
    )
    return as_weighed(criterion)


def completeness_criterion(case: BareCase) -> Asking:
    """Judge that the record leaves no gap that could hide something.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Asking
        With the longest time without a sample, or without a value of a sensor that is judged.
    """
    limit, on, set_back = case.limits.longest_gap, case.on, bool(case.record.axis.clock_step.any())
    judged = [one.name for one in (*case.thermometers, *case.record.of("pressure", "circulation"))]

    def weigh(_: BareCase, answers: Sequence[Answer]) -> list[Weighed]:
        return [_widest(limit, on, [answer[0] for answer in answers], judged, set_back=set_back)]

    return Asking((longest_gap(), *map(longest_gap, judged)), weigh)


def gap_weighed(record: CycleRecord, limit: Limit | None, on: date, judged: list[Trace]) -> Weighed:
    """Judge the longest time without a sample, or without a value of a sensor that is judged.

    Parameters
    ----------
    record
        The record.
    limit
        The site's limit.
    on
        The day on which it must hold.
    judged
        The sensors that are judged.

    Returns
    -------
    Weighed
        Not evaluated after the clock was set back.
    """
    axis = record.axis
    gaps = [compiled("longest_step")(axis.elapsed_s)]
    gaps += [compiled("longest_hole")(trace.values, axis.elapsed_s) for trace in judged]
    return _widest(limit, on, gaps, [trace.name for trace in judged], set_back=bool(axis.clock_step.any()))


def _widest(limit: Limit | None, on: date, gaps_s: list[float], names: list[str], *, set_back: bool) -> Weighed:
    """Judge the longest of the times without a sample and without a value of each sensor."""
    asked = Asked("longest gap in the record", "s")
    fault = limit_fault(limit, "s", on)
    if limit is None or fault is not None:
        return left_open(asked, fault or "", limit)
    if set_back:
        return left_open(asked, "the clock was set back; how long the time in between was is unknown", limit)
    longest_s = max(gaps_s)
    where = ("all columns", *names)[gaps_s.index(longest_s)]
    return weighed(asked, longest_s, 0.0, Bounds(limit.source, high=limit.value), f"in {where}")

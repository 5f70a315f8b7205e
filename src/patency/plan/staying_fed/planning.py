"""A day's plan whose lumens stay fed in every single fault of chosen kinds, and what that costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError, PhysicsError
from patency.flow import effects_of_faults
from patency.load import StaysFed
from patency.plan.planner import MARGIN, plan_day
from patency.plan.staying_fed.judge import StaysFedJudge
from patency.plan.staying_fed.remedies import remedies_for
from patency.plan.time_limit import TimeLimit

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator
    from datetime import date

    from patency.catalogue import Day, Department
    from patency.flow import FaultKind
    from patency.load import Plan
    from patency.plan.planner import Progress

# Shares of the time still left: of the plan that asks for nothing, and then of the one whose lumens stay fed. The rest
# is for what would buy it.
_USUAL, _STAYING = 0.6, 0.7


def plan_staying_fed(
    department: Department,
    kinds: Collection[FaultKind],
    *,
    day: Day | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    limit: TimeLimit | None = None,
) -> Plan:
    """Plan the loads of a day so that every lumen stays fed in every single fault of chosen kinds.

    The plan that does not ask for it is made first. Where its lumens stay fed as it is, it is the plan; else another is
    searched for, and the difference is what it costs. Where it costs a set, a load or a lumen, what would buy it is
    looked for on the loads of the first plan.

    Parameters
    ----------
    department
        The department: what exists, in what stock.
    kinds
        The kinds of fault, at least one.
    day
        The day; that of the department where none is given.
    on_progress
        Is told how far planning has come.
    limit
        How long all of it may take; what it ends before it is done stands in ``cut_short``.

    Returns
    -------
    Plan
        The plan, with ``stays_fed`` filled in.

    Raises
    ------
    InputError
        When there is no day to plan, or no kind of fault is named.
    """
    day = day or department.day
    if day is None:
        raise InputError("day", "the department names no day to plan", "a day with the sets that wait")
    if not kinds:
        raise InputError("faults", "no kind of fault is named", "at least one")
    asked = frozenset(kinds)
    limit = limit or TimeLimit()
    usual = plan_day(department, day=day, on_progress=on_progress, limit=limit.part(_USUAL))
    judge = StaysFedJudge(department, day.date, asked)
    staying = _staying_as_it_is(usual, judge)
    if staying is None:
        staying = plan_day(department, day=day, judge=judge, on_progress=on_progress, limit=limit.part(_STAYING))
    if limit.cut_short:
        limit.note("what staying fed costs: with more time either plan may come out better")
    costs = _costs(usual, staying)
    remedies = [remedies_for(department, load, day.date, asked, limit) for load in usual.loads] if costs else []
    stays_fed = StaysFed(
        fault_kinds=tuple(sorted(kind.value for kind in asked)),
        costs=costs,
        would_buy=tuple(one.told for each in remedies for one in each.found),
        would_not_do=tuple(line for each in remedies for line in each.none_found),
        not_computed=tuple(_not_computed(department, staying, day.date, asked)),
    )
    return staying.model_copy(update={"stays_fed": stays_fed, "cut_short": limit.cut_short})


def _staying_as_it_is(usual: Plan, judge: StaysFedJudge) -> Plan | None:
    """Return the plan that asks for nothing where all its lumens stay fed anyway: none that asks for it is better."""
    verdicts = [judge.thoroughly(load) for load in usual.loads]
    if any(verdict.short for verdict in verdicts):
        return None
    weakest = min((verdict.weakest for verdict in verdicts if verdict.weakest is not None), default=None)
    margin = {} if weakest is None else {MARGIN: weakest}
    return usual.model_copy(update={"objective": {**usual.objective, **margin}})


def _not_computed(department: Department, plan: Plan, day: date, asked: frozenset[FaultKind]) -> Iterator[str]:
    """Say which faults of chosen kinds cannot be computed, and which lumens are not judged in any, load by load."""
    for load in plan.loads:
        try:
            effects = effects_of_faults(department, load, day)
        except PhysicsError as fault:
            yield from (f"load {load.id}: {kind}: {fault.line}" for kind in sorted(asked))
            continue
        yield from (f"load {load.id}: {words}" for words in effects.not_computed if words.startswith(tuple(asked)))
        yield from (f"load {load.id}: not judged: {words}" for words in effects.not_judged_told)


def _costs(usual: Plan, staying: Plan) -> tuple[str, ...]:
    """Say what the one plan has more of than the other, in the order of the objectives; the margins are not alike."""
    lines = []
    for name, value in staying.objective.items():
        without = usual.objective.get(name)
        if name != MARGIN and without is not None and value != without:
            lines.append(f"{name}: {value:g} instead of {without:g}")
    lines += [f"left out: {one.set}" for one in staying.left_out if one.set not in {out.set for out in usual.left_out}]
    unsolved = len(staying.conflicts) - len(usual.conflicts)
    if unsolved > 0:
        lines.append(f"facts that conflict, or pieces that still fall short: {unsolved} more")
    return tuple(lines)

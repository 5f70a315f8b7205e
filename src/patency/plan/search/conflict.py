"""Why not every set can be planned: a smallest group of facts that cannot all hold.

First the sets are thinned out: a set goes when the others still cannot all be planned without it. Then every fact about
stock, places, mass, time and machines gets a literal; the solver names literals that contradict each other, and each of
them is dropped unless the rest becomes possible without it. What is left is minimal: without any one of its facts there
is a plan. Unused ports are no reason: they may stay open here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.plan.search.integer import conflicting, solve
from patency.plan.search.model import Builder

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Problem
    from patency.plan.search.slots import Fact, Model


@dataclass(frozen=True, slots=True)
class Conflict:
    """Facts that cannot all hold.

    Parameters
    ----------
    facts
        The facts: their kind, then what they are about.
    minimal
        Whether it was shown that without any one of them there is a plan.
    """

    facts: tuple[Fact, ...]
    minimal: bool

    @property
    def sets(self) -> tuple[str, ...]:
        """The sets that are part of it."""
        return tuple(fact[1] for fact in self.facts if fact[0] == "set")


def find_conflict(problem: Problem, wanted: Iterable[str], budget: Budget) -> Conflict | None:
    """Find a smallest group of facts because of which some sets cannot all be planned.

    Parameters
    ----------
    problem
        The problem.
    wanted
        The sets that should all be planned; those named last stay in the group if there is a choice.
    budget
        What may be spent.

    Returns
    -------
    Conflict | None
        None where the sets can all be planned, or where the budget ended before it was clear.
    """
    names = list(wanted)
    if can_all_be_planned(problem, names[-1:], budget) is False:
        names = names[-1:]
    elif can_all_be_planned(problem, names, budget) is not False:
        return None
    thin = True
    for name in list(names):
        rest = [other for other in names if other != name]
        possible = can_all_be_planned(problem, rest, budget)
        if possible is False:
            names = rest
        thin = thin and possible is not None
    facts, minimal = _thinned(restricted(problem, names), budget)
    return Conflict((*(("set", name) for name in names), *facts), thin and minimal)


def restricted(problem: Problem, names: Iterable[str]) -> Problem:
    """Return the problem with some of its sets only.

    Parameters
    ----------
    problem
        The problem.
    names
        The sets that stay.

    Returns
    -------
    Problem
        The smaller problem.
    """
    kept = set(names)
    sets = {name: case for name, case in problem.sets.items() if name in kept}
    return replace(problem, sets=sets, cuts=tuple(cut for cut in problem.cuts if cut.company <= kept))


def can_all_be_planned(problem: Problem, names: Iterable[str], budget: Budget) -> bool | None:
    """Answer whether some sets can all be planned, however late and with whatever ports open.

    Parameters
    ----------
    problem
        The problem.
    names
        The sets.
    budget
        What may be spent.

    Returns
    -------
    bool | None
        None where the budget ended before it was clear.
    """
    smaller = restricted(problem, names)
    if not smaller.sets:
        return True
    model = Builder(smaller, len(smaller.sets)).build()
    model.model.add(model.objective(0) == 0)
    state = solve(model.model, budget).state
    return None if state == "unknown" else state != "impossible"


def _thinned(problem: Problem, budget: Budget) -> tuple[list[Fact], bool]:
    """Thin out the facts beside the sets."""
    model = Builder(problem, len(problem.sets), droppable=True).build()
    wanted = [literal for fact, literal in model.facts.items() if fact[0] == "set"]
    model.model.add_bool_and(wanted)
    facts = [fact for fact in model.facts if fact[0] != "set"]
    core = conflicting(model.model, [model.facts[fact] for fact in facts], budget)
    if core is not None:
        facts = [facts[position] for position in core]
    minimal = True
    for fact in list(facts):
        rest = [other for other in facts if other != fact]
        possible = _possible(model, rest, budget)
        if possible is False:
            facts = rest
        minimal = minimal and possible is not None
    return facts, minimal


def _possible(model: Model, facts: list[Fact], budget: Budget) -> bool | None:
    trial = model.model.clone()
    trial.add_bool_and([trial.get_bool_var_from_proto_index(model.facts[fact].index) for fact in facts])
    state = solve(trial, budget).state
    return None if state == "unknown" else state != "impossible"

"""Plans put together from groups of sets that are known to fit: few loads first, then times for them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.plan.search.alike import classes
from patency.plan.search.integer import Budget, new_model, solve, weighted
from patency.plan.search.model import Builder
from patency.plan.search.problem import Allowance, Problem, Run
from patency.plan.search.timing import schedule
from patency.plan.search.windows import windows

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from patency.plan.search.bounds import Group

_COVER_WORK = 20.0
_LOAD_WORK = 1.0
# Choices of groups that are tried before the larger model takes over.
_TRIALS = 6


def packed(
    problem: Problem, groups: Iterable[Group], loads: int, allowed: Allowance, budget: Budget
) -> tuple[Run, ...] | None:
    """Look for a plan of all sets with so many loads.

    Parameters
    ----------
    problem
        The problem.
    groups
        Groups of sets that fit together on a carrier.
    loads
        Number of loads.
    allowed
        Open ports and minutes late that may be; no set may be left out.
    budget
        What may be spent.

    Returns
    -------
    tuple[Run, ...] | None
        The loads, or None where none of the trials led to a plan; that proves nothing.
    """
    cover = _Cover(problem, list(groups), loads, allowed.late)
    for _ in range(_TRIALS):
        chosen = cover.next(budget)
        if chosen is None:
            return None
        runs = [one_load(problem, carrier, sets, budget) for carrier, sets in chosen]
        whole = [run for run in runs if run is not None]
        if len(whole) == len(runs) and sum(sum(run.open.values()) for run in whole) <= allowed.open_ports:
            timed = schedule(problem, whole, allowed.late, budget)
            if timed is not None:
                return timed
    return None


class _Cover:
    """Choices of groups in which every set stands once."""

    def __init__(self, problem: Problem, groups: list[Group], loads: int, late: int) -> None:
        self._problem = problem
        self._groups = groups
        self._model = new_model()
        self._chosen = [self._model.new_bool_var(f"{i}") for i in range(len(groups))]
        for name in problem.sets:
            self._model.add_bool_or(z for z, (_, sets) in zip(self._chosen, groups, strict=True) if name in sets)
        self._model.add(weighted((z, 1) for z in self._chosen) == loads)
        for window in windows(problem, classes(problem).values(), late):
            inside = [
                (z, 1)
                for z, (carrier, sets) in zip(self._chosen, groups, strict=True)
                if carrier in window.carriers and any(window.binds(problem, name, late) for name in sets)
            ]
            self._model.add(weighted(inside) <= window.most)
        # Of equal choices the one whose sets wait least for each other.
        starts = [max(problem.sets[n].ready_min for n in sets) for _, sets in groups]
        sizes = [len(sets) for _, sets in groups]
        self._model.minimize(
            weighted((z, start * size) for z, start, size in zip(self._chosen, starts, sizes, strict=True))
        )

    def next(self, budget: Budget) -> list[tuple[str, tuple[str, ...]]] | None:
        """Return a choice that was not returned before."""
        found = solve(self._model, budget, _COVER_WORK)
        if not found.has_solution:
            return None
        taken = [i for i, z in enumerate(self._chosen) if found.value(z)]
        self._model.add_bool_or(~self._chosen[i] for i in taken)
        return self._dealt(taken)

    def _dealt(self, taken: list[int]) -> list[tuple[str, tuple[str, ...]]]:
        """Leave every set in one group only: in the one that is emptiest so far, so that few ports have to be capped."""
        able = {name: [i for i in taken if name in self._groups[i][1]] for name in self._problem.sets}
        size = {name: sum(case.needs.values()) for name, case in self._problem.sets.items()}
        contents: dict[int, list[str]] = {i: [] for i in taken}
        for name in sorted(able, key=lambda name: (len(able[name]), -size[name], name)):
            emptiest = min(able[name], key=lambda i: (sum(size[other] for other in contents[i]), i))
            contents[emptiest].append(name)
        return [(self._groups[i][0], tuple(names)) for i, names in contents.items() if names]


def one_load(
    problem: Problem, carrier: str, sets: Iterable[str], budget: Budget, stock: Mapping[str, int] | None = None
) -> Run | None:
    """Meet the demands of a load on its own, fewest open ports first, then least cost.

    Parameters
    ----------
    problem
        The problem.
    carrier
        The carrier.
    sets
        The sets of the load.
    budget
        What may be spent.
    stock
        Accessories at hand; the whole stock where not given.

    Returns
    -------
    Run | None
        The load, its times at the start of the shift; None where its sets do not fit together.
    """
    alone = Problem(
        {name: replace(problem.sets[name], ready_min=0, due_min=None) for name in sets},
        {carrier: problem.carriers[carrier]},
        tuple(replace(machine, docks=machine.docks & {carrier}) for machine in problem.machines),
        problem.stock if stock is None else stock,
        max((minutes for _, _, minutes in problem.modes(carrier)), default=0),
        tuple(cut for cut in problem.cuts if cut.carrier == carrier and cut.company <= set(sets)),
    )
    model = Builder(alone, 1).build()
    if not model.slots:
        return None
    out, opened, cost = (model.objective(i) for i in (0, 1, 4))
    dear = 1 + sum(
        number * max((way.cost for way in problem.carriers[carrier].ways[demand]), default=0)
        for case in alone.sets.values()
        for demand, number in case.needs.items()
    )
    model.model.add(out == 0)
    model.model.minimize(opened * dear + cost)
    found = solve(model.model, budget, _LOAD_WORK, workers=1)
    return model.read(found.value)[0] if found.has_solution else None

"""Plans put together from groups of sets that are known to fit: few loads first, then times for them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.plan.search.alike import classes
from patency.plan.search.greedy import meet
from patency.plan.search.integer import Budget, new_model, solve, weighted
from patency.plan.search.model import Builder
from patency.plan.search.problem import Allowance, Problem, Run
from patency.plan.search.timing import schedule
from patency.plan.search.windows import windows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from patency.plan.search.bounds import Group

_COVER_WORK = 20.0
_LOAD_WORK = 1.0
# Choices of groups that are tried before the larger model takes over.
_TRIALS = 6


def packed(
    problem: Problem, groups: Sequence[Group], loads: int, allowed: Allowance, budget: Budget
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
    cover = _Cover(problem, groups, loads, allowed.late)
    for _ in range(_TRIALS):
        chosen = cover.next(budget)
        if chosen is None:
            return None
        runs = []
        for index, names in chosen.items():
            run = one_load(problem, groups[index][0], names, budget)
            if run is None or sum(run.open.values()) > allowed.open_ports:
                cover.avoid(index, names)
            else:
                runs.append(run)
        timed = schedule(problem, runs, allowed.late, budget) if len(runs) == len(chosen) else None
        if timed is not None and sum(sum(run.open.values()) for run in timed) <= allowed.open_ports:
            return timed
    return None


class _Cover:
    """Choices of groups in which every set stands once."""

    def __init__(self, problem: Problem, groups: Sequence[Group], loads: int, late: int) -> None:
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

    def next(self, budget: Budget) -> dict[int, list[str]] | None:
        """Return a choice that was not returned before: groups with the sets left to them."""
        found = solve(self._model, budget, _COVER_WORK)
        if not found.has_solution:
            return None
        taken = [i for i, z in enumerate(self._chosen) if found.value(z)]
        self._model.add_bool_or(~self._chosen[i] for i in taken)
        return self._dealt(taken)

    def avoid(self, index: int, names: list[str]) -> None:
        """Choose a group no more that does not keep the rules with all its sets."""
        if set(names) == self._groups[index][1]:
            self._model.add(self._chosen[index] == 0)

    def _dealt(self, taken: list[int]) -> dict[int, list[str]]:
        """Leave every set in one group only, the emptiest so far, so that few ports have to be capped."""
        able = {name: [i for i in taken if name in self._groups[i][1]] for name in self._problem.sets}
        size = {name: sum(case.needs.values()) for name, case in self._problem.sets.items()}
        contents: dict[int, list[str]] = {i: [] for i in taken}
        for name in sorted(able, key=lambda name: (len(able[name]), -size[name], name)):
            emptiest = min(able[name], key=lambda i: (sum(size[other] for other in contents[i]), i))
            contents[emptiest].append(name)
        return {i: names for i, names in contents.items() if names}


def fits_alone(problem: Problem, name: str, budget: Budget) -> bool:
    """Tell whether some carrier takes a set as its only one, with whatever ports open.

    Parameters
    ----------
    problem
        The problem.
    name
        The set.
    budget
        What may be spent.

    Returns
    -------
    bool
        False where none does.
    """
    able = [carrier for carrier in problem.carriers if problem.ways_of(name, carrier)]
    if any(_fits_simply(problem, name, carrier) for carrier in able):
        return True
    return any(one_load(problem, carrier, [name], budget) is not None for carrier in able)


def _fits_simply(problem: Problem, name: str, carrier: str) -> bool:
    limit = problem.carriers[carrier].mass_limit_g
    if limit is not None and problem.sets[name].mass_g > limit:
        return False
    modes = problem.modes(carrier, problem.sets[name].programmes)
    kinds = {problem.machines[machine].kind for machine, _, _ in modes}
    return any(meet(problem, carrier, kind, [name], problem.stock) is not None for kind in sorted(kinds))


def one_load(problem: Problem, carrier: str, sets: Iterable[str], budget: Budget) -> Run | None:
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

    Returns
    -------
    Run | None
        The load, its times at the start of the shift; None where its sets do not fit together.
    """
    alone = Problem(
        {name: replace(problem.sets[name], ready_min=0, due_min=None) for name in sets},
        {carrier: problem.carriers[carrier]},
        tuple(replace(machine, docks=machine.docks & {carrier}) for machine in problem.machines),
        problem.stock,
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

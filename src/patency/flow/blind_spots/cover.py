"""The fewest sets that together hold everything that has to be held, with a proof: the one user of the solver here."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence
    from collections.abc import Set as AbstractSet

_MOST_WORK = 60.0  # in the solver's own unit, about a second each, the same on every machine


def smallest_cover(sets: Sequence[AbstractSet[Hashable]]) -> tuple[tuple[int, ...], int]:
    """Choose as few sets as possible that together hold whatever any of them holds.

    Parameters
    ----------
    sets
        The sets.

    Returns
    -------
    tuple[tuple[int, ...], int]
        Places of the chosen sets in order, and the proven least number: the same where the choice is proven minimal.

    Notes
    -----
    The set cover problem, solved by branch and bound over clauses. Where several choices are as small, the earliest
    sets win, so that equal input gives equal output.
    """
    if not any(sets):
        return (), 0
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    taken = [model.new_bool_var(f"{place}") for place in range(len(sets))]
    holders: dict[Hashable, list[int]] = {}
    for place, one in enumerate(sets):
        for element in one:
            holders.setdefault(element, []).append(place)
    for places in {tuple(places) for places in holders.values()}:
        model.add_bool_or([taken[place] for place in places])
    model.minimize(sum(taken))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = _MOST_WORK
    status = solver.solve(model)
    least = math.ceil(solver.best_objective_bound - 1e-6)
    if status == cp_model.OPTIMAL:
        model.add(sum(taken) == least)
        model.minimize(sum(place * one for place, one in enumerate(taken)))
        status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return tuple(place for place, one in enumerate(sets) if one), least
    return tuple(place for place, one in enumerate(taken) if solver.boolean_value(one)), least

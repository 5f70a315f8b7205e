"""Carriers between which nothing distinguishes: searching them once is enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.plan.search.problem import Problem


def alike(problem: Problem) -> list[tuple[str, str]]:
    """Return pairs of carriers between which nothing distinguishes.

    Parameters
    ----------
    problem
        The problem.

    Returns
    -------
    list[tuple[str, str]]
        Neighbours in the order of the problem.
    """

    def sign(name: str) -> tuple[object, ...]:
        barred = frozenset(s for s, case in problem.sets.items() if name in case.barred)
        docks = tuple(name in machine.docks for machine in problem.machines)
        cuts = frozenset(cut for cut in problem.cuts if cut.carrier == name)
        return (problem.carriers[name], barred, docks, cuts)

    names = list(problem.carriers)
    pairs = []
    for position, one in enumerate(names):
        other = next((n for n in names[position + 1 :] if sign(n) == sign(one)), None)
        if other is not None:
            pairs.append((one, other))
    return pairs


def classes(problem: Problem) -> dict[str, list[str]]:
    """Sort carriers into classes that are alike.

    Parameters
    ----------
    problem
        The problem.

    Returns
    -------
    dict[str, list[str]]
        First of each class to all its members.
    """
    following = dict(alike(problem))
    later = set(following.values())
    found = {}
    for carrier in problem.carriers:
        if carrier not in later:
            members = [carrier]
            while members[-1] in following:
                members.append(following[members[-1]])
            found[carrier] = members
    return found

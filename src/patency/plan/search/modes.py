"""In which machines and programmes a carrier can run, and how often."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.plan.search.problem import Problem


def useful_modes(problem: Problem, carrier: str) -> list[tuple[int, str, int]]:
    """Return the ways to run a carrier that can be of use.

    Parameters
    ----------
    problem
        The problem.
    carrier
        The carrier.

    Returns
    -------
    list[tuple[int, str, int]]
        Class of machines, programme and minutes; not those for which another programme of the same class suits all the
        same sets in no more time.
    """
    modes = list(problem.modes(carrier))
    suited: Mapping[str, frozenset[str]] = {
        programme: frozenset(n for n, case in problem.sets.items() if programme in case.programmes)
        for _, programme, _ in modes
    }
    named = {cut.programme for cut in problem.cuts} - {None}
    kept: list[tuple[int, str, int]] = []
    for mode in sorted(modes, key=lambda mode: (mode[2], -len(suited[mode[1]]), mode[:2])):
        machine, programme, _ = mode
        if suited[programme] and not any(
            other[0] == machine and suited[programme] <= suited[other[1]] and other[1] not in named for other in kept
        ):
            kept.append(mode)
    return kept


def most_runs(problem: Problem, carrier: str, most_loads: int) -> int:
    """Return how many runs of a carrier the shift has room for.

    Parameters
    ----------
    problem
        The problem.
    carrier
        The carrier.
    most_loads
        More are not needed at all.

    Returns
    -------
    int
        An upper bound.
    """
    shortest = min((minutes for _, _, minutes in problem.modes(carrier)), default=problem.horizon_min + 1)
    takers = [case.ready_min for name, case in problem.sets.items() if problem.ways_of(name, carrier)]
    if not takers:
        return 0
    back = problem.carriers[carrier].back_min
    room = problem.horizon_min - min(takers) + back
    return max(0, min(room // max(1, shortest + back), len(takers), most_loads))

"""How many loads find room before the shift ends, or before sets are due: what time alone allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from patency.plan.search.problem import Problem


@dataclass(frozen=True, slots=True)
class Window:
    """A limit on loads that all have to run late, or all early.

    Parameters
    ----------
    carriers
        Loads on these carriers count.
    side
        ``late``: loads that cannot start before the minute; ``early``: loads that have to end by it.
    minute
        The minute of the shift.
    most
        So many of them find room.
    """

    carriers: frozenset[str]
    side: Literal["late", "early"]
    minute: int
    most: int

    def binds(self, problem: Problem, name: str, late: int) -> bool:
        """Tell whether a load with this set counts.

        Parameters
        ----------
        problem
            The problem.
        name
            The set.
        late
            Weighted minutes late that may be.

        Returns
        -------
        bool
            True when the set alone keeps its load inside the window.
        """
        if self.side == "late":
            return problem.sets[name].ready_min >= self.minute
        return problem.latest_end(name, late) <= self.minute


def windows(problem: Problem, classes: Iterable[list[str]], late: int) -> list[Window]:
    """List the limits that time sets on the number of loads.

    Parameters
    ----------
    problem
        The problem.
    classes
        Carriers that are alike, class by class.
    late
        Weighted minutes late that may be.

    Returns
    -------
    list[Window]
        For each class of carriers and for all machines together; only those that some set falls into.
    """
    found: list[Window] = []
    for members in classes:
        shortest = min((minutes for _, _, minutes in problem.modes(members[0])), default=0)
        back = problem.carriers[members[0]].back_min
        found += _of(problem, frozenset(members), len(members), shortest + back, back)
    shortest = min((m for c in problem.carriers for _, _, m in problem.modes(c)), default=0)
    machines = sum(len(machine.names) for machine in problem.machines if machine.docks)
    found += _of(problem, frozenset(problem.carriers), machines, shortest, 0)
    return [window for window in found if any(window.binds(problem, name, late) for name in problem.sets)]


def _of(problem: Problem, carriers: frozenset[str], servers: int, period: int, slack: int) -> Iterator[Window]:
    """Windows of some servers, each of which takes a load every ``period`` minutes, the last without its ``slack``."""
    if period <= 0:
        return
    first = min((case.ready_min for case in problem.sets.values()), default=0)
    whole = max(0, (problem.horizon_min - first + slack) // period)
    for rounds in range(whole):
        yield Window(carriers, "late", problem.horizon_min + slack - (rounds + 1) * period + 1, rounds * servers)
        yield Window(carriers, "early", first - slack + (rounds + 1) * period - 1, rounds * servers)

"""How few loads any plan must have: a packing bound that knows nothing of the order of loads.

Every load of a plan is a group of sets that fit together on one carrier at one time. The cheapest fractional cover of
the sets by such groups is a lower bound of the number of loads (column generation after P. C. Gilmore and R. E. Gomory,
Operations Research 9, 1961). Each round a small program looks for the group worth most at the present prices; what it
proves about the best group makes the bound valid at any round (A. A. Farley, Operations Research 38, 1990). Prices are
whole numbers, so that the proof is exact.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.plan.search.alike import classes
from patency.plan.search.linear import Row, minimise
from patency.plan.search.modes import most_runs
from patency.plan.search.pricing import SCALE, Pricing
from patency.plan.search.windows import windows

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Allowance, Problem
    from patency.plan.search.windows import Window

_INF = float("inf")
_DIVE_ROUNDS = 4

Group = tuple[str, frozenset[str]]
"""A carrier and sets that fit on it together; of carriers that are alike the first stands for all."""


@dataclass(frozen=True, slots=True)
class LoadsBound:
    """A proven lower bound of the number of loads.

    Parameters
    ----------
    loads
        No plan has fewer.
    groups
        Groups of sets that were found to fit together.
    """

    loads: int
    groups: tuple[Group, ...] = ()


def fewest_loads(problem: Problem, allowed: Allowance, known: Iterable[Group], goal: int, budget: Budget) -> LoadsBound:
    """Bound the number of loads of every plan that is as good in the more important objectives.

    Parameters
    ----------
    problem
        The problem.
    allowed
        What the plan may have in them.
    known
        Carrier and sets of loads that are known to be possible, to begin with.
    goal
        A number of loads that is reached; more cannot be proven.
    budget
        What may be spent.

    Returns
    -------
    LoadsBound
        The bound, with the groups that were met on the way.
    """
    same = classes(problem)
    first = {member: c for c, members in same.items() for member in members}
    limits = windows(problem, same.values(), allowed.late)
    runs = {c: sum(most_runs(problem, name, goal) for name in members) for c, members in same.items()}
    pricing = {c: Pricing(problem, c, allowed, limits) for c in same}
    cover = _Cover(problem, allowed, limits)
    groups: list[Group] = list(dict.fromkeys((first[carrier], sets) for carrier, sets in known))
    best = 0
    while True:
        _, prices, rents = cover.priced(groups)
        found = {c: program.best(prices, rents, budget) for c, program in pricing.items()}
        worth = {c: value for c, (value, _) in found.items()}
        best = max(best, min(goal, cover.bound(prices, rents, worth, runs)))
        new = _worthwhile(found, groups)
        groups += new
        if best >= goal or not new or budget.spent:
            break
    if best < goal:
        _dive(cover, pricing, groups, budget)
    return LoadsBound(best, tuple(groups))


def _worthwhile(found: Mapping[str, tuple[int, frozenset[str]]], groups: list[Group]) -> list[Group]:
    new = [(carrier, sets) for carrier, (value, sets) in found.items() if value > SCALE]
    return [group for group in new if group not in groups]


def _dive(cover: _Cover, pricing: Mapping[str, Pricing], groups: list[Group], budget: Budget) -> None:
    """Settle one group after the other and look for more that go with them: whole plans are made of such groups."""
    settled = cover
    while settled.names and not budget.spent:
        for _ in range(_DIVE_ROUNDS):
            shares, prices, rents = settled.priced(groups)
            new = _worthwhile({c: program.best(prices, rents, budget) for c, program in pricing.items()}, groups)
            groups += new
            if not new:
                break
        shares, _, _ = settled.priced(groups)
        if not groups:
            break
        at = max(range(len(groups)), key=lambda i: (round(shares[i], 6), len(groups[i][1] & settled.left), -i))
        if not groups[at][1] & settled.left:
            break
        settled = settled.without(groups[at])


class _Cover:
    """The fractional cover of sets by the groups known so far."""

    def __init__(
        self, problem: Problem, allowed: Allowance, limits: Sequence[Window], names: Iterable[str] | None = None
    ) -> None:
        self._problem = problem
        self.names = list(problem.sets if names is None else names)
        self.left = frozenset(self.names)
        self._allowed = allowed
        self._limits = limits

    def without(self, group: Group) -> _Cover:
        """Return the cover of the other sets once a group is settled."""
        limits = [replace(w, most=max(0, w.most - 1)) if self._inside(group, w) else w for w in self._limits]
        rest = [name for name in self.names if name not in group[1]]
        return _Cover(self._problem, self._allowed, limits, rest)

    def priced(self, groups: list[Group]) -> tuple[list[float], dict[str, int], list[int]]:
        """Return the share of each group, the worth of each set and the rent of each window."""
        names, count = self.names, len(groups)
        dear = float(len(self._problem.sets) + 1)
        costs = [1.0] * count + [0.0] * len(names) + [dear] * len(names)
        highest = [_INF] * count + [1.0] * len(names) + [_INF] * len(names)
        rows = []
        for position, name in enumerate(names):
            terms = {column: 1.0 for column, (_, sets) in enumerate(groups) if name in sets}
            rows.append(Row({**terms, count + position: 1.0, count + len(names) + position: 1.0}, 1.0, _INF))
        rows.append(
            Row({count + position: 1.0 for position in range(len(names))}, -_INF, float(self._allowed.left_out))
        )
        for window in self._limits:
            inside = {i: 1.0 for i, group in enumerate(groups) if self._inside(group, window)}
            rows.append(Row(inside, -_INF, float(window.most)))
        shares, duals = minimise(costs, rows, highest)
        prices = dict.fromkeys(self._problem.sets, 0)
        prices |= {name: max(0, round(duals[position] * SCALE)) for position, name in enumerate(names)}
        rents = [max(0, round(-dual * SCALE)) for dual in duals[len(names) + 1 :]]
        return shares[:count], prices, rents

    def _inside(self, group: Group, window: Window) -> bool:
        carrier, sets = group
        return carrier in window.carriers and any(window.binds(self._problem, n, self._allowed.late) for n in sets)

    def bound(
        self, prices: Mapping[str, int], rents: Sequence[int], worth: Mapping[str, int], runs: Mapping[str, int]
    ) -> int:
        """Make the prices valid by scaling and by letting carriers cost more, and take the better bound."""
        total = sum(sorted(prices.values())[: len(prices) - self._allowed.left_out])
        total -= sum(rent * window.most for rent, window in zip(rents, self._limits, strict=True))
        scaled = -(-total // max(SCALE, *worth.values()))
        raised = -(-(total - sum(max(0, worth[c] - SCALE) * runs[c] for c in runs)) // SCALE)
        return max(0, scaled, raised)

"""The search of the first level: one objective after the other, each with the proven bound it stopped at."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.plan.search.bounds import fewest_loads
from patency.plan.search.greedy import quick_plan
from patency.plan.search.hints import give_hint
from patency.plan.search.integer import solve
from patency.plan.search.model import Builder
from patency.plan.search.packing import packed
from patency.plan.search.problem import OBJECTIVES, Allowance, values_of
from patency.plan.search.timing import schedule

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from patency.plan.search.bounds import Group
    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Problem, Run
    from patency.plan.search.slots import Model

_OUT, _OPEN, _LATE, _LOADS, _COST = range(len(OBJECTIVES))

_HASTE_WORK = 1.0


@dataclass(frozen=True, slots=True)
class Searched:
    """The best solution found, with what is proven about it.

    Parameters
    ----------
    runs
        Its loads.
    values
        The objectives, see ``OBJECTIVES``.
    bounds
        Proven lower bound of each, given that the more important ones have their values.
    groups
        Groups of sets that were found to fit together.
    """

    runs: tuple[Run, ...]
    values: tuple[int, ...]
    bounds: tuple[int, ...]
    groups: tuple[Group, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.values == self.bounds


def search(
    problem: Problem,
    budget: Budget,
    on_progress: Callable[[Searched], None] | None = None,
    known: Iterable[Group] = (),
) -> Searched:
    """Find the best loads, one objective after the other.

    Parameters
    ----------
    problem
        The problem.
    budget
        What may be spent, beside a start by first fit.
    on_progress
        Is told every better solution.
    known
        Groups of sets found to fit together by an earlier search of nearly the same problem.

    Returns
    -------
    Searched
        The best found. Where the budget ran out, values and bounds differ.
    """
    return _Search(problem, budget, on_progress or (lambda _: None), tuple(known)).run()


def cheapest(problem: Problem) -> int:
    """Bound the connection cost: every demand met in its cheapest way.

    Parameters
    ----------
    problem
        The problem.

    Returns
    -------
    int
        No plan of all sets costs less.
    """
    total = 0
    for name, case in problem.sets.items():
        costs = []
        for carrier in problem.carriers:
            if problem.ways_of(name, carrier):
                ways = problem.carriers[carrier].ways
                costs.append(sum(n * min(way.cost for way in ways[d]) for d, n in case.needs.items()))
        total += min(costs, default=0)
    return total


class _Search:
    """One search: quick plans first, the full model only for what they leave unproven."""

    def __init__(
        self, problem: Problem, budget: Budget, tell: Callable[[Searched], None], known: tuple[Group, ...]
    ) -> None:
        self._problem = problem
        self._budget = budget
        self._tell = tell
        runs = quick_plan(problem)
        values = values_of(problem, runs)
        bounds = tuple(min(bound, value) for bound, value in zip(self._least(values[_OUT]), values, strict=True))
        self._best = Searched(runs, values, bounds, known)
        self._model: Model | None = None
        self._kept = 0

    def run(self) -> Searched:
        self._tell(self._best)
        self._pack()
        for index in range(len(OBJECTIVES)):
            if index == _LOADS:
                self._bound_loads()
            if self._best.bounds[index] < self._best.values[index] and not self._budget.spent:
                self._improve(index)
        timed = schedule(self._problem, self._best.runs, self._best.values[_LATE], self._budget)
        if timed is not None:
            self._take(timed)
        self._hasten()
        return self._best

    def _hasten(self) -> None:
        """Among equal plans look for one in which sets are out earlier; a wish, of which nothing is claimed."""
        if self._budget.spent or not self._best.runs:
            return
        model = self._narrowed(len(OBJECTIVES))
        model.model.minimize(model.minutes_until_out())
        give_hint(model, self._best.runs)
        found = solve(model.model, self._budget, _HASTE_WORK, workers=1)
        if found.has_solution:
            self._take(model.read(found.value))

    def _pack(self) -> None:
        """Try for a plan of all sets, no port open, none late, with the fewest loads such a plan can have."""
        if self._best.values[:_LOADS] == (0, 0, 0) and self._best.values[_LOADS] <= 1:
            return
        perfect = self._best.values[:_LOADS] == (0, 0, 0)
        goal = self._best.values[_LOADS] if perfect else len(self._problem.sets)
        bound = fewest_loads(self._problem, Allowance(), self._known(0), goal, self._budget)
        self._best = replace(self._best, groups=bound.groups)
        for loads in range(bound.loads, goal if perfect else min(goal, self._best.values[_LOADS] + 1)):
            if self._budget.spent:
                break
            runs = packed(self._problem, bound.groups, loads, Allowance(), self._budget)
            if runs is not None and self._take(runs):
                break

    def _known(self, open_ports: int) -> list[Group]:
        """Return groups that fit together with no more ports open than that."""
        closed = [run for run in self._best.runs if sum(run.open.values()) <= open_ports]
        return [*((run.carrier, frozenset(run.sets)) for run in closed), *self._best.groups]

    def _bound_loads(self) -> None:
        left_out, opened, late, loads, _ = self._best.values
        if loads <= self._best.bounds[_LOADS]:
            return
        allowed = Allowance(left_out, opened, late)
        bound = fewest_loads(self._problem, allowed, self._known(opened), loads, self._budget)
        self._best = replace(self._best, groups=bound.groups)
        self._raise_bound(_LOADS, bound.loads)

    def _narrowed(self, index: int) -> Model:
        """Return the model in which the objectives before one keep the values they have."""
        if self._model is None:
            settled = self._best.values[:_LOADS] == self._best.bounds[:_LOADS]
            most = self._best.values[_LOADS] if settled else len(self._problem.sets)
            self._model = Builder(self._problem, most).build()
        for earlier in range(self._kept, index):
            self._model.model.add(self._model.objective(earlier) <= self._best.values[earlier])
        self._kept = max(self._kept, index)
        return self._model

    def _improve(self, index: int) -> None:
        model = self._narrowed(index)
        give_hint(model, self._best.runs)
        model.model.minimize(model.objective(index))
        model.model.add(model.objective(index) >= self._best.bounds[index])

        def told(value: float, bound: float) -> None:
            values = (*self._best.values[:index], round(value), *self._best.values[index + 1 :])
            self._tell(replace(self._best, values=values, bounds=self._with(index, bound, values)))

        found = solve(model.model, self._budget, on_value=told)
        if found.has_solution:
            self._take(model.read(found.value))
        if found.state != "impossible":
            self._raise_bound(index, found.bound)
        self._tell(self._best)

    def _take(self, runs: tuple[Run, ...]) -> bool:
        """Take a solution if it is no worse; what was proven stays proven."""
        values = values_of(self._problem, runs)
        if values > self._best.values:
            return False
        self._best = replace(self._best, runs=runs, values=values, bounds=self._still_proven(values))
        self._tell(self._best)
        return True

    def _still_proven(self, values: tuple[int, ...]) -> tuple[int, ...]:
        """A bound holds while the more important objectives have the values it was proven for."""
        least = self._least(values[_OUT])
        bounds = []
        same = True
        for index, value in enumerate(values):
            bound = self._best.bounds[index] if same else least[index]
            bounds.append(min(bound, value))
            same = same and value == self._best.values[index]
        return tuple(bounds)

    def _least(self, left_out: int) -> tuple[int, ...]:
        """Return what is known without any search."""
        some = int(left_out < len(self._problem.sets))
        return 0, 0, 0, some, 0 if left_out else cheapest(self._problem)

    def _raise_bound(self, index: int, bound: float) -> None:
        self._best = replace(self._best, bounds=self._with(index, bound, self._best.values))

    def _with(self, index: int, bound: float, values: tuple[int, ...]) -> tuple[int, ...]:
        bounds = list(self._best.bounds)
        bounds[index] = max(bounds[index], min(round(bound), values[index]))
        return tuple(bounds)

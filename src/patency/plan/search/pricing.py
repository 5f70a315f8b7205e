"""The load of one carrier on its own: which group of sets that fits together is worth most at given prices."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patency.plan.search.integer import new_model, solve, weighted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Allowance, Problem
    from patency.plan.search.windows import Window

_MOST_WORK = 2.0


SCALE = 10_000
"""Prices are counted in ten thousandths of a load."""


class Pricing:
    """A program whose prices change from round to round.

    Parameters
    ----------
    problem
        The problem.
    carrier
        The carrier.
    allowed
        Open ports and minutes late that may be.
    limits
        Windows of time in which loads compete; those inside one pay its rent.
    """

    def __init__(self, problem: Problem, carrier: str, allowed: Allowance, limits: Sequence[Window]) -> None:
        self._problem = problem
        self._carrier = carrier
        self._model = new_model()
        self._takes = {name: self._model.new_bool_var(name) for name in problem.sets if problem.ways_of(name, carrier)}
        self._arrange(allowed.open_ports)
        self._together(allowed.late)
        self._inside = [self._in_window(window, allowed.late) for window in limits]

    def best(self, prices: Mapping[str, int], rents: Sequence[int], budget: Budget) -> tuple[int, frozenset[str]]:
        """Find the most valuable load.

        Parameters
        ----------
        prices
            Worth of each set.
        rents
            Price of each window, in the order of the limits.
        budget
            What may be spent.

        Returns
        -------
        tuple[int, frozenset[str]]
            No load is worth more than this, rents taken off, and the sets of a most valuable one found.
        """
        if not self._takes:
            return 0, frozenset()
        worth = [(x, prices[name]) for name, x in self._takes.items()]
        rent = [(i, -price) for i, price in zip(self._inside, rents, strict=True) if i is not None and price]
        self._model.maximize(weighted([*worth, *rent]))
        found = solve(self._model, budget, _MOST_WORK, workers=1)
        if found.state == "impossible":
            return 0, frozenset()
        if not found.has_solution:
            return sum(prices[name] for name in self._takes), frozenset()
        return round(found.bound), frozenset(name for name, x in self._takes.items() if found.value(x))

    def _in_window(self, window: Window, late: int) -> Any:  # noqa: ANN401
        """Return whether the load falls into a window; None where it never does."""
        inside = [x for name, x in self._takes.items() if window.binds(self._problem, name, late)]
        if self._carrier not in window.carriers or not inside:
            return None
        literal = self._model.new_bool_var(f"{window.side} {window.minute}")
        for x in inside:
            self._model.add_implication(x, literal)
        return literal

    def _arrange(self, open_ports: int) -> None:
        problem, model = self._problem, self._model
        case = problem.carriers[self._carrier]
        on_place: dict[str, list[tuple[Any, int]]] = {place: [] for place in case.places}
        uses: dict[str, list[tuple[Any, int]]] = {}
        for demand in dict.fromkeys(d for name in self._takes for d in problem.sets[name].needs):
            needed = [
                (x, problem.sets[n].needs[demand]) for n, x in self._takes.items() if demand in problem.sets[n].needs
            ]
            most = sum(number for _, number in needed)
            met = []
            for way in case.ways[demand]:
                y = model.new_int_var(0, most if way.place is None else min(most, case.places[way.place].size), demand)
                met.append((y, 1))
                if way.place is not None:
                    on_place[way.place].append((y, 1))
                for accessory, number in way.uses:
                    uses.setdefault(accessory, []).append((y, number))
            model.add(weighted(met) == weighted(needed))
        for place, taken in on_place.items():
            places = case.places[place]
            rest = []
            if places.caps is not None:
                rest = [(model.new_int_var(0, min(open_ports, places.size), "open"), 1)]
                for cap in places.caps:
                    rest.append((model.new_int_var(0, places.size, cap), 1))
                    uses.setdefault(cap, []).append(rest[-1])
                model.add(weighted([*taken, *rest]) == places.size)
            elif taken:
                model.add(weighted(taken) <= places.size)
        for accessory, terms in uses.items():
            model.add(weighted(terms) <= problem.stock[accessory])
        if case.mass_limit_g is not None and self._takes:
            model.add(weighted((x, problem.sets[n].mass_g) for n, x in self._takes.items()) <= case.mass_limit_g)

    def _together(self, late: int) -> None:
        """No load holds sets without a common time or programme, nor a company known not to work."""
        problem, model = self._problem, self._model
        modes = list(problem.modes(self._carrier))
        chosen = {mode: model.new_bool_var(f"{mode}") for mode in modes}
        model.add_exactly_one(chosen.values())
        start = model.new_int_var(0, problem.horizon_min, "start")
        for name, x in self._takes.items():
            case = problem.sets[name]
            model.add_bool_or([*(c for mode, c in chosen.items() if mode[1] in case.programmes), ~x])
            model.add(start >= case.ready_min * x)
            end = start + weighted((c, mode[2]) for mode, c in chosen.items())
            model.add(end <= problem.latest_end(name, late)).only_enforce_if(x)
        for cut in problem.cuts:
            whole = cut.carrier == self._carrier and cut.demand is None and cut.programme is None
            if whole and cut.company <= self._takes.keys():
                model.add_bool_or([~self._takes[name] for name in sorted(cut.company)])

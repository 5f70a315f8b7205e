"""When the loads run: carriers, machines and accessories are shared, each load as it is arranged."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from patency.plan.search.alike import classes
from patency.plan.search.integer import new_model, solve, weighted
from patency.plan.search.modes import useful_modes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Problem, Run

_MOST_WORK = 4.0


def schedule(problem: Problem, runs: Sequence[Run], most_late: int, budget: Budget) -> tuple[Run, ...] | None:
    """Find times, machines and programmes for loads whose contents are settled.

    Parameters
    ----------
    problem
        The problem.
    runs
        The loads; their carriers stand for any that are alike, their times say nothing yet.
    most_late
        Weighted minutes late that may be.
    budget
        What may be spent.

    Returns
    -------
    tuple[Run, ...] | None
        The loads by start, every set out as early as the search found, or None where no times were found.
    """
    if not runs:
        return ()
    return _Timing(problem, runs, most_late).solved(budget)


class _Timing:
    """The model of one such question."""

    def __init__(self, problem: Problem, runs: Sequence[Run], most_late: int) -> None:
        self._problem = problem
        self._runs = runs
        self._model = new_model()
        self._starts = [self._model.new_int_var(0, problem.horizon_min, f"start {i}") for i in range(len(runs))]
        self._modes = [self._modes_of(run, i) for i, run in enumerate(runs)]
        self._late: list[tuple[Any, int]] = []
        for i in range(len(runs)):
            self._times(i)
        self._model.add(weighted(self._late) <= most_late)
        self._carriers()
        self._machines()
        self._accessories()

    def solved(self, budget: Budget) -> tuple[Run, ...] | None:
        # Lateness first, then the time by which sets are out.
        haste = [sum(self._problem.haste(name) for name in run.sets) for run in self._runs]
        dear = 1 + self._problem.horizon_min * sum(haste)
        ends = [(self._end(i), weight) for i, weight in enumerate(haste)]
        late = weighted((term, weight * dear) for term, weight in self._late)
        self._model.minimize(late + sum(end * number for end, number in ends))
        found = solve(self._model, budget, _MOST_WORK)
        if not found.has_solution:
            return None
        timed = []
        for i, run in enumerate(self._runs):
            machine, programme, minutes = next(m for m, literal in self._modes[i].items() if found.value(literal))
            start = found.value(self._starts[i])
            timed.append(replace(run, machine=machine, programme=programme, start_min=start, end_min=start + minutes))
        return self._named(timed)

    def _modes_of(self, run: Run, index: int) -> dict[tuple[int, str, int], Any]:
        kinds = [way.kinds for _, way in run.ways if way.kinds is not None]
        modes = {}
        for mode in useful_modes(self._problem, run.carrier):
            kind = self._problem.machines[mode[0]].kind
            suits = all(mode[1] in self._problem.sets[name].programmes for name in run.sets)
            if suits and all(kind in allowed for allowed in kinds) and self._allowed(run, mode[1]):
                modes[mode] = self._model.new_bool_var(f"{index} {mode}")
        self._model.add_exactly_one(modes.values())
        return modes

    def _allowed(self, run: Run, programme: str) -> bool:
        for cut in self._problem.cuts:
            if cut.carrier == run.carrier and cut.programme in {None, programme} and cut.company <= set(run.sets):
                there = sum(n for (d, way), n in run.ways.items() if d == cut.demand and way.place == cut.place)
                if cut.demand is None or there > cut.at_most:
                    return False
        return True

    def _end(self, index: int) -> Any:  # noqa: ANN401
        return self._starts[index] + weighted((literal, mode[2]) for mode, literal in self._modes[index].items())

    def _times(self, index: int) -> None:
        weights = self._problem.weights()
        end = self._end(index)
        self._model.add(end <= self._problem.horizon_min)
        for name in self._runs[index].sets:
            case = self._problem.sets[name]
            self._model.add(self._starts[index] >= case.ready_min)
            if case.due_min is not None:
                late = self._model.new_int_var(0, self._problem.horizon_min, f"late {name}")
                self._model.add(late >= end - case.due_min)
                self._late.append((late, weights[name]))

    def _intervals(self, index: int, extra: int) -> list[Any]:
        return [
            self._model.new_optional_fixed_size_interval_var(self._starts[index], mode[2] + extra, literal, "run")
            for mode, literal in self._modes[index].items()
        ]

    def _carriers(self) -> None:
        for members in classes(self._problem).values():
            here = [i for i, run in enumerate(self._runs) if run.carrier in members]
            back = self._problem.carriers[members[0]].back_min
            intervals = [interval for i in here for interval in self._intervals(i, back)]
            if len(members) == 1:
                self._model.add_no_overlap(intervals)
            else:
                self._model.add_cumulative(intervals, [1] * len(intervals), len(members))

    def _machines(self) -> None:
        for index, machine in enumerate(self._problem.machines):
            intervals = [
                self._model.new_optional_fixed_size_interval_var(self._starts[i], mode[2], literal, "washes")
                for i, modes in enumerate(self._modes)
                for mode, literal in modes.items()
                if mode[0] == index
            ]
            self._model.add_cumulative(intervals, [1] * len(intervals), len(machine.names))

    def _accessories(self) -> None:
        used = [run.used for run in self._runs]
        for accessory, stock in self._problem.stock.items():
            takers = [i for i, uses in enumerate(used) if uses.get(accessory)]
            if sum(used[i][accessory] for i in takers) <= stock:
                continue
            intervals, taken = [], []
            for i in takers:
                for interval in self._intervals(i, self._problem.carriers[self._runs[i].carrier].back_min):
                    intervals.append(interval)
                    taken.append(used[i][accessory])
            self._model.add_cumulative(intervals, taken, stock)

    def _named(self, runs: list[Run]) -> tuple[Run, ...]:
        """Give each load a carrier of its class: the one that has been free longest."""
        free = dict.fromkeys(self._problem.carriers, 0)
        members_of = {m: members for members in classes(self._problem).values() for m in members}
        named = []
        for run in sorted(runs, key=lambda run: (run.start_min, run.carrier, run.sets)):
            able = [member for member in members_of[run.carrier] if free[member] <= run.start_min]
            carrier = min(able, key=lambda member: (free[member], member))
            free[carrier] = run.end_min + self._problem.carriers[carrier].back_min
            named.append(replace(run, carrier=carrier))
        return tuple(sorted(named, key=lambda run: (run.start_min, run.carrier)))

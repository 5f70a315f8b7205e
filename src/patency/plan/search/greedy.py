"""A quick plan by first fit: a start for the exact search, and what its result is compared with."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.plan.search.problem import Run, values_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from patency.plan.search.problem import Problem, Way


def first_fit(problem: Problem) -> tuple[Run, ...]:
    """Plan by first fit in the order in which sets become ready.

    Parameters
    ----------
    problem
        The problem.

    Returns
    -------
    tuple[Run, ...]
        Loads that keep every rule; ports may stay open and sets may be missing.
    """
    return _fit_in_order(problem, sorted(problem.sets, key=lambda n: (problem.sets[n].ready_min, n)))


def quick_plan(problem: Problem) -> tuple[Run, ...]:
    """Plan by first fit in several orders and take the best.

    Parameters
    ----------
    problem
        The problem.

    Returns
    -------
    tuple[Run, ...]
        Loads that keep every rule; ports may stay open and sets may be missing.
    """
    sets, horizon = problem.sets, problem.horizon_min

    def due(name: str) -> int:
        minute = sets[name].due_min
        return horizon if minute is None else minute

    def bulk(name: str) -> int:
        return -sum(sets[name].needs.values())

    keys: list[Callable[[str], tuple[int, int]]] = [
        lambda name: (sets[name].ready_min, 0),
        lambda name: (due(name), sets[name].ready_min),
        lambda name: (bulk(name), sets[name].ready_min),
        lambda name: (sets[name].ready_min // 60, bulk(name)),
    ]
    orders = [sorted(sorted(sets), key=key) for key in keys]
    plans = [_fit_in_order(problem, order) for order in orders]
    return min(plans, key=lambda runs: values_of(problem, runs))


def _fit_in_order(problem: Problem, order: Iterable[str]) -> tuple[Run, ...]:
    runs: list[Run] = []
    for name in order:
        options = [option for at in range(len(runs)) for option in _joined(problem, runs, at, name)]
        in_time = next((option for option in options if not _later(problem, runs, option)), None)
        if in_time is None:
            options = [*_opened(problem, runs, name), *options]
            options.sort(key=lambda option: _later(problem, runs, option))
            in_time = next(iter(options), None)
        if in_time is not None:
            runs = in_time
    for at, run in enumerate(runs):
        runs[at] = close_places(problem, run, runs)
    return tuple(sorted(runs, key=lambda run: (run.start_min, run.carrier)))


def _later(problem: Problem, before: list[Run], after: list[Run]) -> int:
    return values_of(problem, after)[2] - values_of(problem, before)[2]


def _joined(problem: Problem, runs: list[Run], at: int, name: str) -> Iterator[list[Run]]:
    """Put a set into a load that is there, if it fits."""
    run = runs[at]
    case = problem.sets[name]
    if run.programme not in case.programmes or not problem.ways_of(name, run.carrier):
        return
    start = max(run.start_min, case.ready_min)
    moved = replace(run, start_min=start, end_min=start + run.end_min - run.start_min, sets=(*run.sets, name))
    if finished := _possible(problem, runs, moved, without=run):
        yield [*runs[:at], finished, *runs[at + 1 :]]


def _opened(problem: Problem, runs: list[Run], name: str) -> Iterator[list[Run]]:
    """Open a load for a set on each carrier, as early as possible."""
    case = problem.sets[name]
    for carrier in problem.carriers:
        if not problem.ways_of(name, carrier):
            continue
        modes = sorted(problem.modes(carrier, case.programmes), key=lambda mode: mode[2])
        starts = sorted({case.ready_min, *_releases(problem, runs, case.ready_min)})
        for machine, programme, minutes in modes:
            for start in starts:
                fresh = Run(carrier, machine, programme, start, start + minutes, (name,), {})
                if finished := _possible(problem, runs, fresh, without=None):
                    yield [*runs, finished]
                    break


def _releases(problem: Problem, runs: list[Run], after: int) -> Iterator[int]:
    """Times at which something comes back: a machine, a carrier with its accessories."""
    for run in runs:
        for time in (run.end_min, run.end_min + problem.carriers[run.carrier].back_min):
            if time > after:
                yield time


def _possible(problem: Problem, runs: list[Run], run: Run, without: Run | None) -> Run | None:
    """Return the load with its demands met, or None where it breaks a rule."""
    others = [other for other in runs if other is not without]
    if run.end_min > problem.horizon_min or _clashes(problem, others, run):
        return None
    limit = problem.carriers[run.carrier].mass_limit_g
    if limit is not None and sum(problem.sets[n].mass_g for n in run.sets) > limit:
        return None
    stock = left_over(problem, others, run)
    ways = meet(problem, run.carrier, problem.machines[run.machine].kind, run.sets, stock)
    if ways is None:
        return None
    done = replace(run, ways=ways)
    return None if breaks_cut(problem, done) else done


def _clashes(problem: Problem, others: list[Run], run: Run) -> bool:
    back = problem.carriers[run.carrier].back_min
    busy = 0
    for other in others:
        apart = run.start_min >= other.end_min + back or other.start_min >= run.end_min + back
        if other.carrier == run.carrier and not apart:
            return True
        if other.machine == run.machine and run.start_min < other.end_min and other.start_min < run.end_min:
            busy += 1
    return busy >= len(problem.machines[run.machine].names)


def left_over(problem: Problem, others: Iterable[Run], run: Run) -> dict[str, int]:
    """Return what stock is left for a load beside all that overlap with it.

    Parameters
    ----------
    problem
        The problem.
    others
        The other loads.
    run
        The load.

    Returns
    -------
    dict[str, int]
        Accessory to number: what is there at the busiest moment of the load, from its start until it is unloaded.
    """
    begin, end = run.start_min, away_until(problem, run)
    near = [other for other in others if begin < away_until(problem, other) and other.start_min < end]
    left = dict(problem.stock)
    for moment in {begin, *(other.start_min for other in near if other.start_min > begin)}:
        free = dict(problem.stock)
        for other in near:
            if other.start_min <= moment < away_until(problem, other):
                for accessory, number in other.used.items():
                    free[accessory] -= number
        left = {accessory: min(number, free[accessory]) for accessory, number in left.items()}
    return left


def away_until(problem: Problem, run: Run) -> int:
    """Return when a load's carrier is unloaded and its accessories are back.

    Parameters
    ----------
    problem
        The problem.
    run
        The load.

    Returns
    -------
    int
        The minute of the shift.
    """
    return run.end_min + problem.carriers[run.carrier].back_min


def breaks_cut(problem: Problem, run: Run) -> bool:
    """Tell whether a load is known not to work.

    Parameters
    ----------
    problem
        The problem with its cuts.
    run
        The load.

    Returns
    -------
    bool
        True when some cut forbids it.
    """
    for cut in problem.cuts:
        if cut.carrier != run.carrier or cut.programme not in {None, run.programme}:
            continue
        if cut.company <= set(run.sets):
            if cut.demand is None:
                return True
            there = sum(n for (d, way), n in run.ways.items() if d == cut.demand and way.place == cut.place)
            if there > cut.at_most:
                return True
    return False


@dataclass(slots=True)
class _Room:
    places: dict[str, int]
    stock: dict[str, int]

    def take(self, way: Way, number: int) -> int:
        """Take a way as often as there is room, up to a number, and return how often."""
        if way.place is not None:
            number = min(number, self.places[way.place])
        for accessory, each in way.uses:
            number = min(number, self.stock[accessory] // each)
        number = max(0, number)
        if way.place is not None:
            self.places[way.place] -= number
        for accessory, each in way.uses:
            self.stock[accessory] -= each * number
        return number


def meet(
    problem: Problem, carrier: str, kind: str, sets: Iterable[str], stock: Mapping[str, int]
) -> dict[tuple[str, Way], int] | None:
    """Meet the demands of some sets on a carrier, cheap ways and special places first.

    Parameters
    ----------
    problem
        The problem.
    carrier
        The carrier.
    kind
        Kind of machine.
    sets
        The sets.
    stock
        Accessories at hand.

    Returns
    -------
    dict[tuple[str, Way], int] | None
        Demand and way with their number; None where this simple order finds no room, which proves nothing.
    """
    case = problem.carriers[carrier]
    needs: dict[str, int] = {}
    for name in sets:
        for demand, number in problem.sets[name].needs.items():
            needs[demand] = needs.get(demand, 0) + number
    room = _Room({key: places.size for key, places in case.places.items()}, dict(stock))
    # A place that many demands could go to is taken last.
    wanted = Counter(place for ways in case.ways.values() for place in {way.place for way in ways})
    taken: dict[tuple[str, Way], int] = {}
    for demand in sorted(needs, key=lambda d: (len({way.place for way in case.ways[d]}), d)):
        missing = needs[demand]
        for way in sorted(case.ways[demand], key=lambda way: (way.cost, wanted[way.place])):
            if way.kinds is None or kind in way.kinds:
                got = room.take(way, missing)
                missing -= got
                if got:
                    taken[demand, way] = got
        if missing:
            return None
    return taken


def close_places(problem: Problem, run: Run, runs: Iterable[Run]) -> Run:
    """Close the unused places of a load with what caps are left.

    Parameters
    ----------
    problem
        The problem.
    run
        The load.
    runs
        All loads.

    Returns
    -------
    Run
        The load with caps, and open places where there are none left.
    """
    stock = left_over(problem, [other for other in runs if other is not run], run)
    for accessory, number in run.used.items():
        stock[accessory] -= number
    closed: dict[tuple[str, str], int] = {}
    opened: dict[str, int] = {}
    for key, places in problem.carriers[run.carrier].places.items():
        if places.caps is None:
            continue
        rest = places.size - sum(n for (_, way), n in run.ways.items() if way.place == key)
        for cap in places.caps:
            number = max(0, min(rest, stock[cap]))
            if number:
                closed[key, cap] = number
                stock[cap] -= number
                rest -= number
        if rest:
            opened[key] = rest
    return replace(run, closed=closed, open=opened)

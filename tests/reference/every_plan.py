"""The slow obvious planner: every split of the sets, every carrier, mode, way and order, each load as early as can be.

It reads the same whole-number problem as the search and shares nothing with it but the values of that problem. For the
objectives that only get worse when a load ends later it is enough to try every order and start each load as early as
the loads before it allow.
"""

from __future__ import annotations

from itertools import combinations_with_replacement, permutations, product
from typing import TYPE_CHECKING

from tests.reference.fewest_loads import splits

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from patency.plan.search.problem import Problem, Run, Way

Arranged = tuple[tuple[tuple[str, int], ...], int, int, frozenset[str] | None]
"""Accessories taken, ports open, cost, kinds of machine."""
Placed = tuple[int, int, str, int, tuple[tuple[str, int], ...], int]
"""Start, end, carrier, machine class, accessories taken, minutes until unloaded."""


def arrangements(problem: Problem, carrier: str, names: tuple[str, ...]) -> list[Arranged]:
    """List what a load of these sets can take on a carrier; only what is not worse than another in everything."""
    case = problem.carriers[carrier]
    demands: dict[str, int] = {}
    for name in names:
        for demand, number in problem.sets[name].needs.items():
            demands[demand] = demands.get(demand, 0) + number
    if any(not case.ways.get(demand) for demand in demands) or any(carrier in problem.sets[n].barred for n in names):
        return []
    if case.mass_limit_g is not None and sum(problem.sets[n].mass_g for n in names) > case.mass_limit_g:
        return []
    found: list[Arranged] = []
    choices = [combinations_with_replacement(case.ways[demand], number) for demand, number in demands.items()]
    for chosen in product(*choices):
        found += capped(problem, carrier, [way for ways in chosen for way in ways])
    return [one for one in found if not any(better(other, one) for other in found)]


def better(one: Arranged, other: Arranged) -> bool:
    if one == other:
        return False
    taken, has = dict(one[0]), dict(other[0])
    fewer = all(number <= has.get(name, 0) for name, number in taken.items())
    return fewer and one[1] <= other[1] and one[2] <= other[2] and (one[3] is None or one[3] == other[3])


def capped(problem: Problem, carrier: str, ways: list[Way]) -> Iterator[Arranged]:
    """Close the unused places in every way."""
    places = problem.carriers[carrier].places
    taken = {key: sum(way.place == key for way in ways) for key in places}
    if any(number > places[key].size for key, number in taken.items()):
        return
    kinds: frozenset[str] | None = None
    for way in ways:
        if way.kinds is not None:
            kinds = way.kinds if kinds is None else kinds & way.kinds
    free = [
        combinations_with_replacement((*places[key].caps, None), places[key].size - number)  # type: ignore[misc]
        for key, number in taken.items()
        if places[key].caps is not None
    ]
    for closed in product(*free):
        used: dict[str, int] = {}
        for accessory, number in [pair for way in ways for pair in way.uses]:
            used[accessory] = used.get(accessory, 0) + number
        caps = [cap for group in closed for cap in group]
        for cap in caps:
            if cap is not None:
                used[cap] = used.get(cap, 0) + 1
        if all(number <= problem.stock[accessory] for accessory, number in used.items()):
            yield tuple(sorted(used.items())), caps.count(None), sum(way.cost for way in ways), kinds


def best_values(problem: Problem) -> tuple[int, ...]:
    """Return sets left out, ports open, weighted minutes late, loads and cost of the best plan there is."""
    names = list(problem.sets)
    best: tuple[int, ...] | None = None
    for out in range(len(names) + 1):
        for kept in kept_sets(names, out):
            for groups in splits(kept):
                for values in plans(problem, groups, best):
                    best = min(best or values, values)
        if best is not None:
            return best
    raise AssertionError("leaving everything out is always possible")


def kept_sets(names: list[str], out: int) -> list[list[str]]:
    subsets = {
        tuple(n for n, keep in zip(names, mask, strict=True) if keep) for mask in product((0, 1), repeat=len(names))
    }
    return [list(subset) for subset in sorted(subsets) if len(subset) == len(names) - out]


def plans(problem: Problem, groups: list[list[str]], best: tuple[int, ...] | None) -> Iterator[tuple[int, ...]]:
    """Yield the values of every plan with these groups as loads that could be the best."""
    left_out = len(problem.sets) - sum(len(group) for group in groups)
    options = []
    for group in groups:
        names = tuple(group)
        options.append(
            [
                (carrier, arranged, mode)
                for carrier in problem.carriers
                for arranged in arrangements(problem, carrier, names)
                for mode in modes(problem, carrier, names, arranged)
            ]
        )
    for chosen in product(*options):
        opened = sum(arranged[1] for _, arranged, _ in chosen)
        cost = sum(arranged[2] for _, arranged, _ in chosen)
        if best is not None and (left_out, opened, 0, len(groups), cost) >= best:
            continue
        lateness_of_each = [late(problem, groups, chosen, order) for order in permutations(range(len(groups)))]
        possible = [minutes for minutes in lateness_of_each if minutes is not None]
        if possible:
            yield left_out, opened, min(possible), len(groups), cost


def modes(problem: Problem, carrier: str, names: tuple[str, ...], arranged: Arranged) -> list[tuple[int, int]]:
    """List machine class and minutes of what suits all sets."""
    found = []
    for index, machine in enumerate(problem.machines):
        for programme, minutes in machine.minutes.items():
            suits = all(programme in problem.sets[name].programmes for name in names)
            kind = arranged[3] is None or machine.kind in arranged[3]
            if suits and kind and carrier in machine.docks:
                found.append((index, minutes))
    return found


def late(
    problem: Problem,
    groups: list[list[str]],
    chosen: tuple[tuple[str, Arranged, tuple[int, int]], ...],
    order: tuple[int, ...],
) -> int | None:
    """Return the weighted minutes late when loads take their earliest places in this order; None if one finds none."""
    placed: list[Placed] = []
    dues = sorted({c.due_min for c in problem.sets.values() if c.due_min is not None}, reverse=True)
    total = 0
    for index in order:
        carrier, arranged, (machine, minutes) = chosen[index]
        ready = max(problem.sets[name].ready_min for name in groups[index])
        back = problem.carriers[carrier].back_min
        starts = range(ready, problem.horizon_min - minutes + 1)
        start = next(
            (s for s in starts if free(problem, placed, (s, s + minutes, carrier, machine, arranged[0], back))), None
        )
        if start is None:
            return None
        placed.append((start, start + minutes, carrier, machine, arranged[0], back))
        for name in groups[index]:
            due = problem.sets[name].due_min
            if due is not None:
                total += max(0, start + minutes - due) * (1 + dues.index(due))
    return total


def free(problem: Problem, placed: list[Placed], new: Placed) -> bool:
    """Tell whether a load breaks no rule beside those placed before it."""
    everything = [*placed, new]
    start, end, carrier, machine, _, back = new
    for other in placed:
        if other[2] == carrier and start < other[1] + other[5] and other[0] < end + back:
            return False
    for moment in range(start, end + back):
        washing = [one for one in everything if one[3] == machine and one[0] <= moment < one[1]]
        if moment < end and len(washing) > len(problem.machines[machine].names):
            return False
        away = [one for one in everything if one[0] <= moment < one[1] + one[5]]
        for accessory, stock in problem.stock.items():
            if sum(dict(one[4]).get(accessory, 0) for one in away) > stock:
                return False
    return True


def faults(problem: Problem, runs: Iterable[Run]) -> list[str]:
    """Name every rule a solution breaks."""
    found: list[str] = []
    runs = list(runs)
    planned = [name for run in runs for name in run.sets]
    found += [f"{name} twice" for name in set(planned) if planned.count(name) > 1]
    for run in runs:
        found += [f"{run.sets}: {fault}" for fault in faults_inside(problem, run)]
    placed: list[Placed] = []
    for run in sorted(runs, key=lambda run: run.start_min):
        back = problem.carriers[run.carrier].back_min
        new = (run.start_min, run.end_min, run.carrier, run.machine, tuple(taken(run).items()), back)
        if not free(problem, placed, new):
            found.append(f"{run.sets}: in the way of another load")
        placed.append(new)
    return found


def taken(run: Run) -> dict[str, int]:
    used: dict[str, int] = {}
    for (_, way), times in run.ways.items():
        for accessory, number in way.uses:
            used[accessory] = used.get(accessory, 0) + number * times
    for (_, cap), times in run.closed.items():
        used[cap] = used.get(cap, 0) + times
    return used


def faults_inside(problem: Problem, run: Run) -> Iterator[str]:
    """Name the rules a load breaks by itself."""
    case, machine = problem.carriers[run.carrier], problem.machines[run.machine]
    sets = [problem.sets[name] for name in run.sets]
    if not sets:
        yield "empty"
    if run.carrier not in machine.docks or machine.minutes.get(run.programme) != run.end_min - run.start_min:
        yield "docks or lasts otherwise"
    if run.start_min < max((one.ready_min for one in sets), default=0) or run.end_min > problem.horizon_min:
        yield "runs at a wrong time"
    if any(run.programme not in one.programmes or run.carrier in one.barred for one in sets):
        yield "does not suit"
    if case.mass_limit_g is not None and sum(one.mass_g for one in sets) > case.mass_limit_g:
        yield "too heavy"
    for demand in {demand for one in sets for demand in one.needs} | {demand for demand, _ in run.ways}:
        met = sum(times for (key, _), times in run.ways.items() if key == demand)
        if met != sum(one.needs.get(demand, 0) for one in sets):
            yield f"{demand} not met"
    for demand, way in run.ways:
        if way not in case.ways[demand] or (way.kinds is not None and machine.kind not in way.kinds):
            yield f"{demand} met in no such way"
    for key, places in case.places.items():
        here = sum(times for (_, way), times in run.ways.items() if way.place == key)
        closed = sum(times for (place, _), times in run.closed.items() if place == key)
        full = here + closed + run.open.get(key, 0)
        if full > places.size or (places.caps is not None and full != places.size):
            yield f"{key} counted wrongly"
    for key, cap in run.closed:
        if cap not in (case.places[key].caps or ()):
            yield f"{cap} does not close {key}"

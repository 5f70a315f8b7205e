"""Every load of a search written out in full: ports, caps, places; what cannot be arranged becomes a cut."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.plan.arranging import arrange
from patency.plan.arranging_table import Table
from patency.plan.arranging_whole import MOST_WORK, arrange_whole
from patency.plan.placing import load_of, machines_of
from patency.plan.search.greedy import left_over
from patency.plan.search.problem import Cut, Way

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.load import Load
    from patency.plan.joints import Arranged
    from patency.plan.posing import Posed
    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Run


@dataclass(frozen=True, slots=True)
class Filled:
    """All loads in full.

    Parameters
    ----------
    runs
        The loads of the search, with what their arrangement really takes.
    loads
        The same, for people.
    """

    runs: tuple[Run, ...]
    loads: tuple[Load, ...]


def fill(posed: Posed, runs: tuple[Run, ...], budget: Budget, most_work: float = MOST_WORK) -> Filled | Cut:
    """Arrange every load.

    Parameters
    ----------
    posed
        The posed problem.
    runs
        The loads by start.
    budget
        What may be spent.
    most_work
        Most that one load may take of it.

    Returns
    -------
    Filled | Cut
        The loads, or what cannot be arranged.
    """
    done = list(runs)
    arranged: list[Arranged] = []
    for position, run in enumerate(runs):
        table = _beside(posed, run, done, {})
        found = arrange(table) or (arrange_whole(table, budget, most_work) if most_work > 0 else None)
        if found is None:
            return Cut(run.carrier, frozenset(run.sets))
        arranged.append(found)
        done[position] = as_run(posed, run, found)
    machines = machines_of(posed, done)
    loads = [
        load_of(posed, run, found, f"L{position + 1}", machine)
        for position, (run, found, machine) in enumerate(zip(done, arranged, machines, strict=True))
    ]
    return Filled(tuple(done), tuple(loads))


def arrange_one(
    posed: Posed, run: Run, runs: list[Run], thirst: Mapping[tuple[str, str], float], budget: Budget
) -> Arranged | None:
    """Arrange one load beside all others.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load.
    runs
        All loads.
    thirst
        How much its pieces gain from being near to the feed, by set and piece.
    budget
        What may be spent.

    Returns
    -------
    Arranged | None
        None where there is no arrangement.
    """
    table = _beside(posed, run, runs, thirst)
    return arrange(table) or arrange_whole(table, budget)


def _beside(posed: Posed, run: Run, runs: list[Run], thirst: Mapping[tuple[str, str], float]) -> Table:
    others = [other for other in runs if other is not run]
    return Table(posed, run, left_over(posed.problem, others, run), thirst)


def as_run(posed: Posed, run: Run, arranged: Arranged) -> Run:
    """Return a load of the search with the ways and caps its arrangement takes.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load as planned on the first level.
    arranged
        Its arrangement.

    Returns
    -------
    Run
        Ways and caps on ports as arranged, all else as planned.
    """
    group = posed.table.group_of(run.carrier)
    lumens = set(posed.demands.of_lumen.values())
    ways = Counter({key: number for key, number in run.ways.items() if key[0] not in lumens})
    everywhere = posed.table.kinds(run.carrier)
    for joint, fed in arranged.joints.items():
        kinds = None if fed.option.kinds == everywhere else fed.option.kinds
        uses = tuple(sorted(Counter(fed.option.chain).items()))
        ways[posed.demands.of_lumen[joint.kind], Way(group[fed.port], uses, fed.option.cost, kinds)] += 1
    closed = Counter((group[port], cap) for port, cap in arranged.caps.items())
    opened = Counter(group[port] for port in arranged.open)
    return replace(run, ways=dict(ways), closed=dict(closed), open=dict(opened))

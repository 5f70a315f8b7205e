"""The planning problem as whole numbers: sets, what they demand, the carriers' places, accessories, machines, time.

Nothing here knows instruments or connectors: ``posing`` translates a department into this, ``model`` and the slow
reference in the tests read it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping


@dataclass(frozen=True, slots=True)
class Way:
    """One way to meet one demand on a carrier.

    Parameters
    ----------
    place
        Group of equal places of which it takes one; None where it takes none.
    uses
        Accessories it takes, with their number.
    cost
        What it costs when ways are compared; the less the better.
    kinds
        Kinds of machine in which it is possible; None for all.
    """

    place: str | None
    uses: tuple[tuple[str, int], ...] = ()
    cost: int = 0
    kinds: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Places:
    """A group of equal places on a carrier.

    Parameters
    ----------
    size
        How many there are.
    caps
        Accessories that close one that stays unused; None where it need not be closed.
    words
        What they are called.
    """

    size: int
    caps: tuple[str, ...] | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class CarrierCase:
    """A carrier.

    Parameters
    ----------
    places
        Its groups of equal places, by key.
    ways
        For every demand that can be met on it, the ways.
    back_min
        Minutes from the end of a cycle until it can be loaded again.
    mass_limit_g
        Heaviest load [g]; None where nothing is stated.
    """

    places: Mapping[str, Places]
    ways: Mapping[str, tuple[Way, ...]]
    back_min: int
    mass_limit_g: int | None = None


@dataclass(frozen=True, slots=True)
class MachineCase:
    """Machines that are alike.

    Parameters
    ----------
    names
        The machines.
    kind
        Key of their kind.
    docks
        Carriers that dock in them.
    minutes
        Programmes with their whole time [min].
    """

    names: tuple[str, ...]
    kind: str
    docks: frozenset[str]
    minutes: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class SetCase:
    """A set that waits.

    Parameters
    ----------
    ready_min
        Minutes from the start of the shift from which it can be loaded.
    needs
        Demands with their number.
    programmes
        Programmes that suit it.
    due_min
        When its cycle has to be over [min]; None when nothing presses.
    mass_g
        Its mass [g].
    barred
        Carriers that cannot take it for reasons of their own.
    """

    ready_min: int
    needs: Mapping[str, int]
    programmes: frozenset[str]
    due_min: int | None = None
    mass_g: int = 0
    barred: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Cut:
    """What was found out after solving: in some company, a demand cannot be met at some places.

    Parameters
    ----------
    carrier
        On this carrier.
    company
        When all these sets are in the load.
    demand
        The demand; None when the company itself cannot be arranged.
    place
        The group of places.
    at_most
        So many places of the group can still meet it.
    programme
        With this programme; None for all.
    """

    carrier: str
    company: frozenset[str]
    demand: str | None = None
    place: str | None = None
    at_most: int = 0
    programme: str | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """All of it.

    Parameters
    ----------
    sets
        The sets to plan, by name.
    carriers
        The carriers, by name.
    machines
        Classes of equal machines.
    stock
        How many of each accessory there are.
    horizon_min
        Length of the shift [min].
    cuts
        What was learned from arranging and from the flow.
    """

    sets: Mapping[str, SetCase]
    carriers: Mapping[str, CarrierCase]
    machines: tuple[MachineCase, ...]
    stock: Mapping[str, int]
    horizon_min: int
    cuts: tuple[Cut, ...] = ()

    def ways_of(self, name: str, carrier: str) -> bool:
        """Tell whether every demand of a set has some way on a carrier."""
        case = self.sets[name]
        known = self.carriers[carrier].ways
        return carrier not in case.barred and all(known.get(demand) for demand in case.needs)

    def modes(self, carrier: str, programmes: frozenset[str] | None = None) -> Iterator[tuple[int, str, int]]:
        """Walk through machine class, programme and minutes with which a carrier can run."""
        for index, machine in enumerate(self.machines):
            if carrier in machine.docks:
                for programme, minutes in machine.minutes.items():
                    if programmes is None or programme in programmes:
                        yield index, programme, minutes

    def latest_end(self, name: str, weighted_late: int = 0) -> int:
        """Return by when a set's load has to end if all sets together are no more than so much late."""
        case = self.sets[name]
        if case.due_min is None:
            return self.horizon_min
        return min(self.horizon_min, case.due_min + weighted_late // self.weights()[name])

    def weights(self) -> dict[str, int]:
        """Weigh a minute's lateness of each set: the sooner it is needed, the heavier."""
        dues = sorted({case.due_min for case in self.sets.values() if case.due_min is not None}, reverse=True)
        return {n: 1 + dues.index(case.due_min) for n, case in self.sets.items() if case.due_min is not None}

    def haste(self, name: str) -> int:
        """Weigh a minute until a set is out: nearly the same for each, most for the one that waits longest."""
        return 10 * self.horizon_min + max(0, self.horizon_min - self.sets[name].ready_min)


@dataclass(frozen=True, slots=True)
class Run:
    """One load of a solution.

    Parameters
    ----------
    carrier
        The carrier.
    machine
        Index of the class of machines.
    programme
        The programme.
    start_min
        When it starts [min].
    end_min
        When it ends [min].
    sets
        The sets in it.
    ways
        Demand and way, with how many times it is taken.
    closed
        Group of places and cap, with their number.
    open
        Group of places, with the number that stays open for want of a cap.
    """

    carrier: str
    machine: int
    programme: str
    start_min: int
    end_min: int
    sets: tuple[str, ...]
    ways: Mapping[tuple[str, Way], int]
    closed: Mapping[tuple[str, str], int] = field(default_factory=dict)
    open: Mapping[str, int] = field(default_factory=dict)

    @property
    def used(self) -> dict[str, int]:
        """Accessories it takes, with their number."""
        total: dict[str, int] = {}
        taken = [(a, n * times) for (_, way), times in self.ways.items() for a, n in way.uses]
        for accessory, number in [*taken, *((cap, n) for (_, cap), n in self.closed.items())]:
            total[accessory] = total.get(accessory, 0) + number
        return total

    @property
    def cost(self) -> int:
        """What its connections cost."""
        return sum(way.cost * times for (_, way), times in self.ways.items())


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a plan may have in the objectives that come before the number of loads.

    Parameters
    ----------
    left_out
        Sets left out.
    open_ports
        Ports that stay open.
    late
        Weighted minutes late.
    """

    left_out: int = 0
    open_ports: int = 0
    late: int = 0


OBJECTIVES = ("sets left out", "open ports", "minutes late", "loads", "connection cost")
"""What is minimised, in order of importance."""


def values_of(problem: Problem, runs: Iterable[Run]) -> tuple[int, ...]:
    """Return the objectives of a solution.

    Parameters
    ----------
    problem
        The problem.
    runs
        The loads.

    Returns
    -------
    tuple[int, ...]
        One value for each of ``OBJECTIVES``; minutes late are weighted, see ``Problem.weights``.
    """
    runs = list(runs)
    weights = problem.weights()
    late = 0
    for run in runs:
        for name in run.sets:
            due = problem.sets[name].due_min
            late += weights[name] * max(0, run.end_min - due) if due is not None else 0
    planned = sum(len(run.sets) for run in runs)
    opened = sum(sum(run.open.values()) for run in runs)
    return len(problem.sets) - planned, opened, late, len(runs), sum(run.cost for run in runs)


def minutes_up(seconds: float) -> int:
    """Round seconds up to whole minutes; a rounding error of floats is not a minute.

    Parameters
    ----------
    seconds
        Seconds [s].

    Returns
    -------
    int
        Minutes [min].
    """
    return math.ceil(seconds / 60 - 1e-9)

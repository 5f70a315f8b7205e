"""The second level as one model of a whole load, where standing pieces and reaching hoses get in each other's way."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from patency.plan.arranging import DEAR, in_order
from patency.plan.arranging_table import Table
from patency.plan.joints import Arranged, Fed
from patency.plan.posing import caps_for
from patency.plan.search.integer import new_model, solve, weighted

if TYPE_CHECKING:
    from patency.plan.joints import Joint
    from patency.plan.posing import Posed
    from patency.plan.search.integer import Budget
    from patency.plan.search.problem import Run

MOST_WORK = 4.0
"""Work one load is worth, in the units of ``Budget``."""


def arrange_whole(table: Table, budget: Budget, most_work: float = MOST_WORK) -> Arranged | None:
    """Match the lumens of a load with ports under all rules at once.

    Parameters
    ----------
    table
        What is allowed and what it costs.
    budget
        What may be spent.
    most_work
        Most that this load may take of it.

    Returns
    -------
    Arranged | None
        The cheapest arrangement; None where there is none (or none was found before the budget ended).
    """
    return _Whole(table).solved(budget, most_work)


def cannot_be_arranged(posed: Posed, run: Run, budget: Budget) -> bool:
    """Tell whether a load is proven to have no arrangement, with the whole stock and any port left open.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load.
    budget
        What may be spent.

    Returns
    -------
    bool
        False also where the budget ended before it was clear.
    """
    ports = len(posed.department.carriers[run.carrier].ports)
    table = Table(posed, replace(run, open={"all": ports}), posed.problem.stock, {})
    return solve(_Whole(table).model, budget, MOST_WORK).state == "impossible"


class _Whole:
    """The model: each lumen at one port in one way, each port once, hoses that reach, accessories at hand."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self.model = new_model()
        self._at: dict[tuple[Joint, str, int], Any] = {}
        for joint in table.joints:
            literals = []
            for port, ways in table.allowed[joint].items():
                for index in range(len(ways)):
                    literal = self.model.new_bool_var(f"{joint.key} {joint.lumen} {port} {index}")
                    self._at[joint, port, index] = literal
                    literals.append(literal)
            self.model.add_exactly_one(literals)
        self._reaching()
        self._caps: dict[tuple[str, str], Any] = {}
        self._open: dict[str, Any] = {}
        self._ports()
        self._stock()
        for few, ports, most in table.limited():
            there = [(literal, 1) for (joint, port, _), literal in self._at.items() if joint in few and port in ports]
            self.model.add(weighted(there) <= most)

    def solved(self, budget: Budget, most_work: float) -> Arranged | None:
        table = self._table
        costs = []
        for (joint, port, index), literal in self._at.items():
            cost = DEAR * table.allowed[joint][port][index].cost + round(table.walk.cost(joint, port))
            costs.append((literal, cost))
        opened = [(literal, DEAR * DEAR) for literal in self._open.values()]
        self.model.minimize(weighted([*costs, *opened]))
        found = solve(self.model, budget, most_work)
        if not found.has_solution:
            return None
        joints = {
            joint: Fed(port, table.allowed[joint][port][index])
            for (joint, port, index), literal in self._at.items()
            if found.value(literal)
        }
        caps = {port: cap for (port, cap), literal in self._caps.items() if found.value(literal)}
        return Arranged(
            in_order(table, joints), caps, tuple(port for port, literal in self._open.items() if found.value(literal))
        )

    def _reaching(self) -> None:
        """A hose comes from a port from which it reaches the piece where it stands."""
        table = self._table
        standing = {(joint.set, joint.key): joint for joint in table.joints if joint.stands}
        for joint in table.joints:
            if joint.stands:
                continue
            stand = standing[joint.set, joint.key]
            for (other, port, index), literal in self._at.items():
                if other != stand:
                    continue
                fed = Fed(port, table.allowed[stand][port][index])
                near = [
                    self._at[joint, source, way]
                    for source, ways in table.allowed[joint].items()
                    for way, option in enumerate(ways)
                    if source != port and table.reaches(joint, fed, source, option)
                ]
                self.model.add_bool_or([*near, ~literal])

    def _ports(self) -> None:
        table = self._table
        for port, described in table.carrier.ports.items():
            here = [literal for (_, at, _), literal in self._at.items() if at == port]
            for cap in caps_for(table.posed.department, described):
                self._caps[port, cap] = self.model.new_bool_var(f"{cap} on {port}")
                here.append(self._caps[port, cap])
            self._open[port] = self.model.new_bool_var(f"{port} open")
            self.model.add_exactly_one([*here, self._open[port]])
        most = sum(table.run.open.values())
        self.model.add(weighted((literal, 1) for literal in self._open.values()) <= most)

    def _stock(self) -> None:
        uses: dict[str, list[tuple[Any, int]]] = {}
        for (joint, port, index), literal in self._at.items():
            for link in self._table.allowed[joint][port][index].chain:
                uses.setdefault(link, []).append((literal, 1))
        for (_, cap), literal in self._caps.items():
            uses.setdefault(cap, []).append((literal, 1))
        for accessory, terms in uses.items():
            self.model.add(weighted(terms) <= max(0, self._table.stock[accessory]))

"""A department's day as a planning problem in whole numbers, and the way back to ports and chains."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Cap
from patency.load import LeftOut, pieces_of_set
from patency.plan.demands import Demands
from patency.plan.fits import Fitter
from patency.plan.links.chains import start_of
from patency.plan.port_groups import PortTable
from patency.plan.programme_choice import programmes_for
from patency.plan.search.problem import CarrierCase, MachineCase, Places, Problem, SetCase, minutes_up
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Day, Department, Port, Waiting
    from patency.load import PieceToPlace


@dataclass(frozen=True, slots=True)
class Posed:
    """A problem with the way back to the department.

    Parameters
    ----------
    department
        The department.
    day
        The working day.
    problem
        The problem.
    table
        Which lumen can be fed from which port.
    demands
        Which demand stands for which lumen, piece or set.
    pieces
        The pieces of each set that is planned.
    left_out
        Sets that cannot be planned whatever else happens, with the reason.
    """

    department: Department
    day: Day
    problem: Problem
    table: PortTable
    demands: Demands
    pieces: Mapping[str, list[PieceToPlace]]
    left_out: tuple[LeftOut, ...]


def pose(department: Department, day: Day) -> Posed:
    """Write a day of a department as a planning problem.

    Parameters
    ----------
    department
        The department, with the limits that hold on the day.
    day
        The day.

    Returns
    -------
    Posed
        The problem with the way back.
    """
    left_out: list[LeftOut] = []
    waiting: dict[str, Waiting] = {}
    programmes: dict[str, frozenset[str]] = {}
    for item in day.waiting:
        why = "it stands twice among the sets that wait" if item.set in waiting else _held_back(department, item)
        choice = programmes_for(department, [item.set], day.date)
        why = why or choice.why_none
        if why:
            left_out.append(LeftOut(set=item.set, why=why))
        else:
            waiting[item.set] = item
            programmes[item.set] = frozenset(choice.allowed)
    pieces = {name: pieces_of_set(department, name) for name in waiting}
    fitter = Fitter(department)
    table = PortTable(department, fitter, [piece for those in pieces.values() for piece in those])
    demands = Demands(department, table, pieces)
    carriers = {name: _carrier(department, table, demands, name) for name in table.carriers}
    machines = machine_classes(department)
    horizon = math.floor((day.shift_ends - day.shift_starts).total_seconds() / 60 + 1e-9)
    cases = {name: _set_case(department, day, item, demands, programmes[name]) for name, item in waiting.items()}
    whole = Problem(cases, carriers, machines, _stock(department), horizon)
    for name in list(cases):
        why = demands.why_none(name) or _too_late(whole, name)
        if why:
            left_out.append(LeftOut(set=name, why=why))
            del cases[name]
    problem = Problem(cases, carriers, machines, _stock(department), horizon)
    return Posed(department, day, problem, table, demands, pieces, tuple(left_out))


def _held_back(department: Department, item: Waiting) -> str:
    set_type = department.sets[item.set]
    if set_type.hold is not None:
        return f"on hold: {set_type.hold}"
    if set_type.soiled_side_s is None:
        return "its minutes on the soiled side are not stated, so that it is not known when it is ready"
    return ""


def _too_late(problem: Problem, name: str) -> str:
    """Say whether no cycle that suits a set ends within the shift, or none is offered."""
    case = problem.sets[name]
    able = [carrier for carrier in problem.carriers if problem.ways_of(name, carrier)]
    minutes = [m for carrier in able for _, _, m in problem.modes(carrier, case.programmes)]
    if not minutes:
        offered = ", ".join(sorted(case.programmes))
        return f"no machine that docks {' or '.join(able)} offers a programme that suits it ({offered})"
    if case.ready_min + min(minutes) > problem.horizon_min:
        late = case.ready_min + min(minutes) - problem.horizon_min
        return f"its shortest cycle of {min(minutes)} min would end {late} min after the shift"
    return ""


def _set_case(department: Department, day: Day, item: Waiting, demands: Demands, programmes: frozenset[str]) -> SetCase:
    soiled_s = department.sets[item.set].soiled_side_s or 0.0
    ready_s = (item.back_at - day.shift_starts).total_seconds() + soiled_s
    due_min = None
    if item.washed_by is not None:
        due_min = math.floor((item.washed_by - day.shift_starts).total_seconds() / 60 + 1e-9)
    mass_kg = math.fsum(piece.piece_type.mass_kg or 0.0 for piece in pieces_of_set(department, item.set))
    return SetCase(
        max(0, minutes_up(ready_s)),
        demands.needs(item.set),
        programmes,
        due_min,
        math.ceil(mass_kg * 1000 - 1e-6),
        demands.barred(item.set) | demands.too_heavy_perhaps(item.set),
    )


def _carrier(department: Department, table: PortTable, demands: Demands, name: str) -> CarrierCase:
    carrier = department.carriers[name]
    places = {
        group: Places(
            len(ports), caps_for(department, carrier.ports[ports[0]]), f"{carrier.ports[ports[0]].kind} ports"
        )
        for group, ports in table.groups[name].items()
    }
    limit = carrier.mass_limit_kg
    return CarrierCase(
        places | demands.places[name],
        demands.ways[name],
        minutes_up(carrier.back_after_unload_s),
        None if limit is None else math.floor(limit * 1000 + 1e-6),
    )


def caps_for(department: Department, port: Port) -> tuple[str, ...]:
    """Name the caps that close a port.

    Parameters
    ----------
    department
        The department.
    port
        The port.

    Returns
    -------
    tuple[str, ...]
        Keys of the accessories, willingly used ones first.
    """
    end = start_of(port)
    found = [
        (cap.rank, name)
        for name, cap in department.accessories.items()
        if isinstance(cap, Cap) and end.mates_with(cap.near) is Answer.YES
    ]
    return tuple(name for _, name in sorted(found))


def machine_classes(department: Department) -> tuple[MachineCase, ...]:
    """Sort the machines into classes that are alike for planning.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    tuple[MachineCase, ...]
        Classes of machines in which some carrier docks.
    """
    alike: dict[tuple[str, frozenset[str], tuple[tuple[str, int], ...]], list[str]] = {}
    for name, machine in department.machines.items():
        minutes = tuple(sorted((key, minutes_up(time)) for key, time in machine.programmes.items()))
        if machine.docks:
            alike.setdefault((machine.kind, frozenset(machine.docks), minutes), []).append(name)
    return tuple(
        MachineCase(tuple(names), kind, docks, dict(minutes)) for (kind, docks, minutes), names in alike.items()
    )


def _stock(department: Department) -> dict[str, int]:
    return dict(Counter({name: accessory.stock for name, accessory in department.accessories.items()}))

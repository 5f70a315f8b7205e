"""Rules on names: what a plan speaks of has to exist."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.catalogue import Cap, ChainLink, OpticHolder, Placing
from patency.plan.checking.finding import Observation

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator

    from patency.load import Load, PlacedPiece
    from patency.plan.checking.case import Case


def site_and_day(case: Case) -> Iterator[Observation]:
    """Find a plan that was made for another site or day.

    Parameters
    ----------
    case
        The plan beside the catalogue; so for all rules.

    Yields
    ------
    Observation
        Where the rule is broken; so for all rules.
    """
    if case.plan.site != case.department.site:
        yield Observation(f"the plan is for {case.plan.site}, the catalogue is that of {case.department.site}")
    if case.plan.day != case.day.date:
        yield Observation(f"the plan is for {case.plan.day}, the day is {case.day.date}")


def load_names(case: Case) -> Iterator[Observation]:
    """Find two loads of one name."""
    for name, count in Counter(load.id for load in case.plan.loads).items():
        if count > 1:
            yield Observation(f"{count} loads are called {name}", load=name)


def known_names(case: Case) -> Iterator[Observation]:
    """Find names the catalogue does not know."""
    department = case.department
    for load in case.plan.loads:
        yield from _unknown(load, "carrier", [load.carrier], department.carriers)
        yield from _unknown(load, "kind of machine", [load.machine_kind], department.machine_kinds)
        yield from _unknown(load, "machine", [load.machine], department.machines)
        yield from _unknown(load, "programme", [load.programme], department.programmes)
        yield from _unknown(load, "set", load.sets, department.sets)
        carrier = case.carrier(load)
        if carrier is not None:
            ports = [capped.port for capped in load.capped_ports]
            yield from _unknown(load, "port", [*ports, *load.open_ports], carrier.ports)
        caps = {name for name, accessory in department.accessories.items() if isinstance(accessory, Cap)}
        yield from _unknown(load, "cap", [capped.cap for capped in load.capped_ports], caps)
        for placed in load.pieces:
            yield from _of_piece(case, load, placed)
    yield from _left_out(case)


def _left_out(case: Case) -> Iterator[Observation]:
    for left in case.plan.left_out:
        if left.set not in case.department.sets:
            yield Observation(f"the department has no set {left.set}", set=left.set)


def _unknown(load: Load, what: str, names: Iterable[str], known: Container[str]) -> Iterator[Observation]:
    for name in names:
        if name not in known:
            port = name if what == "port" else None
            yield Observation(f"the department has no {what} {name}", load=load.id, port=port)


def _of_piece(case: Case, load: Load, placed: PlacedPiece) -> Iterator[Observation]:
    faults = []
    if not _position_exists(case, load, placed):
        faults.append(f"there is no {placed.placing} {placed.position}")
    piece = case.contents.get(placed.set, {}).get(placed.piece)
    carrier = case.carrier(load)
    if carrier is not None and placed.stands_in is not None and placed.stands_in not in carrier.basket_areas:
        faults.append(f"carrier {load.carrier} has no basket area {placed.stands_in}")
    links = {name for name, accessory in case.department.accessories.items() if isinstance(accessory, ChainLink)}
    for connection in placed.lumens:
        if piece is not None and connection.lumen not in piece.lumens:
            faults.append(f"it has no lumen {connection.lumen}")
        if carrier is not None and connection.port not in carrier.ports:
            faults.append(f"carrier {load.carrier} has no port {connection.port}")
        faults += [f"the department has no link {name}" for name in connection.chain if name not in links]
    for fault in faults:
        yield Observation(fault, load.id, placed.set, placed.piece)


def _position_exists(case: Case, load: Load, placed: PlacedPiece) -> bool:
    carrier = case.carrier(load)
    if placed.placing is Placing.POD:
        return True  # a pod is named after its set, which has a rule of its own
    if placed.placing is Placing.OPTIC_HOLDER:
        return isinstance(case.department.accessories.get(placed.position), OpticHolder)
    if carrier is None:
        return True  # found above
    known: dict[Placing, Container[str]] = {
        Placing.PORT: carrier.ports,
        Placing.BASKET: carrier.basket_areas,
        Placing.COIL_RACK: carrier.coil_places,
    }
    return placed.position in known[placed.placing]

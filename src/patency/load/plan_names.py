"""Names in a plan that the department does not have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Cap, ChainLink, OpticHolder, Placing, path_text, unnamed
from patency.errors import InputError
from patency.load.pieces import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.catalogue import Carrier, Department, Finding, Lumen, Path
    from patency.load.arrangement import Load, PlacedPiece, Plan


def unknown_names(plan: Plan, department: Department, file: str = "plan") -> list[InputError]:
    """List the names in a plan that mean nothing in a department.

    Parameters
    ----------
    plan
        The plan.
    department
        The department.
    file
        What the plan is called in messages.

    Returns
    -------
    list[InputError]
        One for each such name, placed by its path in the plan; empty when the plan can be worked with.
    """
    found = [finding for place, load in enumerate(plan.loads) for finding in _load(("loads", place), load, department)]
    for place, left in enumerate(plan.left_out):
        found += unnamed(("left_out", place, "set"), left.set, department.sets, "a set")
    return [InputError(f"{file}: {path_text(path)}", what, expected) for path, what, expected in found]


def _load(path: Path, load: Load, department: Department) -> Iterator[Finding]:
    yield from unnamed((*path, "carrier"), load.carrier, department.carriers, "a carrier")
    yield from unnamed((*path, "machine_kind"), load.machine_kind, department.machine_kinds, "a kind of machine")
    yield from unnamed((*path, "machine"), load.machine, department.machines, "a machine")
    yield from unnamed((*path, "programme"), load.programme, department.programmes, "a programme")
    for place, name in enumerate(load.sets):
        yield from unnamed((*path, "sets", place), name, department.sets, "a set")
    lumens = {
        (name, piece.key): piece.lumens
        for name in {placed.set for placed in load.pieces} & set(department.sets)
        for piece in pieces_of_set(department, name)
    }
    carrier = department.carriers.get(load.carrier)
    for place, placed in enumerate(load.pieces):
        yield from _piece((*path, "pieces", place), placed, department, carrier, lumens)
    caps = [key for key, accessory in department.accessories.items() if isinstance(accessory, Cap)]
    for place, capped in enumerate(load.capped_ports):
        yield from _port((*path, "capped_ports", place, "port"), capped.port, carrier)
        yield from unnamed((*path, "capped_ports", place, "cap"), capped.cap, caps, "a cap")
    for place, port in enumerate(load.open_ports):
        yield from _port((*path, "open_ports", place), port, carrier)


def _piece(
    path: Path,
    placed: PlacedPiece,
    department: Department,
    carrier: Carrier | None,
    lumens: Mapping[tuple[str, str], Mapping[str, Lumen]],
) -> Iterator[Finding]:
    if placed.set not in department.sets:
        yield from unnamed((*path, "set"), placed.set, department.sets, "a set")
        return
    yield from _position((*path, "position"), placed, department, carrier)
    known = lumens.get((placed.set, placed.piece))
    if known is None:
        pieces = [piece for name, piece in lumens if name == placed.set]
        yield from unnamed((*path, "piece"), placed.piece, pieces, f"a piece of {placed.set}")
        return
    links = [key for key, accessory in department.accessories.items() if isinstance(accessory, ChainLink)]
    for place, connection in enumerate(placed.lumens):
        here = (*path, "lumens", place)
        yield from unnamed((*here, "lumen"), connection.lumen, known, f"a lumen of {placed.piece}")
        yield from _port((*here, "port"), connection.port, carrier)
        for step, link in enumerate(connection.chain):
            yield from unnamed((*here, "chain", step), link, links, "an accessory that water runs through")


def _port(path: Path, port: str, carrier: Carrier | None) -> Iterator[Finding]:
    if carrier is not None:
        yield from unnamed(path, port, carrier.ports, f"a port of {carrier.name}")


def _position(path: Path, placed: PlacedPiece, department: Department, carrier: Carrier | None) -> Iterator[Finding]:
    if placed.placing is Placing.POD:
        yield from unnamed(path, placed.position, department.sets, "the set whose pod it is")
    elif placed.placing is Placing.OPTIC_HOLDER:
        holders = [key for key, each in department.accessories.items() if isinstance(each, OpticHolder)]
        yield from unnamed(path, placed.position, holders, "an optic holder")
    elif placed.placing is Placing.PORT:
        yield from _port(path, placed.position, carrier)
    elif carrier is not None:
        areas = carrier.basket_areas if placed.placing is Placing.BASKET else carrier.coil_places
        yield from unnamed(path, placed.position, areas, f"a place on {carrier.name}")

"""What is not stated of shapes and jets, and leaves open what the jets strike."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from patency.catalogue.accessories import Adapter, FlushingSleeve, Net, Pod, Strainer
from patency.catalogue.gaps import Gap, OpenQuestion
from patency.catalogue.instruments import Form, PieceType, Placing
from patency.catalogue.parts import parts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.carriers import Carrier
    from patency.catalogue.department import Department
    from patency.catalogue.instruments import Body
    from patency.catalogue.machines import MachineKind
    from patency.catalogue.nodes import Path

_REACHED: tuple[OpenQuestion, ...] = ("reached",)


def jets_described(department: Department) -> bool:
    """Tell whether a department has begun to describe its jets.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    bool
        Whether any arm states its nozzles, or the site a least share that jets have to strike. Else *reached* is
        unknown of every piece, whatever its shape.
    """
    arms = (arm for kind in department.machine_kinds.values() for arm in kind.arms.values())
    return department.limits.load.struck_share is not None or any(arm.nozzles is not None for arm in arms)


def shape_gaps(department: Department) -> Iterator[Gap]:
    """Find what is not stated of shapes, wire and jets.

    Parameters
    ----------
    department
        The department.

    Yields
    ------
    Gap
        One for each datum without which what the jets strike of some piece is unknown.
    """
    for path, piece in parts(department.instruments, PieceType, ("instruments",)):
        yield from _of_piece(path, piece)
    yield from _of_accessories(department)
    for key, carrier in department.carriers.items():
        yield from _of_carrier(("carriers", key), carrier)
    for key, kind in department.machine_kinds.items():
        yield from _of_kind(("machine_kinds", key), kind)
    if department.limits.load.struck_share is None:
        yield Gap(("limits", "load", "struck_share"), "the least share that jets strike is not stated", _REACHED)
    if department.limits.load.push_share is None:
        what = "with which share of its weight jets may push what lies free is not stated"
        yield Gap(("limits", "load", "push_share"), what, ("held",))


def _of_piece(path: Path, piece: PieceType) -> Iterator[Gap]:
    if piece.mesh is None and piece.placing is not Placing.COIL_RACK:
        bodies = (_of_body((*path, "outline", place), body, piece) for place, body in enumerate(piece.outline))
        yield from chain.from_iterable(bodies)
    for place, cup in enumerate(piece.cups or ()):
        if piece.mesh is None and cup.opens == "side":
            what = f"where its {cup.name} lies cannot be stated; a mesh file can show it"
            yield Gap((*path, "cups", place), what, _REACHED)


def _of_body(path: Path, body: Body, piece: PieceType) -> Iterator[Gap]:
    word = body.name or body.form.value
    thick = {Form.BLOCK: "thickness", Form.RING_HANDLE: "thickness of the bar", Form.COIL: "thickness of the wire"}
    if body.form is Form.TUBE and not piece.lumens:
        thick[Form.TUBE] = "wall"
    if body.form in thick and body.thickness_m is None:
        yield Gap((*path, "thickness"), f"the {thick[body.form]} of its {word} is not stated", _REACHED)
    if body.form is Form.JAW and body.opening_deg is None:
        yield Gap((*path, "opening"), f"how far its {word} opens is not stated", _REACHED)
    if body.form is Form.CONE and body.end_width_m is None:
        yield Gap((*path, "end_width"), f"the width at the end of its {word} is not stated", _REACHED)
    if body.form is Form.COIL and body.turns is None:
        yield Gap((*path, "turns"), f"the turns of its {word} are not stated", _REACHED)


def _of_accessories(department: Department) -> Iterator[Gap]:
    for key, part in department.accessories.items():
        if isinstance(part, FlushingSleeve | Adapter | Strainer) and part.outer_m is None:
            yield Gap(("accessories", key, "outer"), "its outer diameter is not stated", _REACHED)
        if isinstance(part, Pod | Net) and part.mesh is None:
            yield Gap(("accessories", key, "mesh"), "the wire it is made of is not stated", _REACHED)


def _of_carrier(path: Path, carrier: Carrier) -> Iterator[Gap]:
    if carrier.frame is None and carrier.mesh is None:
        yield Gap((*path, "frame"), "its pipes and rods are not stated; {} states that none is in the way", _REACHED)
    for name, area in carrier.basket_areas.items():
        if area.mesh is None:
            yield Gap((*path, "basket_areas", name, "mesh"), "the wire of its basket is not stated", _REACHED)
    for name, place in carrier.coil_places.items():
        if place.bars is None or place.bar_width_m is None:
            missing = "bars" if place.bars is None else "bar_width"
            yield Gap((*path, "coil_places", name, missing), "the bars of its mandrel are not stated", _REACHED)


def _of_kind(path: Path, kind: MachineKind) -> Iterator[Gap]:
    if kind.chamber_at is None:
        what = "where its chamber begins is not stated, and what reaches beyond carrier and arms may be out of it"
        yield Gap((*path, "chamber_at"), what, _REACHED)
    for name, arm in kind.arms.items():
        if arm.nozzles is None:
            what = "place and direction of its nozzles are not stated"
            yield Gap((*path, "arms", name, "nozzles"), what, _REACHED)
        elif arm.turning_sense is None:
            what = "which way it turns is not stated, and its nozzles balance each other"
            yield Gap((*path, "arms", name, "turns"), what, _REACHED)
        if arm.rotation_rpm is None:
            yield Gap((*path, "arms", name, "rotation"), "how fast it turns is not stated", _REACHED)

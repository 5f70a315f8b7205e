"""Pieces whose whole shape is stated, and a load of the demo with a few pieces of every kind."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from patency.catalogue import PieceType
from tests.demo.larkmere import hand_made_load, larkmere
from tests.reach.cast import mm

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load

FEW = ("mod5/1/", "sleeve11/1/", "clip10/1/", "hfcable/1/", "optic/1/", "needleholder/1/", "suction5/1/")


def part(form: str, length: float, width: float, **more: object) -> dict[str, object]:
    """Return one body of an outline, in millimetres."""
    return {"form": form, "length": mm(length), "width": mm(width), **more}


def shape(*bodies: dict[str, object], **more: object) -> PieceType:
    """Return a piece of bodies, without hollows unless told."""
    facts: dict[str, object] = {"name": "piece", "placing": "basket", "outline": list(bodies), "way_up": "lying"}
    facts |= {"states": {}, "needs_net": False, "mass": "50 g", "cups": []}
    return PieceType.model_validate({**facts, **more})


@cache
def drawn_load() -> tuple[Department, Load]:
    """Return the demo department and a load of one set of which only a few pieces are there."""
    load = hand_made_load("L1")
    pieces = tuple(one for one in load.pieces if one.set == "Gallbladder One" and one.piece.startswith(FEW))
    return larkmere(), load.model_copy(update={"pieces": pieces, "sets": ("Gallbladder One",)})

"""Pieces whose whole shape is stated, and a load of the demo with a few pieces of every kind."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import PieceType
from patency.reach import Arms, Arranged, Jet, Mesh, PlacedSolid, Pose, Role, Screen, TurningArm, Wetting, Zone
from patency.reach.solids.bodies import box
from tests.reach.cast import mm

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import Strikes

FEW = ("mod5/1/", "sleeve11/1/", "clip10/1/", "hfcable/1/", "optic/1/")


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
    from tests.demo.larkmere import hand_made_load, larkmere

    load = hand_made_load("L1")
    pieces = tuple(one for one in load.pieces if one.set == "Gallbladder One" and one.piece.startswith(FEW))
    return larkmere(), load.model_copy(update={"pieces": pieces, "sets": ("Gallbladder One",)})


def arm(*jets: Jet, centre: tuple[float, float, float] = (0.0, 0.0, 0.0), rpm: float = 30.0) -> Arms:
    """Return one arm with jets, and water of 1000 kg/m³."""
    return Arms((TurningArm("arm", centre, 0.3, 0.03, rpm, jets),), 1000.0, ())


def jet(
    elevation: float = 90.0, *, out: float = 0.0, half_spread: float = 10.0, speed: float = 8.0, flow: float = 1e-4
) -> Jet:
    """Return a jet; an angle above the horizontal and half its spread in degrees, its flow in m³/s."""
    up = math.radians(elevation)
    return Jet(out, (math.cos(up), 0.0, math.sin(up)), math.radians(half_spread), flow, speed, 0.004)


def square(
    size: float, at: tuple[float, float, float], *, cell: float = 0.004, turned: NDArray[np.float64] | None = None
) -> Mesh:
    """Return a thin square plate around a place, level unless it is turned; lengths in metres."""
    half = np.array([size / 2, size / 2, 1e-4])
    turn = np.eye(3) if turned is None else turned
    return box(-half, half, [Zone("plate", sided=False)] * 6, cell).moved(turn, np.array(at))


def arranged(*meshes: Mesh, screens: tuple[Screen, ...] = ()) -> Arranged:
    """Return bodies where they are as pieces of the set ``S``, named by their number."""
    still = Pose(np.eye(3), np.zeros(3))
    solids = tuple(
        PlacedSolid(Role.PIECE, f"body {number}", mesh, still, ("S", str(number)), "floor")
        for number, mesh in enumerate(meshes)
    )
    return Arranged(solids, screens, {}, {})


def struck_places(strikes: Strikes, piece: str, *, facing: tuple[float, float, float]) -> NDArray[np.float64]:
    """Return area and centre of each struck patch of a piece that faces a direction: [patch, 4]."""
    one = strikes.pieces["S", piece]
    kept = (one.wetting == Wetting.STRUCK) & (one.surface.normals @ np.array(facing) > 0.9)
    return np.column_stack([one.surface.areas_m2[kept], one.surface.centres[kept]])

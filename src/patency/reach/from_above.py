"""Floors of baskets and pods seen from above, with the outline of each piece that lies where its plan states it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Placing
from patency.load import pieces_of_set
from patency.reach.floors import drawn_pieces, floor_of
from patency.reach.solids.basket_solids import extent_on_floor, pod_of
from patency.reach.solids.nesting import outline_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department, Leaning, PieceType, Pod
    from patency.load import Load, OnFloor, PlacedPiece
    from patency.reach.solids.load_solids import Triangles
    from patency.reach.solids.mesh import Floats
    from patency.reach.solids.placed import PieceKey


class Outline(NamedTuple):
    """A piece as it lies, seen from above.

    Parameters
    ----------
    corners_m
        [corner, 2] of a polygon: from the left and from the front edge of the floor [m].
    points
        Toward which side its distal end points.
    """

    corners_m: Floats
    points: Leaning


class Rectangle(NamedTuple):
    """A pod as it stands, seen from above.

    Parameters
    ----------
    left_m, front_m
        Its corner, from the left and from the front edge of the floor [m].
    width_m, depth_m
        Its extent across and to the back [m].
    """

    left_m: float
    front_m: float
    width_m: float
    depth_m: float


@dataclass(frozen=True, eq=False)
class FloorPlan:
    """A floor seen from above, with what has a stated place on it.

    Parameters
    ----------
    name
        Its name, as of ``floor_of``.
    width_m, depth_m
        Its extent across and to the back [m].
    outlines
        Set and piece to how it lies.
    pods
        Set to where its pod stands.
    """

    name: str
    width_m: float
    depth_m: float
    outlines: Mapping[PieceKey, Outline]
    pods: Mapping[str, Rectangle]


def floor_plans(
    department: Department, load: Load, meshes: Mapping[str, Triangles] | None = None
) -> tuple[FloorPlan, ...]:
    """Look from above at every floor on which a plan states places.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    meshes
        Name of a mesh file to its triangles in metres.

    Returns
    -------
    tuple[FloorPlan, ...]
        Baskets in the order of the carrier, then pods in that of the load's sets. What has no stated place is left
        out, and so is the inside of a pod of which nobody states how it stands. What cannot be drawn is a rectangle.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    solids = dict(drawn_pieces(department, load, meshes or {}))
    types = {(one.set, one.key): one.piece_type for name in load.sets for one in pieces_of_set(department, name)}
    outlines: dict[str, dict[PieceKey, Outline]] = defaultdict(dict)
    for one in load.pieces:
        floor, key = stated_floor(load, one), (one.set, one.piece)
        if floor is not None and one.lies is not None:
            mesh, corner = solids[key], np.array([one.lies.from_left_m, one.lies.from_front_m])
            around = _room_of(types[key], one.lies) if mesh is None else outline_of(mesh, one.lies.points)
            outlines[floor][key] = Outline(corner + around, one.lies.points)
    stand: dict[str, dict[str, Rectangle]] = defaultdict(dict)
    pods = _pods(department, load)
    for one in load.pieces:
        if one.placing is Placing.POD and one.stands_in is not None and one.position in pods:
            stand[one.stands_in][one.position] = pods[one.position]
    areas = department.carriers[load.carrier].basket_areas
    sizes = {name: (area.width_m, area.depth_m) for name, area in areas.items()}
    sizes |= {f"pod of {owner}": (pods[owner].width_m, pods[owner].depth_m) for owner in load.sets if owner in pods}
    return tuple(
        FloorPlan(name, *size, outlines[name], stand[name])
        for name, size in sizes.items()
        if outlines[name] or stand[name]
    )


def stated_floor(load: Load, placed: PlacedPiece) -> str | None:
    """Name the floor on which a plan states where a piece lies.

    Parameters
    ----------
    load
        The load.
    placed
        The piece.

    Returns
    -------
    str | None
        As of ``floor_of``; None where its place is left open, or in a pod of which nobody states how it stands.
    """
    if placed.lies is None or (placed.placing is Placing.POD and placed.position not in load.pods):
        return None
    return floor_of(placed)


def _room_of(piece: PieceType, lies: OnFloor) -> Floats:
    """Return the rectangle that a piece takes of a floor."""
    x, y = extent_on_floor(piece.length_m, piece.widest_m, lies)
    return np.array([[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]])


def _pods(department: Department, load: Load) -> dict[str, Rectangle]:
    pod = pod_of(department)
    return {} if pod is None else {owner: _standing(pod, lies) for owner, lies in load.pods.items()}


def _standing(pod: Pod, lies: OnFloor) -> Rectangle:
    size = extent_on_floor(pod.inner_depth_m, pod.inner_width_m, lies)
    return Rectangle(lies.from_left_m, lies.from_front_m, *size)

"""Floors of baskets and pods in a load: where on them things lie, and where else there is room."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Leaning, Placing
from patency.load import OnFloor, pieces_of_set
from patency.reach.solids.basket_solids import pod_of, pose_on_floor
from patency.reach.solids.load_solids import NO_ROOM
from patency.reach.solids.nesting import FloorCells, box_shapes, nearer_to, nested, shapes_of
from patency.reach.solids.pieces import mesh_solid, piece_solid
from patency.reach.solids.placed import Side

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.catalogue import Department
    from patency.load import Load, PlacedPiece
    from patency.reach.solids.load_solids import Triangles
    from patency.reach.solids.mesh import Floats, Mesh
    from patency.reach.solids.placed import Arranged, PieceKey, PlacedSolid, Pose

_SIDES = ((Leaning.RIGHT, Leaning.LEFT), (Leaning.BACK, Leaning.FRONT))


class _Floor(NamedTuple):
    """A floor as it is drawn, with what stands on it."""

    corner_m: Floats
    width_m: float
    depth_m: float
    lie: dict[PieceKey, PlacedSolid]
    pods: dict[str, tuple[OnFloor, float, float]]  # set to place, and extent along x and y


def without_room(arranged: Arranged) -> list[PieceKey]:
    """List the pieces that find no room where they are placed.

    Parameters
    ----------
    arranged
        The load as solids.

    Returns
    -------
    list[PieceKey]
        Set and piece.
    """
    return [key for key, gaps in arranged.gaps.items() if any(NO_ROOM in gap for gap in gaps)]


def floor_of(placed: PlacedPiece) -> str | None:
    """Name the floor on which a piece lies.

    Parameters
    ----------
    placed
        The piece.

    Returns
    -------
    str | None
        The basket area, or the pod of its set; None for what lies nowhere.
    """
    if placed.placing is Placing.POD:
        return f"pod of {placed.position}"
    return {Placing.BASKET: placed.position, Placing.OPTIC_HOLDER: placed.stands_in}.get(placed.placing)


def stated_as_drawn(load: Load, arranged: Arranged, floor: str) -> Load:
    """State of everything on a floor where it lies, so that moving one thing leaves the others where they are.

    Parameters
    ----------
    load
        The load.
    arranged
        The load as solids.
    floor
        Name of the floor, as of ``floor_of``.

    Returns
    -------
    Load
        The same load with these places stated; with that of a pod as well where the floor is one.
    """
    seen = _seen(arranged, floor)
    if seen is None:
        return load
    where = {key: _where(solid, seen.corner_m) for key, solid in seen.lie.items()}
    stated = _stating(load, where, {owner: place for owner, (place, _, _) in seen.pods.items()})
    around = next((one.stands_in for one in load.pieces if floor == f"pod of {one.position}"), None)
    return stated if around is None else stated_as_drawn(stated, arranged, around)


def free_places(arranged: Arranged, placed: PlacedPiece, most: int) -> list[OnFloor]:
    """List other places for a piece on its floor that nothing covers.

    Parameters
    ----------
    arranged
        The load as solids.
    placed
        The piece.
    most
        How many at most.

    Returns
    -------
    list[OnFloor]
        Spread over the floor and over the four sides toward which it can point; none for what could not be drawn. That
        it runs into nothing there has still to be asked: a floor is looked at in squares of two millimetres.
    """
    key, name = (placed.set, placed.piece), floor_of(placed)
    seen = None if name is None else _seen(arranged, name)
    if seen is None or key not in seen.lie:
        return []
    return _with_what_lies(seen, key).spread_places(shapes_of(seen.lie[key].mesh), most)


def near_places(arranged: Arranged, solid: PlacedSolid, name: str, most: int) -> list[tuple[OnFloor, Pose]]:
    """List places for a piece on a floor that nothing covers, those first that change least.

    Parameters
    ----------
    arranged
        The load as solids.
    solid
        The piece as it lies on a floor of the load.
    name
        Name of that floor or of another one, as of ``floor_of``.
    most
        How many at most.

    Returns
    -------
    list[tuple[OnFloor, Pose]]
        Where it would lie, with its pose; on another floor those first that are nearest to where it lies on its own.
        None where a floor could not be drawn. That it runs into nothing there has still to be asked.
    """
    own, seen = _seen(arranged, solid.stands_on), _seen(arranged, name)
    if own is None or seen is None:
        return []
    floor, lies = _with_what_lies(seen, solid.piece), _where(solid, own.corner_m)
    places = floor.near_places(shapes_of(solid.mesh), lies, most)
    return [(place, pose_on_floor(seen.corner_m, solid.mesh, place)) for place in places]


def pose_there(arranged: Arranged, placed: PlacedPiece, lies: OnFloor) -> Pose:
    """Return the pose of a piece elsewhere on its floor.

    Parameters
    ----------
    arranged
        The load as solids.
    placed
        The piece.
    lies
        Where it would lie.

    Returns
    -------
    Pose
        The pose.

    Raises
    ------
    KeyError
        When the piece, or the floor on which it lies, could not be drawn.
    """
    name = floor_of(placed)
    seen = None if name is None else _seen(arranged, name)
    if seen is None:
        raise KeyError(name)
    return pose_on_floor(seen.corner_m, seen.lie[placed.set, placed.piece].mesh, lies)


def laid_closer(
    department: Department, load: Load, area: str, meshes: Mapping[str, Triangles] | None = None
) -> Load | None:
    """Lay everything in one basket closer together, as it is shaped.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    area
        Key of the basket area.
    meshes
        Name of a mesh file to its triangles in metres.

    Returns
    -------
    Load | None
        With all places in that basket stated; None where even so not everything finds room.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    basket = department.carriers[load.carrier].basket_areas[area]
    lie = [one for one in load.pieces if one.placing is not Placing.POD and floor_of(one) == area]
    drawn = dict(drawn_pieces(department, load, meshes or {}))
    things = {f"{number:04d}": drawn[one.set, one.piece] for number, one in enumerate(lie)}
    pod = pod_of(department)
    owners = {one.position for one in load.pieces if one.placing is Placing.POD and one.stands_in == area}
    if any(mesh is None for mesh in things.values()) or (owners and pod is None):
        return None
    shapes = {name: shapes_of(mesh) for name, mesh in things.items() if mesh is not None}
    if pod is not None:
        shapes |= {f"pod of {owner}": box_shapes(pod.inner_depth_m, pod.inner_width_m) for owner in owners}
    places = nested(shapes, basket.width_m, basket.depth_m)
    if len(places) < len(shapes):
        return None
    kind = department.machine_kinds[load.machine_kind]
    arms = [(one.centre_x_m - basket.at.x_m, one.centre_y_m - basket.at.y_m) for one in kind.arms.values()]
    places = nearer_to(arms, places, shapes, (basket.width_m, basket.depth_m))
    where = {(one.set, one.piece): places[f"{number:04d}"] for number, one in enumerate(lie)}
    pods = {owner: places[f"pod of {owner}"] for owner in owners}
    return _stating(load, where, pods)


def _stating(load: Load, where: Mapping[PieceKey, OnFloor], pods: Mapping[str, OnFloor]) -> Load:
    pieces = tuple(
        one.model_copy(update={"lies": where[one.set, one.piece]}) if (one.set, one.piece) in where else one
        for one in load.pieces
    )
    return load.model_copy(update={"pieces": pieces, "pods": {**load.pods, **pods}})


def drawn_pieces(
    department: Department, load: Load, meshes: Mapping[str, Triangles]
) -> Iterator[tuple[PieceKey, Mesh | None]]:
    """Draw the pieces of a load by themselves.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    meshes
        Name of a mesh file to its triangles in metres.

    Yields
    ------
    tuple[PieceKey, Mesh | None]
        Set and piece, and its surface in its own axes; None where it cannot be drawn.
    """
    for name in load.sets:
        for one in pieces_of_set(department, name):
            file = one.piece_type.mesh
            if file is None:
                yield (one.set, one.key), piece_solid(one.piece_type).mesh
            else:
                triangles = meshes.get(file.file)
                yield (one.set, one.key), None if triangles is None else mesh_solid(one.piece_type, *triangles).mesh


def _seen(arranged: Arranged, name: str) -> _Floor | None:
    floors = {one.floor: one for one in arranged.screens if one.side is Side.FLOOR}
    if (floor := floors.get(name)) is None:
        return None
    corner = floor.corner_m + np.array([0.0, 0.0, floor.wire_m])
    width, depth = (float(np.linalg.norm(edge)) for edge in (floor.along_m, floor.across_m))
    lie = {one.piece: one for one in arranged.solids if one.stands_on == name and one.piece is not None}
    pods = dict[str, tuple[OnFloor, float, float]]()
    for called, other in floors.items():
        at = other.corner_m - corner
        if called.startswith("pod of ") and other is not floor and _within(at, width, depth):
            across, back = (float(np.linalg.norm(edge)) for edge in (other.along_m, other.across_m))
            points = Leaning.RIGHT if across > back else Leaning.BACK
            left, front = (round(float(one), 6) for one in at[:2])
            place = OnFloor(from_left_m=left, from_front_m=front, points=points)
            pods[called.removeprefix("pod of ")] = (place, across, back)
    return _Floor(corner, width, depth, lie, pods)


def _with_what_lies(seen: _Floor, left_out: PieceKey | None) -> FloorCells:
    floor = FloorCells(seen.width_m, seen.depth_m)
    for other, solid in seen.lie.items():
        if other != left_out:
            lies = _where(solid, seen.corner_m)
            floor.take(next(one for one in shapes_of(solid.mesh) if one.points is lies.points), lies)
    for lies, width, depth in seen.pods.values():
        floor.take(box_shapes(depth, width)[0], lies)
    return floor


def _within(at_m: Floats, width_m: float, depth_m: float) -> bool:
    """Tell whether a pod's corner lies on a floor: on top of its wire, between its walls."""
    near = 1e-6
    return bool(abs(at_m[2]) < near and -near < at_m[0] < width_m and -near < at_m[1] < depth_m)


def _where(solid: PlacedSolid, corner_m: Floats) -> OnFloor:
    axis = solid.pose.turn[:, 2]
    along = int(np.abs(axis[:2]).argmax())
    left, front = (round(float(one), 6) for one in (solid.in_carrier.bounds_m[0] - corner_m)[:2])
    return OnFloor(from_left_m=left, from_front_m=front, points=_SIDES[along][int(axis[along] < 0)])

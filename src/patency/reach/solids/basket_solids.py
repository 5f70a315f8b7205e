"""Floors of baskets and pods with their wire walls, and how pieces come to lie on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Leaning, Pod
from patency.load import OnFloor
from patency.reach.solids.laying import Taken, lay_out
from patency.reach.solids.placed import Screen, Side, lying_pose

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.catalogue import BasketArea, Department, WireMesh
    from patency.load import PieceToPlace, PlacedPiece
    from patency.reach.solids.mesh import Floats, Mesh
    from patency.reach.solids.pieces import Solid
    from patency.reach.solids.placed import PieceKey, Pose

ANGLE_DEG = {Leaning.RIGHT: 0.0, Leaning.BACK: 90.0, Leaning.LEFT: 180.0, Leaning.FRONT: 270.0}
"""Direction of the axis of what lies, seen from above [°], by the side toward which its distal end points."""


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """A piece that goes into a basket.

    Parameters
    ----------
    placed
        Where the load puts it.
    solid
        Its drawn shape.
    """

    placed: PlacedPiece
    solid: Solid

    @property
    def key(self) -> PieceKey:
        """Set and piece."""
        return (self.placed.set, self.placed.piece)


@dataclass(frozen=True, eq=False)
class Floor:
    """A floor on which pieces lie.

    Parameters
    ----------
    name
        What people call it, and what its screens and the bodies on it state.
    corner_m
        [3] its left front corner, on top of the wire [m].
    width_m, depth_m
        Its extent along x and y [m].
    screens
        Its wire floor, walls and lid.
    gaps
        What is not stated of it.
    """

    name: str
    corner_m: Floats
    width_m: float
    depth_m: float
    screens: tuple[Screen, ...]
    gaps: tuple[str, ...]

    def net(self, height_m: float, mesh: WireMesh) -> Screen:
        """Return a net over the floor.

        Parameters
        ----------
        height_m
            Its height above the rails [m].
        mesh
            What it is made of.

        Returns
        -------
        Screen
            Level, over all of it.
        """
        corner = np.array([self.corner_m[0], self.corner_m[1], height_m])
        along, across = np.array([self.width_m, 0.0, 0.0]), np.array([0.0, self.depth_m, 0.0])
        return Screen(corner, along, across, mesh.wire_m, mesh.pitch_m, f"net over {self.name}", self.name, Side.NET)


class Places(NamedTuple):
    """Where things lie on a floor.

    Parameters
    ----------
    poses
        Piece to pose; one that found no room is left out.
    boxes
        Name of a pod to its left front lower corner and its extent along x and y [m].
    """

    poses: Mapping[PieceKey, Pose]
    boxes: Mapping[str, tuple[Floats, float, float]]


def basket_floor(name: str, area: BasketArea) -> Floor:
    """Return the floor of the basket on a basket area.

    Parameters
    ----------
    name
        Key of the area.
    area
        The area.

    Returns
    -------
    Floor
        With floor and four walls; with a gap in place of them where nobody states what they are made of.
    """
    corner = np.array([area.at.x_m, area.at.y_m, area.at.z_m])
    if area.mesh is None:
        return Floor(name, corner, area.width_m, area.depth_m, (), (f"what basket {name} is made of is not stated",))
    height = area.wall_height_m or area.clear_height_m
    screens = _cage(name, f"basket {name}", corner, (area.width_m, area.depth_m, height), area.mesh, 5)
    return Floor(name, corner + np.array([0.0, 0.0, area.mesh.wire_m]), area.width_m, area.depth_m, screens, ())


def pod_floor(name: str, pod: Pod, corner_m: Floats, width_m: float, depth_m: float) -> Floor:
    """Return the floor of a pod that stands in a basket.

    Parameters
    ----------
    name
        What people call it.
    pod
        The pod.
    corner_m
        [3] its left front lower corner [m].
    width_m
        Its extent along x as it stands [m].
    depth_m
        Its extent along y as it stands [m].

    Returns
    -------
    Floor
        With floor, four walls and lid; with a gap in place of them where nobody states what they are made of.
    """
    if pod.mesh is None:
        return Floor(name, corner_m, width_m, depth_m, (), (f"what the {pod.name} is made of is not stated",))
    screens = _cage(name, name, corner_m, (width_m, depth_m, pod.inner_height_m), pod.mesh, 6)
    return Floor(name, corner_m + np.array([0.0, 0.0, pod.mesh.wire_m]), width_m, depth_m, screens, ())


def pose_on_floor(corner_m: Floats, mesh: Mesh, lies: OnFloor) -> Pose:
    """Return the pose of a piece that lies where a plan states it.

    Parameters
    ----------
    corner_m
        [3] left front corner of the floor, on top of the wire [m].
    mesh
        Its surface in its own axes.
    lies
        Where it lies.

    Returns
    -------
    Pose
        It lies flat.
    """
    return lying_pose(mesh, _corner(corner_m, lies), ANGLE_DEG[lies.points])


def lay_pieces(
    floor: Floor,
    laid: Sequence[LaidPiece],
    pieces: Mapping[PieceKey, PieceToPlace],
    pods: Mapping[str, tuple[Pod, OnFloor | None]],
) -> Places:
    """Lay pieces and pods on a floor: where the plan states it, the others side by side beside them in one layer.

    Parameters
    ----------
    floor
        The floor.
    laid
        The pieces.
    pieces
        Set and piece to what it is.
    pods
        Name of a pod to its kind and to where the plan states that it stands.

    Returns
    -------
    Places
        Where each lies.
    """
    named = {f"{number:04d}": one for number, one in enumerate(laid)}
    sizes = {name: _footprint(one, pieces) for name, one in named.items()}
    sizes |= {name: (pod.inner_depth_m, pod.inner_width_m) for name, (pod, _) in pods.items()}
    stated = {name: one.placed.lies for name, one in named.items()} | {name: lies for name, (_, lies) in pods.items()}
    where = {name: lies for name, lies in stated.items() if lies is not None}
    taken = [
        Taken(one.from_left_m, one.from_front_m, *extent_on_floor(*sizes[name], one)) for name, one in where.items()
    ]
    rest = {name: size for name, size in sizes.items() if name not in where}
    for name, (x, y, along_x) in lay_out(rest, floor.width_m, floor.depth_m, taken).items():
        points = Leaning.RIGHT if along_x else Leaning.BACK
        where[name] = OnFloor(from_left_m=x, from_front_m=y, points=points)
    poses = {
        one.key: pose_on_floor(floor.corner_m, one.solid.mesh, where[name])
        for name, one in named.items()
        if name in where and one.solid.mesh is not None
    }
    stand = {
        name: (_corner(floor.corner_m, where[name]), *extent_on_floor(*sizes[name], where[name]))
        for name in pods
        if name in where
    }
    return Places(poses, stand)


def _footprint(one: LaidPiece, pieces: Mapping[PieceKey, PieceToPlace]) -> tuple[float, float]:
    """Return length and width of the room a piece takes on a floor [m]."""
    if one.solid.mesh is None:
        piece = pieces[one.key].piece_type
        return piece.length_m, piece.widest_m
    # Whole millimetres, so that places do not hang on how finely a piece is drawn.
    extent = np.ceil(1000 * np.ptp(one.solid.mesh.bounds_m, axis=0) - 0.05) / 1000
    return float(extent[2]), float(extent[0])


def extent_on_floor(length_m: float, wide_m: float, lies: OnFloor) -> tuple[float, float]:
    """Tell what something takes of a floor.

    Parameters
    ----------
    length_m
        Its extent along its axis [m].
    wide_m
        Across it [m].
    lies
        How it lies.

    Returns
    -------
    tuple[float, float]
        Along x and along y [m].
    """
    across = lies.points in {Leaning.LEFT, Leaning.RIGHT}
    return (length_m, wide_m) if across else (wide_m, length_m)


def pod_of(department: Department) -> Pod | None:
    """Find the kind of pod of a department.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    Pod | None
        None where it has none.
    """
    return next((one for one in department.accessories.values() if isinstance(one, Pod)), None)


def _corner(floor_corner_m: Floats, lies: OnFloor) -> Floats:
    corner: Floats = floor_corner_m + np.array([lies.from_left_m, lies.from_front_m, 0.0])
    return corner


def _cage(
    name: str, words: str, corner: Floats, size: tuple[float, float, float], mesh: WireMesh, sides: int
) -> tuple[Screen, ...]:
    """Return floor and walls of a box of wire; as the sixth side its lid."""
    x, y, z = (extent * axis for extent, axis in zip(size, np.eye(3), strict=True))
    rectangles = [
        (corner, x, y, "floor", Side.FLOOR),
        (corner, x, z, "front wall", Side.WALL),
        (corner + y, x, z, "back wall", Side.WALL),
        (corner, y, z, "left wall", Side.WALL),
        (corner + x, y, z, "right wall", Side.WALL),
        (corner + z, x, y, "lid", Side.LID),
    ]
    return tuple(
        Screen(at, along, across, mesh.wire_m, mesh.pitch_m, f"{called} of {words}", name, side)
        for at, along, across, called, side in rectangles[:sides]
    )

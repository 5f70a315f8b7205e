"""Floors of baskets and pods with their wire walls, and how pieces come to lie on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.solids.laying import lay_out
from patency.reach.solids.placed import Screen, lying_pose

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.catalogue import BasketArea, Pod, WireMesh
    from patency.load import PieceToPlace, PlacedPiece
    from patency.reach.solids.mesh import Floats
    from patency.reach.solids.pieces import Solid
    from patency.reach.solids.placed import PieceKey, Pose


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
        What people call the basket.
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

    def lid(self, height_m: float, mesh: WireMesh, words: str) -> Screen:
        """Return a level screen over the floor.

        Parameters
        ----------
        height_m
            Its height above the rails [m].
        mesh
            What it is made of.
        words
            What people call it.

        Returns
        -------
        Screen
            The screen.
        """
        corner = np.array([self.corner_m[0], self.corner_m[1], height_m])
        along, across = np.array([self.width_m, 0.0, 0.0]), np.array([0.0, self.depth_m, 0.0])
        return Screen(corner, along, across, mesh.wire_m, mesh.pitch_m, words)


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
    screens = _cage(f"basket {name}", corner, (area.width_m, area.depth_m, height), area.mesh, 5)
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
    screens = _cage(name, corner_m, (width_m, depth_m, pod.inner_height_m), pod.mesh, 6)
    return Floor(name, corner_m + np.array([0.0, 0.0, pod.mesh.wire_m]), width_m, depth_m, screens, ())


def lay_pieces(
    floor: Floor, laid: Sequence[LaidPiece], pieces: Mapping[PieceKey, PieceToPlace], pods: Mapping[str, Pod]
) -> Places:
    """Lay pieces and pods side by side on a floor, in one layer.

    Parameters
    ----------
    floor
        The floor.
    laid
        The pieces.
    pieces
        Set and piece to what it is.
    pods
        Name of a pod to its kind.

    Returns
    -------
    Places
        Where each lies.
    """
    sizes = {}
    for number, one in enumerate(laid):
        piece = pieces[one.key].piece_type
        size = (piece.length_m, piece.widest_m)
        if one.solid.mesh is not None:
            # Whole millimetres, so that places do not hang on how finely a piece is drawn.
            extent = np.ceil(1000 * np.ptp(one.solid.mesh.bounds_m, axis=0) - 0.05) / 1000
            size = (float(extent[2]), float(extent[0]))
        sizes[f"{number:04d}"] = size
    boxes = {name: (pod.inner_depth_m, pod.inner_width_m) for name, pod in pods.items()}
    places = lay_out({**sizes, **boxes}, floor.width_m, floor.depth_m)
    poses = {}
    for number, one in enumerate(laid):
        lying = places.get(f"{number:04d}")
        if lying is not None and one.solid.mesh is not None:
            corner = floor.corner_m + np.array([lying.x_m, lying.y_m, 0.0])
            poses[one.key] = lying_pose(one.solid.mesh, corner, 0.0 if lying.along_x else 90.0)
    stand = {}
    for name, pod in pods.items():
        if name in places:
            x, y, along_x = places[name]
            size = (pod.inner_depth_m, pod.inner_width_m) if along_x else (pod.inner_width_m, pod.inner_depth_m)
            stand[name] = (floor.corner_m + np.array([x, y, 0.0]), *size)
    return Places(poses, stand)


def _cage(
    words: str, corner: Floats, size: tuple[float, float, float], mesh: WireMesh, sides: int
) -> tuple[Screen, ...]:
    """Return floor and walls of a box of wire; as the sixth side its lid."""
    x, y, z = (extent * axis for extent, axis in zip(size, np.eye(3), strict=True))
    rectangles = [
        (corner, x, y, "floor"),
        (corner, x, z, "front wall"),
        (corner + y, x, z, "back wall"),
        (corner, y, z, "left wall"),
        (corner + x, y, z, "right wall"),
        (corner + z, x, y, "lid"),
    ]
    return tuple(
        Screen(at, along, across, mesh.wire_m, mesh.pitch_m, f"{side} of {words}")
        for at, along, across, side in rectangles[:sides]
    )

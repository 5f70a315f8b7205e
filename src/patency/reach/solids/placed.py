"""Solids in their places: bodies with their pose in the carrier's axes, and walls of wire."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Leaning

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from patency.reach.solids.chamber import Chamber
    from patency.reach.solids.mesh import Floats, Integers, Mesh

PieceKey = tuple[str, str]
"""Set and piece, as in a load."""

_TOWARD = {
    Leaning.BACK: (0.0, 1.0, 0.0),
    Leaning.FRONT: (0.0, -1.0, 0.0),
    Leaning.LEFT: (-1.0, 0.0, 0.0),
    Leaning.RIGHT: (1.0, 0.0, 0.0),
}
_SIDES = ("left", "right", "front", "back", "under", "top")
_UP = np.array([0.0, 0.0, 1.0])


class Role(StrEnum):
    """What a body in the load is."""

    PIECE = "piece"
    CONNECTION = "connection"
    HOSE = "hose"
    CARRIER = "carrier"


class Cover(StrEnum):
    """How what a flushing sleeve covers gets water."""

    OPEN = "open at its end"
    CLOSED = "closed at its end"


class Pose(NamedTuple):
    """Where a body stands: its own coordinates are turned, then shifted into the carrier's.

    Parameters
    ----------
    turn
        [3, 3] rotation.
    shift_m
        [3] place of its own origin in the carrier's axes [m].
    """

    turn: Floats
    shift_m: Floats


@dataclass(frozen=True, eq=False)
class PlacedSolid:
    """A body in its place.

    Parameters
    ----------
    role
        What it is.
    words
        What people call it.
    mesh
        Its surface in its own axes.
    pose
        Where it stands.
    piece
        Which piece it is, or which piece it is connected to; None for parts of the carrier.
    stands_on
        Where it lies or stands: key of a port, basket area, pod, coil place.
    cover
        Of a flushing sleeve: whether water runs out along what it covers; None for anything else.
    mass_kg
        Mass of a piece [kg]; None where not known.
    holds
        Of a part of the carrier: the place whose piece rests against it; empty where it is none such.
    """

    role: Role
    words: str
    mesh: Mesh
    pose: Pose
    piece: PieceKey | None
    stands_on: str
    cover: Cover | None = None
    mass_kg: float | None = None
    holds: str = ""

    @cached_property
    def in_carrier(self) -> Mesh:
        """Its surface in the carrier's axes."""
        return self.mesh.moved(self.pose.turn, self.pose.shift_m)

    @property
    def words_and_place(self) -> str:
        """What people call it and where it stands; a part of the carrier is told by its words alone."""
        return self.words if self.role is Role.CARRIER else f"{self.words} at {self.stands_on}"

    @cached_property
    def zone_names(self) -> tuple[str, ...]:
        """Names of its zones, in the piece's own words and with the side to which they look as it stands."""
        return self._named[0]

    @cached_property
    def zone_of_patch(self) -> Integers:
        """[patch] number of its name in ``zone_names``."""
        return self._named[1]

    @cached_property
    def _named(self) -> tuple[tuple[str, ...], Integers]:
        """Name every patch by its zone and, where the zone is sided, the axis its normal follows most."""
        normals = self.in_carrier.patch_normals
        axis = np.abs(normals).argmax(axis=1)
        side = 2 * axis + (normals[np.arange(len(axis)), axis] > 0)
        pairs = np.stack([self.mesh.zone_of, side], axis=1)
        pairs[[not self.mesh.zones[number].sided for number in self.mesh.zone_of], 1] = -1
        unique, inverse = np.unique(pairs, axis=0, return_inverse=True)
        names = tuple(_name(self.mesh.zones[zone].word, int(which)) for zone, which in unique)
        return names, inverse.reshape(-1).astype(np.int64)

    def moved_to(self, pose: Pose) -> PlacedSolid:
        """Return the same body elsewhere.

        Parameters
        ----------
        pose
            Where.

        Returns
        -------
        PlacedSolid
            The body there.
        """
        return replace(self, pose=pose)


def _name(word: str, side: int) -> str:
    if side < 0:
        return word
    where = _SIDES[side]
    if where == "under":
        return f"under the {word}"
    return f"top of the {word}" if where == "top" else f"{word}, {where} side"


class Side(StrEnum):
    """What a rectangle of wire is to the basket or pod around it."""

    FLOOR = "floor"
    WALL = "wall"
    LID = "lid"
    NET = "net"


class Screen(NamedTuple):
    """A flat rectangle of wire mesh: floor, wall or lid of a basket, a net.

    Parameters
    ----------
    corner_m
        [3] one corner [m].
    along_m, across_m
        [3] edges that leave it, at right angles [m].
    wire_m, pitch_m
        Thickness of the wire and distance from wire to wire [m].
    words
        What people call it.
    floor
        Basket area or pod around which it is, as in ``PlacedSolid.stands_on`` of what lies there.
    side
        What it is to that.
    """

    corner_m: Floats
    along_m: Floats
    across_m: Floats
    wire_m: float
    pitch_m: float
    words: str
    floor: str
    side: Side


@dataclass(frozen=True, eq=False)
class Arranged:
    """A load as solids, in the carrier's axes: x to the right, y to the back, z up from the rails.

    Parameters
    ----------
    solids
        Pieces, what connects them and parts of the carrier. The position in this row is a body's number.
    screens
        Walls of wire, which let a share of each jet through.
    gaps
        Piece to what is not known of its shape, its place or what surrounds it; with any, what the jets strike of it
        is not known.
    assumed
        Piece to what the plan leaves open and was assumed.
    chamber
        The chamber around it; None where nothing is asked of that.
    """

    solids: tuple[PlacedSolid, ...]
    screens: tuple[Screen, ...]
    gaps: Mapping[PieceKey, tuple[str, ...]]
    assumed: Mapping[PieceKey, tuple[str, ...]]
    chamber: Chamber | None = None

    @cached_property
    def number_of(self) -> dict[PieceKey, int]:
        """Piece to the number of its body; a piece that could not be drawn is left out."""
        return {one.piece: n for n, one in enumerate(self.solids) if one.role is Role.PIECE and one.piece is not None}

    @cached_property
    def covers_of(self) -> dict[PieceKey, list[PlacedSolid]]:
        """Piece to the flushing sleeves over it; one without is left out."""
        covers: dict[PieceKey, list[PlacedSolid]] = {}
        for one in self.solids:
            if one.role is Role.CONNECTION and one.cover is not None and one.piece is not None:
                covers.setdefault(one.piece, []).append(one)
        return covers

    @cached_property
    def bounds_m(self) -> Floats:
        """[body, 2, 3] least and largest coordinates of each body [m]."""
        return np.array([one.in_carrier.bounds_m for one in self.solids]).reshape(-1, 2, 3)

    def with_pose(self, piece: PieceKey, pose: Pose) -> Arranged:
        """Return the load with one piece moved; what it is connected to stays.

        Parameters
        ----------
        piece
            The piece.
        pose
            Where it goes.

        Returns
        -------
        Arranged
            The load with the piece there.

        Raises
        ------
        KeyError
            When there is no such piece, or it could not be drawn.
        """
        number = self.number_of[piece]
        solids = (*self.solids[:number], self.solids[number].moved_to(pose), *self.solids[number + 1 :])
        return replace(self, solids=solids)


def level_toward(side: Leaning) -> Floats:
    """Return the level direction toward a side of the carrier.

    Parameters
    ----------
    side
        The side.

    Returns
    -------
    numpy.ndarray
        [3] unit vector in the carrier's axes.
    """
    return np.array(_TOWARD[side])


def standing_pose(
    foot_m: Floats, inclination_deg: float, leans: Leaning | None, *, lifted_m: float = 0.0, roll_deg: float = 0.0
) -> Pose:
    """Return the pose of a body that stands with its own origin at a foot.

    Parameters
    ----------
    foot_m
        [3] the port [m].
    inclination_deg
        Angle of its axis above the horizontal [°].
    leans
        Toward which side; does not matter where it stands upright.
    lifted_m
        How far its origin lies from the foot along the axis [m].
    roll_deg
        How far it is turned around its axis [°]; at 0 its flat side is level, from left to right where it leans to
        the back or the front.

    Returns
    -------
    Pose
        The pose.
    """
    toward = level_toward(leans or Leaning.BACK)
    angle = math.radians(inclination_deg)
    axis = math.cos(angle) * toward + math.sin(angle) * _UP
    flat = np.cross(toward, _UP)
    turn = np.stack([flat, np.cross(axis, flat), axis], axis=1)
    return Pose(turn @ about_axis(roll_deg), foot_m + lifted_m * axis)


def upside_down(pose: Pose, length_m: float) -> Pose:
    """Return the pose of a piece that stands on its distal end instead of its proximal one.

    Parameters
    ----------
    pose
        Its pose standing on the proximal end.
    length_m
        Its length [m].

    Returns
    -------
    Pose
        Turned around by its flat side; its distal end is where the proximal end was.
    """
    over = np.diag([1.0, -1.0, -1.0])
    return Pose(pose.turn @ over, pose.shift_m + length_m * pose.turn[:, 2])


def lying_pose(mesh: Mesh, corner_m: Floats, angle_deg: float, roll_deg: float = 0.0) -> Pose:
    """Return the pose of a piece that lies flat on a floor.

    Parameters
    ----------
    mesh
        Its surface in its own axes.
    corner_m
        [3] left front lower corner of the room it takes [m].
    angle_deg
        Direction of its axis seen from above [°]: 0 to the right, 90 to the back.
    roll_deg
        How far it is turned around its axis from lying flat [°].

    Returns
    -------
    Pose
        Its lowest point lies on the floor, its outermost ones on the left and front edges of the room.
    """
    angle = math.radians(angle_deg)
    axis = np.array([math.cos(angle), math.sin(angle), 0.0])
    turn = np.stack([np.cross(_UP, axis), _UP, axis], axis=1) @ about_axis(roll_deg)
    return Pose(turn, corner_m - (mesh.vertices @ turn.T).min(axis=0))


def rotated_in_place(solid: PlacedSolid, turn: NDArray[np.float64]) -> Pose:
    """Return the pose of a body after a rotation about the middle of the room it takes.

    Parameters
    ----------
    solid
        The body.
    turn
        [3, 3] rotation in the carrier's axes.

    Returns
    -------
    Pose
        The new pose; the middle of its bounds stays.
    """
    middle = solid.in_carrier.bounds_m.mean(axis=0)
    return Pose(turn @ solid.pose.turn, middle + turn @ (solid.pose.shift_m - middle))


def about_axis(roll_deg: float) -> Floats:
    """Return the rotation of a body around its own axis.

    Parameters
    ----------
    roll_deg
        How far [°].

    Returns
    -------
    numpy.ndarray
        [3, 3] rotation about z.
    """
    angle = math.radians(roll_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    return np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])

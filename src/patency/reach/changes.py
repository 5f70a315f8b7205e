"""The smallest change of a piece's place or direction with which the jets would strike more of it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Placing
from patency.reach.checks import faults_of_piece
from patency.reach.faults import Rule
from patency.reach.jets.strikes import struck_of_one
from patency.reach.solids.basket_solids import basket_floor
from patency.reach.solids.placed import Pose, rotated_in_place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Department
    from patency.load import Load, PlacedPiece
    from patency.reach.jets.strikes import Strikes
    from patency.reach.solids.placed import Arranged, PlacedSolid

_HELPS = 0.02  # of the piece's surface: less is within what the computation can tell
_TURNS_DEG = (15, -15, 30, -30, 45, -45, 90, -90, 180)


class Change(NamedTuple):
    """A change of place or direction and what it would do.

    Parameters
    ----------
    words
        What to do: ``turn it by 30° around its axis``.
    pose
        Where the piece would stand.
    struck_share
        Share of its surface that jets would strike directly.
    """

    words: str
    pose: Pose
    struck_share: float


def smallest_change(
    department: Department, load: Load, strikes: Strikes, placed: PlacedPiece, least_share: float
) -> Change | None:
    """Find the smallest change of one piece with which the jets would strike enough of it.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    strikes
        What the jets strike of it as arranged.
    placed
        The piece.
    least_share
        Share of its surface that is asked for.

    Returns
    -------
    Change | None
        The first in the order of effort (turned around its axis by growing angles, turned end for end, another port
        of the same kind, a free basket area) that reaches the share; where none does, the one that helps most; None
        where none helps by two percentage points. Changes are left out that run into another body or break a rule of
        places that the piece does not break as it is. That hoses reach and everything else fits there is not looked
        at: plan anew with it.
    """
    key = (placed.set, placed.piece)
    if key not in strikes.arranged.number_of:
        return None
    number = strikes.arranged.number_of[key]
    now = struck_of_one(strikes, strikes.arranged, key)
    rules = (department.machine_kinds[load.machine_kind], department.limits.load)
    broken = {one.rule for one in faults_of_piece(strikes.arranged, number, *rules)} - {Rule.INTERSECTS}
    best = None
    for words, pose, arranged in _tries(department, load, strikes.arranged, placed):
        moved = arranged.with_pose(key, pose)
        if any(one.rule not in broken for one in faults_of_piece(moved, number, *rules)):
            continue
        share = struck_of_one(strikes, moved, key)
        if share >= least_share and share > now:
            return Change(words, pose, share)
        if share > max(now + _HELPS, best.struck_share if best else 0.0):
            best = Change(words, pose, share)
    return best


def _tries(
    department: Department, load: Load, arranged: Arranged, placed: PlacedPiece
) -> Iterator[tuple[str, Pose, Arranged]]:
    solid = arranged.solids[arranged.number_of[placed.set, placed.piece]]
    for degrees in _TURNS_DEG:
        yield f"turn it by {degrees}° around its axis", _rolled(solid, degrees, placed), arranged
    if placed.placing is Placing.BASKET:
        end_for_end = rotated_in_place(solid, np.diag([-1.0, -1.0, 1.0]))
        yield "turn it end for end", end_for_end, arranged
        yield from _other_baskets(department, load, arranged, placed, solid)
    elif placed.placing is Placing.PORT:
        yield from _other_ports(department, load, arranged, placed, solid)


def _rolled(solid: PlacedSolid, degrees: int, placed: PlacedPiece) -> Pose:
    """Turn a body around its own axis; what lies comes to lie on its floor again."""
    angle = math.radians(degrees)
    cosine, sine = math.cos(angle), math.sin(angle)
    about = np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    pose = Pose(solid.pose.turn @ about, solid.pose.shift_m)
    if placed.placing is Placing.PORT:
        return pose
    sunk = solid.in_carrier.bounds_m[0, 2] - solid.mesh.moved(*pose).bounds_m[0, 2]
    return Pose(pose.turn, pose.shift_m + np.array([0.0, 0.0, sunk]))


def _other_ports(
    department: Department, load: Load, arranged: Arranged, placed: PlacedPiece, solid: PlacedSolid
) -> Iterator[tuple[str, Pose, Arranged]]:
    ports = department.carriers[load.carrier].ports
    here = ports[placed.position]
    taken = {one.port for piece in load.pieces for one in piece.lumens}
    for name, port in ports.items():
        if name not in taken and port.kind is here.kind and port.stand == here.stand:
            way = np.array([port.at.x_m - here.at.x_m, port.at.y_m - here.at.y_m, port.at.z_m - here.at.z_m])
            yield f"move it to port {name}", Pose(solid.pose.turn, solid.pose.shift_m + way), arranged


def _other_baskets(
    department: Department, load: Load, arranged: Arranged, placed: PlacedPiece, solid: PlacedSolid
) -> Iterator[tuple[str, Pose, Arranged]]:
    areas = department.carriers[load.carrier].basket_areas
    here = areas[placed.position]
    taken = {one.position for one in load.pieces if one.placing is Placing.BASKET}
    taken |= {one.stands_in for one in load.pieces if one.stands_in is not None}
    for name, area in areas.items():
        if name not in taken and (area.width_m, area.depth_m) == (here.width_m, here.depth_m):
            way = np.array([area.at.x_m - here.at.x_m, area.at.y_m - here.at.y_m, area.at.z_m - here.at.z_m])
            level = "" if area.level == here.level else f", level {area.level}"
            screens = (*arranged.screens, *basket_floor(name, area).screens)
            pose = Pose(solid.pose.turn, solid.pose.shift_m + way)
            solids = [replace(one, stands_on=name) if one is solid else one for one in arranged.solids]
            yield f"move it to basket {name}{level}", pose, replace(arranged, solids=tuple(solids), screens=screens)

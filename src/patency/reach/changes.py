"""The smallest change of a piece's place or direction with which the jets would strike more of it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Placing
from patency.load import pieces_of_set
from patency.quantities import Answer
from patency.reach.checks import faults_of_piece
from patency.reach.faults import Rule
from patency.reach.floors import near_places
from patency.reach.jets.strikes import struck_of_one
from patency.reach.room import basket_fit
from patency.reach.solids.basket_solids import basket_floor
from patency.reach.solids.placed import Pose, about_axis, rotated_in_place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Department
    from patency.load import Load, OnFloor, PlacedPiece
    from patency.reach.jets.strikes import Strikes
    from patency.reach.solids.placed import Arranged, PlacedSolid

_HELPS = 0.02  # of the piece's surface: less is within what the computation can tell
_ROUGH = 8  # angles between two are looked at as finely at first: never struck too much, too little by 0.02 at most
_TURNS_DEG = (15, -15, 30, -30, 45, -45, 90, -90, 180)
_PLACES = {"own floor": 16, "other floor": 2, "ports": 8}  # that are tried at most
_LEANS_DEG = 5.0  # what lies turned stays when leaning it so far to either side lifts its middle
_LIFTS = 0.03  # by this share of its height: as of a block not three times as high as wide, and of no rod
_LIES = (Placing.BASKET, Placing.POD, Placing.OPTIC_HOLDER)


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
        The first in the order of effort that reaches the share; where none does, the one that helps most; None where
        none helps by two percentage points. What stands at a port is turned around its axis by growing angles, then put
        to other free ports of the same kind, the nearest first. What lies is turned around its axis as far as it stays
        so, then end for end, then laid to up to sixteen free places of its floor, the nearest first, then into baskets
        of its set and empty ones, two places each. Changes are left out that run into another body or break a rule of
        places that the piece does not break as it is. That hoses reach and everything else fits there is not looked
        at: plan anew with it.
    """
    key = (placed.set, placed.piece)
    if key not in strikes.arranged.number_of:
        return None
    number = strikes.arranged.number_of[key]
    now = strikes.pieces[key].struck_share
    rules = (department.machine_kinds[load.machine_kind], department.limits.load)
    broken = {one.rule for one in faults_of_piece(strikes.arranged, number, *rules)} - {Rule.INTERSECTS}
    rough = replace(strikes, sampling=replace(strikes.sampling, finer=min(_ROUGH, strikes.sampling.finer)))
    best: tuple[float, str, Pose, Arranged] | None = None
    for words, pose, arranged in _tries(department, load, strikes.arranged, placed):
        moved = arranged.with_pose(key, pose)
        if any(one.rule not in broken for one in faults_of_piece(moved, number, *rules)):
            continue
        about = struck_of_one(rough, moved, key)
        if about + _HELPS >= least_share:
            share = struck_of_one(strikes, moved, key)
            if share >= least_share and share > now:
                return Change(words, pose, share)
        if best is None or about > best[0]:
            best = about, words, pose, moved
    if best is None or best[0] <= now:
        return None
    share = struck_of_one(strikes, best[3], key)
    return Change(*best[1:3], share) if share > now + _HELPS else None


def _tries(
    department: Department, load: Load, arranged: Arranged, placed: PlacedPiece
) -> Iterator[tuple[str, Pose, Arranged]]:
    solid = arranged.solids[arranged.number_of[placed.set, placed.piece]]
    for degrees in _TURNS_DEG:
        pose = _rolled(solid, degrees, placed)
        if placed.placing not in _LIES or _stays(solid, pose):
            yield f"turn it by {degrees}° around its axis", pose, arranged
    if placed.placing in _LIES:
        yield "turn it end for end", rotated_in_place(solid, np.diag([-1.0, -1.0, 1.0])), arranged
        for lies, pose in near_places(arranged, solid, solid.stands_on, _PLACES["own floor"]):
            yield _shifted(solid, pose) + _pointing(solid, pose, lies), pose, arranged
        if placed.placing is not Placing.POD:
            yield from _other_baskets(department, load, arranged, placed, solid)
    elif placed.placing is Placing.PORT:
        yield from _other_ports(department, load, arranged, placed, solid)


def _shifted(solid: PlacedSolid, pose: Pose) -> str:
    way = solid.moved_to(pose).in_carrier.bounds_m.mean(axis=0) - solid.in_carrier.bounds_m.mean(axis=0)
    across, back = (round(1000 * float(one)) for one in way[:2])
    ways = [(across, "right" if across > 0 else "left"), (back, "back" if back > 0 else "front")]
    steps = [f"{abs(far)} mm to the {side}" for far, side in ways if far]
    return f"move it {' and '.join(steps)}" if steps else "turn it where it lies"


def _pointing(solid: PlacedSolid, pose: Pose, lies: OnFloor) -> str:
    turned = float(solid.pose.turn[:, 2] @ pose.turn[:, 2]) < math.cos(math.radians(45.0))
    return f", distal end to the {lies.points}" if turned else ""


def _stays(solid: PlacedSolid, pose: Pose) -> bool:
    """Tell whether a piece that lies stays as it is turned: leaning it to either side lifts its middle."""
    ups = [(pose.turn @ about_axis(degrees))[2] for degrees in (0.0, _LEANS_DEG, -_LEANS_DEG)]
    flat, *leaning = (float(up @ solid.mesh.middle_of_volume_m - (solid.mesh.vertices @ up).min()) for up in ups)
    return min(leaning) > (1 + _LIFTS) * flat


def _rolled(solid: PlacedSolid, degrees: int, placed: PlacedPiece) -> Pose:
    """Turn a body around its own axis; what lies comes to lie on its floor again."""
    pose = Pose(solid.pose.turn @ about_axis(degrees), solid.pose.shift_m)
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
    ways = {
        name: np.array([port.at.x_m - here.at.x_m, port.at.y_m - here.at.y_m, port.at.z_m - here.at.z_m])
        for name, port in ports.items()
        if name not in taken and port.kind is here.kind and port.stand == here.stand
    }
    for name in sorted(ways, key=lambda one: float(np.linalg.norm(ways[one])))[: _PLACES["ports"]]:
        yield f"move it to port {name}", Pose(solid.pose.turn, solid.pose.shift_m + ways[name]), arranged


def _other_baskets(
    department: Department, load: Load, arranged: Arranged, placed: PlacedPiece, solid: PlacedSolid
) -> Iterator[tuple[str, Pose, Arranged]]:
    """Lay a piece into other baskets in which nothing lies of another set: beside the rest of its own, then alone."""
    areas = department.carriers[load.carrier].basket_areas
    own = {_basket_of(one) for one in load.pieces if one.set == placed.set}
    closed = {_basket_of(one) for one in load.pieces if one.set != placed.set or one.net}
    piece = next(one.piece_type for one in pieces_of_set(department, placed.set) if one.key == placed.piece)
    for name in sorted(areas, key=lambda one: one not in own):
        area = areas[name]
        if placed.net or name in closed | {solid.stands_on} or basket_fit(piece, area).answer is not Answer.YES:
            continue
        solids = tuple(replace(one, stands_on=name) if one is solid else one for one in arranged.solids)
        drawn = () if name in own else basket_floor(name, area).screens
        there = replace(arranged, solids=solids, screens=(*arranged.screens, *drawn))
        level = "" if area.level == areas[solid.stands_on].level else f", level {area.level}"
        for lies, pose in near_places(there, solid, name, _PLACES["other floor"]):
            at = f"{1000 * lies.from_left_m:.0f} mm from the left and {1000 * lies.from_front_m:.0f} mm from the front"
            yield f"move it to basket {name}{level}, {at}{_pointing(solid, pose, lies)}", pose, there


def _basket_of(placed: PlacedPiece) -> str | None:
    """Name the basket area in which a piece, or its pod or holder, lies or stands."""
    return placed.position if placed.placing is Placing.BASKET else placed.stands_in

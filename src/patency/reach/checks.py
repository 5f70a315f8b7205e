"""Exact checks of a load as solids: arms, chamber, bodies, baskets, contact and puddles."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from patency.reach.baskets import out_of_basket, through_screens
from patency.reach.faults import Fault, Rule
from patency.reach.jets.casting import OFFSET_M, RayScene
from patency.reach.outside import out_of_chamber
from patency.reach.puddles import puddles
from patency.reach.solids.placed import Role
from patency.reach.sweeps import near_arms
from patency.reach.touching import intersections, lies_on, met_by

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from patency.catalogue import LoadLimits, MachineKind
    from patency.reach.solids.mesh import Floats, Mesh
    from patency.reach.solids.placed import Arranged, PieceKey, PlacedSolid

_TOUCHING_M = 0.0003  # what lies nearer than this touches: wire and sheet are no flatter
_ROUNDING_M = 1e-6


def faults_of_arrangement(arranged: Arranged, kind: MachineKind, limits: LoadLimits) -> list[Fault]:
    """Find what is wrong with places and directions in a load, jets left aside.

    Parameters
    ----------
    arranged
        The load as solids.
    kind
        The kind of machine, for what its arms sweep.
    limits
        The site's limits; one that is not stated counts as zero distance, zero area, zero volume.

    Returns
    -------
    list[Fault]
        One for each rule and piece, in the order of the rules.
    """
    pieces = [one for one in arranged.solids if one.role is Role.PIECE and one.piece is not None]
    clearance = limits.arm_clearance.value if limits.arm_clearance else 0.0
    contact = limits.contact_area.value if limits.contact_area else 0.0
    water = limits.kept_water.value if limits.kept_water else 0.0
    rigid = [one for one in arranged.solids if one.role in (Role.PIECE, Role.CONNECTION)]
    found = [fault for one in rigid for fault in near_arms(one, kind, clearance)]
    found += out_of_chamber(arranged)
    found += _intersecting(arranged)
    found += [fault for one in pieces for fault in out_of_basket(arranged, one)]
    found += through_screens(arranged, rigid)
    found += _resting(arranged, contact)
    for one in pieces:
        found += _keeping_water(one, kept_water_m3(one), water)
    return found


def faults_of_piece(arranged: Arranged, number: int, kind: MachineKind, limits: LoadLimits) -> list[Fault]:
    """Find what is wrong with place and direction of one piece, what it lies on and what lies on it left aside.

    Parameters
    ----------
    arranged
        The load as solids.
    number
        Number of the piece's body; what connects it is looked at too.
    kind
        The kind of machine, for what its arms sweep.
    limits
        The site's limits, as in ``faults_of_arrangement``.

    Returns
    -------
    list[Fault]
        In the order of the rules.
    """
    one = arranged.solids[number]
    clearance = limits.arm_clearance.value if limits.arm_clearance else 0.0
    water = limits.kept_water.value if limits.kept_water else 0.0
    found: list[Fault] = []
    rigid = []
    for each, its in enumerate(arranged.solids):
        if each == number or (its.role is Role.CONNECTION and its.piece == one.piece):
            rigid.append(its)
            found += near_arms(its, kind, clearance)
            found += [_runs_into(its, arranged.solids[other]) for other in met_by(arranged, each)]
    found += [fault for fault in out_of_chamber(arranged) if fault.piece == one.piece]
    found += out_of_basket(arranged, one)
    found += through_screens(arranged, rigid)
    return found + _keeping_water(one, kept_water_m3(one), water)


def faults_after_move(
    before: list[Fault],
    arranged: tuple[Arranged, Arranged],
    number: int,
    kind: MachineKind,
    limits: LoadLimits,
    scene: RayScene | None = None,
) -> list[Fault]:
    """Find what is wrong with a load after one piece was moved; only what that can change is looked at.

    Parameters
    ----------
    before
        What was wrong before, as of ``faults_of_arrangement``.
    arranged
        The load before and after.
    number
        Number of the body that was moved.
    kind
        The kind of machine, for what its arms sweep.
    limits
        The site's limits, as in ``faults_of_arrangement``.
    scene
        The bodies as they are after; built where left out.

    Returns
    -------
    list[Fault]
        The same as of ``faults_of_arrangement``, in another order.
    """
    was, now = arranged
    mover = now.solids[number]
    looked_at = _near(was, number) | _near(now, number)
    near = {now.solids[each].piece for each in looked_at}
    resting = (Rule.CONTACT, Rule.ON_LIGHTER)
    others = [one for one in before if one.piece != mover.piece and one.rule is not Rule.OUTSIDE]
    kept = [one for one in others if one.rule not in resting or one.piece not in near]
    kept += [one for one in out_of_chamber(now) if one.piece != mover.piece]
    for fault in _run_into_it(was, number):
        kept.remove(fault)
    kept += _run_into_it(now, number)
    contact = limits.contact_area.value if limits.contact_area else 0.0
    kept += faults_of_piece(now, number, kind, limits)
    return [*kept, *_resting(now, contact, scene, looked_at)]


def _near(arranged: Arranged, number: int) -> set[int]:
    """Return the numbers of the pieces that may touch a body, and its own."""
    pieces = np.fromiter(arranged.number_of.values(), dtype=np.int64)
    (low, high), bounds, wide = arranged.bounds_m[number], arranged.bounds_m[pieces], 2 * _TOUCHING_M
    near = ((bounds[:, 0] <= high + wide) & (bounds[:, 1] >= low - wide)).all(axis=1)
    return set(pieces[near].tolist())


def kept_water_m3(solid: PlacedSolid) -> float:
    """Return how much water stays in all hollows of a body as it stands.

    Parameters
    ----------
    solid
        The body in its place.

    Returns
    -------
    float
        Volume [m³].
    """
    return _kept_water_m3(solid.mesh, (np.round(solid.pose.turn[2], 9) + 0.0).tobytes())


@lru_cache(maxsize=1024)
def _kept_water_m3(mesh: Mesh, up: bytes) -> float:
    """Return the same of a mesh with what is up in its own axes: where it stands, and turned which way, is all one."""
    upward = np.frombuffer(up)
    aside = np.cross(upward, np.eye(3)[np.abs(upward).argmin()])
    aside /= np.linalg.norm(aside)
    turned = mesh.moved(np.stack([aside, np.cross(upward, aside), upward]), np.zeros(3))
    return sum(one.volume_m3 for one in puddles(turned))


def _key(solid: PlacedSolid) -> PieceKey:
    return solid.piece or ("", "")


def _intersecting(arranged: Arranged) -> Iterator[Fault]:
    for number, other in intersections(arranged):
        one, its = arranged.solids[number], arranged.solids[other]
        for mine, yours in ((one, its), (its, one)):
            if mine.role is Role.PIECE or one.role is its.role:
                yield _runs_into(mine, yours)


def _run_into_it(arranged: Arranged, number: int) -> list[Fault]:
    met = [arranged.solids[other] for other in met_by(arranged, number)]
    return [_runs_into(one, arranged.solids[number]) for one in met if one.role is Role.PIECE]


def _runs_into(mine: PlacedSolid, other: PlacedSolid) -> Fault:
    return Fault(Rule.INTERSECTS, _key(mine), f"runs into {other.words} at {other.stands_on}", 0.0)


def _keeping_water(solid: PlacedSolid, stays_m3: float, largest_m3: float) -> list[Fault]:
    if stays_m3 <= largest_m3:
        return []
    return [Fault(Rule.KEEPS_WATER, _key(solid), f"{1e6 * stays_m3:.1f} mL of water stay in it", stays_m3)]


def _resting(
    arranged: Arranged, largest_m2: float, scene: RayScene | None = None, looked_at: Collection[int] | None = None
) -> Iterator[Fault]:
    """Find what lies on what: by the bodies; on which area, by the patches that are so near that they touch."""
    scene = scene or RayScene([(one.in_carrier.vertices, one.in_carrier.faces) for one in arranged.solids])
    for number in arranged.number_of.values() if looked_at is None else sorted(looked_at):
        upper = arranged.solids[number]
        areas = _areas_on_others_m2(arranged, number, scene)
        for other in sorted(_near(arranged, number) - {number}):
            lower = arranged.solids[other]
            if areas[other] > largest_m2:
                words = f"lies flat on {lower.words}: they touch on {1e6 * areas[other]:.0f} mm²"
                yield Fault(Rule.CONTACT, _key(upper), words, float(areas[other]))
            if lies_on(upper, lower, _TOUCHING_M):
                yield from _on_lighter(upper, lower)


def _areas_on_others_m2(arranged: Arranged, number: int, scene: RayScene) -> Floats:
    """Return with which area of its underside a body touches each body [m²]."""
    mesh = arranged.solids[number].in_carrier
    begins = mesh.patch_centres + OFFSET_M * mesh.patch_normals
    faces = scene.first_met(begins, mesh.patch_centres + _TOUCHING_M * mesh.patch_normals)
    touch = (faces >= 0) & (mesh.patch_normals[:, 2] < -0.5)
    areas: Floats = np.zeros(len(arranged.solids))
    np.add.at(areas, scene.body_of_face[faces[touch]], mesh.patch_areas_m2[touch])
    return areas


def _on_lighter(upper: PlacedSolid, lower: PlacedSolid) -> Iterator[Fault]:
    if upper.mass_kg is None or lower.mass_kg is None:
        words = f"lies on {lower.words}, and which of them is the lighter is not stated"
        yield Fault(Rule.ON_LIGHTER, _key(upper), words, upper.mass_kg or 0.0)
    elif upper.mass_kg > lower.mass_kg:
        words = f"lies on {lower.words}, which is lighter"
        yield Fault(Rule.ON_LIGHTER, _key(upper), words, upper.mass_kg)

"""What changes in the samples of pieces that stay when another piece moves."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.casting import OFFSET_M
from patency.reach.jets.flights import faces_in_way, flights_of, joined_flights, shares_through
from patency.reach.jets.looking import with_finer
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.sample_kernels import OwnBox
from patency.reach.jets.samples import FIRST_LOOK, FREE, SECOND_LOOK

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.casting import RayScene
    from patency.reach.jets.flights import Flights
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.jets.kernels import Jets
    from patency.reach.jets.looking import Obstacles
    from patency.reach.jets.samples import Samples
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import PlacedSolid


class Mover(NamedTuple):
    """The piece that moves.

    Parameters
    ----------
    number
        Number of its body.
    solid
        The body where it goes.
    alone
        It alone, for rays.
    """

    number: int
    solid: PlacedSolid
    alone: RayScene


class _Touched(NamedTuple):
    """Samples that a move can change.

    Parameters
    ----------
    stood
        Numbers of those in whose way the piece stood.
    free
        Numbers of those that come through and in whose way it can come to stand.
    """

    stood: Integers
    free: Integers


class _Stands(NamedTuple):
    """What stands in the way of touched samples now.

    Parameters
    ----------
    bodies
        Numbers of the bodies in the way of those in whose way the piece stood; ``FREE`` where none does.
    shares
        What comes through of those.
    meets
        Whether the piece stands in the way of those that came through.
    """

    bodies: NDArray[np.int32]
    shares: Floats
    meets: NDArray[np.bool_]


def samples_after(
    parts: Sequence[tuple[Surface, Samples]], mover: Mover, obstacles: Obstacles, water: tuple[Arms, Jets, JetSampling]
) -> list[Samples | None]:
    """Find what is otherwise in the samples of pieces that stay after another has moved.

    Parameters
    ----------
    parts
        Surfaces with what was known of them.
    mover
        The piece that moves.
    obstacles
        What can stand in the way, that piece where it goes.
    water
        The arms, their jets, and how finely.

    Returns
    -------
    list[Samples | None]
        The samples of each; None where they are the same.
    """
    own = _own_box(mover.solid)
    found = [_touched(*part, mover, own, water[1]) for part in parts]
    touched = {number: one for number, one in enumerate(found) if len(one.stood) or len(one.free)}
    changed: dict[int, tuple[Surface, Samples, NDArray[np.bool_]]] = {}
    for number, stands in _stands(parts, touched, mover, obstacles, water).items():
        surface, before = parts[number]
        otherwise = _changed(before, touched[number], stands, mover.number)
        if otherwise is not None:
            changed[number] = (surface, *otherwise)
    if not changed:
        return [None] * len(parts)
    after = dict(zip(changed, with_finer(list(changed.values()), obstacles, water), strict=True))
    return [after.get(number) for number in range(len(parts))]


def _own_box(solid: PlacedSolid) -> OwnBox:
    """Return the box of a body along its own axes, no way that touches it left out."""
    turn = np.ascontiguousarray(solid.pose.turn)
    low, high = solid.mesh.bounds_m
    return OwnBox(solid.pose.shift_m + turn @ (low + high) / 2, turn, (high - low) / 2 + OFFSET_M)


def _touched(surface: Surface, before: Samples, mover: Mover, own: OwnBox, jets: Jets) -> _Touched:
    low, high = mover.solid.in_carrier.bounds_m
    box = (low - OFFSET_M, high + OFFSET_M)
    numbers = (before.patch_of, before.jet_of, before.step_of, before.blocker, before.share)
    free = np.empty(len(before.share), dtype=np.int64)  # of which only what is written takes memory
    count = compiled("touched_samples")(surface.centres, jets, numbers, box, own, free)
    return _Touched(before.behind(mover.number), free[:count].copy())


def _stands(
    parts: Sequence[tuple[Surface, Samples]],
    touched: Mapping[int, _Touched],
    mover: Mover,
    obstacles: Obstacles,
    water: tuple[Arms, Jets, JetSampling],
) -> dict[int, _Stands]:
    """Tell what stands in the way of touched samples now, for each part of which there are."""
    if not touched:
        return {}
    arms, jets, sampling = water
    scene, walls = obstacles
    flights: tuple[list[Flights], list[Flights]] = ([], [])
    for number, rows in touched.items():
        for several, kind in zip(flights, rows, strict=True):
            several.append(flights_of(*parts[number], jets, arms.water_density_kg_m3, kind))
    behind, ahead = map(joined_flights, flights)
    bodies = scene.bodies_of(faces_in_way(behind, scene, sampling))
    shares = shares_through(behind, walls, bodies == FREE)
    meets = faces_in_way(ahead, mover.alone, sampling) != FREE
    stood, free = (np.cumsum([len(rows[kind]) for rows in touched.values()])[:-1] for kind in (0, 1))
    columns = zip(np.split(bodies, stood), np.split(shares, stood), np.split(meets, free), strict=True)
    return {number: _Stands(*one) for number, one in zip(touched, columns, strict=True)}


def _changed(
    before: Samples, touched: _Touched, stands: _Stands, mover: int
) -> tuple[Samples, NDArray[np.bool_]] | None:
    """Return the samples with what stands in their way now, before closer looks; None where that is as it was.

    With them comes [patch] whether that is so of any of its samples.
    """
    met, freed = touched.free[stands.meets], touched.stood[stands.bodies != mover]
    others = np.concatenate([freed, met])
    if not len(others):
        return None
    blocker, free = before.blocker.copy(), stands.bodies == FREE
    blocker[touched.stood], blocker[met] = stands.bodies, mover
    before.share[touched.stood[free]] = stands.shares[free]  # the same in every load that holds this array
    # What keeps jets off these patches has changed, so something else can open between two angles: at a second look
    # also where ways to a face of the body that is gone were left out.
    looks, doubted = before.looks.copy(), np.zeros(len(before.looks), dtype=np.bool_)
    doubted[before.patch_of[others]] = True
    looks[doubted] = np.minimum(looks[doubted], SECOND_LOOK)
    looks[before.patch_of[freed[before.look[freed] == SECOND_LOOK]]] = FIRST_LOOK
    return replace(before, blocker=blocker, looks=looks), doubted

"""Looks from a surface at all jets: at some angles of their arms, at finer ones, and between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.flights import faces_in_way, flights_of, shares_through
from patency.reach.jets.gaps import halved
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.samples import BETWEEN, COLUMNS, FIRST_LOOK, FOUND_TYPES, FREE, SECOND_LOOK, Samples

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.casting import RayScene
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.jets.kernels import Jets, Walls
    from patency.reach.jets.samples import Found
    from patency.reach.solids.mesh import Integers

_SAMPLES_PER_PATCH = 100  # room made at first; more is made where it is not enough
_SPARSE = 16  # of the samples of a second look followed at first
_PART = 1 << 15  # samples worked on at a time: they stay in the processor's cache


class Obstacles(NamedTuple):
    """What can stand in the way of jets.

    Parameters
    ----------
    scene
        All bodies of a load.
    walls
        Its wire walls.
    """

    scene: RayScene
    walls: Walls


def samples_of(
    surface: Surface, obstacles: Obstacles, water: tuple[Arms, Jets, JetSampling], patches: Integers
) -> Samples:
    """Find all samples of some patches and what stands in their way.

    Parameters
    ----------
    surface
        The patches.
    obstacles
        What can stand in the way.
    water
        The arms, their jets, and how finely.
    patches
        Numbers of the patches that are asked for.

    Returns
    -------
    Samples
        Patch by patch, jet by jet, in the order of the angle; behind them those of second looks, in the same order, and
        those between. Patches that are not asked for count as done.
    """
    met = _found(surface, water[1], patches, FIRST_LOOK, water[2])
    found = _cast(surface, met, obstacles, water, FIRST_LOOK)
    found.looks[:] = BETWEEN
    found.looks[patches] = FIRST_LOOK
    return with_finer(surface, found, obstacles, water)


def with_finer(
    surface: Surface, samples: Samples, obstacles: Obstacles, water: tuple[Arms, Jets, JetSampling]
) -> Samples:
    """Look at finer angles, once more and then between them, for those patches that nothing strikes.

    Parameters
    ----------
    surface
        The patches.
    samples
        What is known of them.
    obstacles
        What can stand in the way.
    water
        The arms, their jets, and how finely.

    Returns
    -------
    Samples
        The samples with those at finer angles behind them; the same where there are none.
    """

    def cast(found: Found, look: int) -> Samples:
        return _cast(surface, found, obstacles, water, look)

    missed = _missed(samples, SECOND_LOOK)
    if missed.any():
        found = _found(surface, water[1], np.flatnonzero(missed), SECOND_LOOK, water[2])
        samples = _anew(samples, missed, [cast(found, SECOND_LOOK)], SECOND_LOOK)
    missed = _missed(samples, BETWEEN)
    if missed.any():
        samples = _anew(samples, missed, list(halved(surface, samples, missed, water[1], cast)), BETWEEN)
    return samples


def _missed(samples: Samples, look: int) -> NDArray[np.bool_]:
    """Return which patches nothing strikes that a look was not spent on yet."""
    missed = samples.looks < look
    if missed.any():
        struck = np.zeros(len(missed), dtype=np.bool_)
        compiled("struck_patches")(samples.patch_of, samples.share, struck)
        missed &= ~struck
    return missed


def _anew(samples: Samples, patches: NDArray[np.bool_], more: Sequence[Samples], look: int) -> Samples:
    """Return the samples with those that a look found of some patches, in place of what it replaces of them."""
    stays = ~patches[samples.patch_of]
    if look == BETWEEN:
        stays |= samples.look != BETWEEN
    columns = {name: [getattr(samples, name)[stays], *(getattr(one, name) for one in more)] for name in COLUMNS}
    joined = {name: np.concatenate(parts) for name, parts in columns.items()}
    return Samples(**joined, looks=np.where(patches, np.int8(look), samples.looks))


def _cast(
    surface: Surface, found: Found, obstacles: Obstacles, water: tuple[Arms, Jets, JetSampling], look: int
) -> Samples:
    """Find what stands in the way of new samples."""
    arms, jets, sampling = water
    count = len(found[0])
    cosine, pressure, share = (np.zeros(count, dtype=np.float32) for _ in range(3))
    blocker, looked = np.full(count, FREE, dtype=np.int32), np.full(count, look, dtype=np.int8)
    looks = np.full(len(surface.centres), look, dtype=np.int8)
    patch_of, jet_of, step_of, stands_for = found
    samples = Samples(patch_of, jet_of, step_of, stands_for, cosine, pressure, blocker, share, looked, looks)
    scene, walls = obstacles

    def follow(rows: Integers) -> NDArray[np.int32]:
        faces = np.empty(len(rows), dtype=np.int32)
        for start in range(0, len(rows), _PART):
            part = rows[start : start + _PART]
            flights = flights_of(surface, samples, jets, arms.water_density_kg_m3, part)
            met = faces[start : start + _PART] = faces_in_way(flights, scene, sampling)
            blocker[part] = scene.bodies_of(met)
            share[part] = shares_through(flights, walls, met == FREE)
        return faces

    if look == SECOND_LOOK:
        return _followed_sparsely(samples, jets.nozzle.shape[1], follow)
    follow(np.arange(count))
    return samples


def _followed_sparsely(samples: Samples, steps: int, follow: Callable[[Integers], NDArray[np.int32]]) -> Samples:
    """Follow some of the flights, then those in the middle between two until both ends meet the same face.

    What lies between two ways from a patch to one triangle meets that triangle too: it is plane and has no dents. The
    nozzle turns on a circle, not on the straight line between, but over so few angles that this is a tenth of a
    millimetre on the way. So it is left out, and the first of the two stands for it.
    """
    count = len(samples.share)
    rows, begins = np.empty(count, dtype=np.int64), np.empty(count, dtype=np.bool_)
    places = (samples.patch_of, samples.jet_of, samples.step_of, samples.stands_for)
    coarse = compiled("coarse_rows")(*places, steps, _SPARSE, rows, begins)
    rows, begins = rows[:coarse], begins[:coarse]
    met, followed = np.full(count, FREE, dtype=np.int32), np.zeros(count, dtype=np.bool_)
    met[rows], followed[rows] = follow(rows), True
    low, high = rows[:-1][~begins[1:]], rows[1:][~begins[1:]]
    while True:
        wide = high - low > 1
        low, high = low[wide], high[wide]
        apart = (met[low] != met[high]) | (met[low] == FREE)
        low, high = low[apart], high[apart]
        if not len(low):
            return _thinned(samples, np.flatnonzero(followed), steps)
        middle = (low + high) // 2
        met[middle], followed[middle] = follow(middle), True
        low, high = np.concatenate([low, middle]), np.concatenate([middle, high])


def _thinned(samples: Samples, rows: Integers, steps: int) -> Samples:
    """Return some of the samples, each of which stands for those up to the next where some between are left out."""
    before = rows[:-1][np.diff(rows) > 1]
    behind = rows[1:][np.diff(rows) > 1]
    stands_for = samples.stands_for.copy()
    stands_for[before] = (samples.step_of[behind] - samples.step_of[before]) % steps
    columns = {name: getattr(samples, name)[rows] for name in COLUMNS}
    return Samples(**{**columns, "stands_for": stands_for[rows]}, looks=samples.looks)


def _found(surface: Surface, jets: Jets, patches: Integers, look: int, sampling: JetSampling) -> Found:
    room = len(patches) * _SAMPLES_PER_PATCH
    while True:
        columns = tuple(np.empty(room, dtype=kind) for kind in FOUND_TYPES)
        count = compiled("find_samples")(
            surface.centres, surface.normals, jets, patches, look, sampling.finer, *columns
        )
        if count <= room:
            return tuple(column[:count].copy() for column in columns)
        room = count

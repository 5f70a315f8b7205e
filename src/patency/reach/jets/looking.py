"""Looks from a surface at all jets: at some angles of their arms, at finer ones, and between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.flights import faces_in_way, flights_of, shares_through
from patency.reach.jets.gaps import halved
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.runs import runs_of, sparsely_followed
from patency.reach.jets.samples import BETWEEN, COLUMNS, FIRST_LOOK, FOUND_TYPES, FREE, SECOND_LOOK, Samples

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.casting import RayScene
    from patency.reach.jets.inputs import JetSampling, Surface
    from patency.reach.jets.kernels import Jets, Walls
    from patency.reach.jets.samples import Found
    from patency.reach.solids.mesh import Integers

_SAMPLES_PER_PATCH = 100  # room made at first; more is made where it is not enough
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
    met = _found(surface, water[1], patches, water[2])
    found, _ = _cast(surface, met, obstacles, water, FIRST_LOOK)
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

    def cast(found: Found, look: int) -> tuple[Samples, Integers]:
        return _cast(surface, found, obstacles, water, look)

    jets = water[1]
    missed = _missed(samples, SECOND_LOOK)
    if missed.any():
        runs = runs_of(surface, jets, np.flatnonzero(missed), water[2])
        samples = _anew(samples, missed, [sparsely_followed(runs, jets.nozzle.shape[1], cast)], SECOND_LOOK)
    missed = _missed(samples, BETWEEN)
    if missed.any():
        samples = _anew(samples, missed, list(halved(surface, samples, missed, jets, cast)), BETWEEN)
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
) -> tuple[Samples, Integers]:
    """Make samples of what is found at a look, and tell which face stands in the way of each."""
    arms, jets, sampling = water
    count = len(found[0])
    cosine, pressure, share = (np.zeros(count, dtype=np.float32) for _ in range(3))
    blocker, looked = np.full(count, FREE, dtype=np.int32), np.full(count, look, dtype=np.int8)
    looks = np.full(len(surface.centres), look, dtype=np.int8)
    patch_of, jet_of, step_of, stands_for = found
    samples = Samples(patch_of, jet_of, step_of, stands_for, cosine, pressure, blocker, share, looked, looks)
    scene, walls = obstacles
    faces = np.empty(count, dtype=np.int64)
    for start in range(0, count, _PART):
        part = np.arange(start, min(start + _PART, count))
        flights = flights_of(surface, samples, jets, arms.water_density_kg_m3, part)
        met = faces_in_way(flights, scene, sampling)
        faces[part] = met
        blocker[part] = scene.bodies_of(met)
        share[part] = shares_through(flights, walls, met == FREE)
    return samples, faces


def _found(surface: Surface, jets: Jets, patches: Integers, sampling: JetSampling) -> Found:
    room = len(patches) * _SAMPLES_PER_PATCH
    while True:
        columns = tuple(np.empty(room, dtype=kind) for kind in FOUND_TYPES)
        count = compiled("find_samples")(surface.centres, surface.normals, jets, patches, sampling.finer, *columns)
        if count <= room:
            return tuple(column[:count].copy() for column in columns)
        room = count

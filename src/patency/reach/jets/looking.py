"""Looks from a surface at all jets: at some angles of their arms, at finer ones, and between them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.asked import asked_of
from patency.reach.jets.flights import faces_in_way, flights_of, shares_through
from patency.reach.jets.gaps import halved
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.runs import runs_of, sparsely_followed
from patency.reach.jets.samples import (
    BETWEEN,
    COLUMNS,
    FIRST_LOOK,
    FOUND_TYPES,
    FREE,
    SECOND_LOOK,
    Samples,
    joined_samples,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.arms import Arms
    from patency.reach.jets.asked import Asked
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
    asked = asked_of([(surface, patches)])
    samples, _ = _cast(asked, _found(asked, *water[1:]), obstacles, water, FIRST_LOOK)
    looks = np.full(len(surface.centres), BETWEEN, dtype=np.int8)
    looks[patches] = FIRST_LOOK
    found = replace(samples, patch_of=patches[samples.patch_of].astype(np.int32), looks=looks)
    return with_finer([(surface, found, looks < BETWEEN)], obstacles, water)[0]


def with_finer(
    parts: Sequence[tuple[Surface, Samples, NDArray[np.bool_]]],
    obstacles: Obstacles,
    water: tuple[Arms, Jets, JetSampling],
) -> list[Samples]:
    """Look at finer angles, once more and then between them, for those patches that nothing strikes.

    Parameters
    ----------
    parts
        Surfaces with what is known of them, and [patch] whether it can be that nothing strikes it and that was not
        looked into; all are looked from together.
    obstacles
        What can stand in the way.
    water
        The arms, their jets, and how finely.

    Returns
    -------
    list[Samples]
        The samples of each with those at finer angles behind them; the same where there are none.
    """
    surfaces, known, doubted = map(list, zip(*parts, strict=True))
    jets, sampling = water[1:]
    for look in (SECOND_LOOK, BETWEEN):
        missed = [_missed(samples, look, patches) for samples, patches in zip(known, doubted, strict=True)]
        asked = asked_of([(one, np.flatnonzero(rows)) for one, rows in zip(surfaces, missed, strict=True)])
        if not len(asked.numbers):
            continue

        def cast(found: Found, look: int, asked: Asked = asked) -> tuple[Samples, Integers]:
            return _cast(asked, found, obstacles, water, look)

        if look == SECOND_LOOK:
            found = [sparsely_followed(runs_of(asked, jets, sampling), jets.nozzle.shape[1], cast)]
        else:
            found = list(halved(asked, _second_looks(known, missed), jets, cast))
        more = asked.split(joined_samples(found))
        known = [_anew(*one, look) if one[1].any() else one[0] for one in zip(known, missed, more, strict=True)]
    return known


def _second_looks(known: Sequence[Samples], missed: Sequence[NDArray[np.bool_]]) -> Samples:
    """Return what second looks found of the patches that are missed, numbered in a row."""
    parts, begin = [], 0
    for samples, patches in zip(known, missed, strict=True):
        if not patches.any():
            continue
        rows = np.flatnonzero((samples.look == SECOND_LOOK) & patches[samples.patch_of])
        columns = {name: getattr(samples, name)[rows] for name in COLUMNS}
        columns["patch_of"] = (begin + np.cumsum(patches) - 1)[columns["patch_of"]].astype(np.int32)
        parts.append(replace(samples, **columns))
        begin += int(patches.sum())
    return joined_samples(parts)


def _missed(samples: Samples, look: int, doubted: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which of some patches nothing strikes that a look was not spent on yet."""
    missed: NDArray[np.bool_] = doubted & (samples.looks < look)
    if missed.any():
        compiled("leave_out_struck")(samples.patch_of, samples.blocker, samples.share, missed)
    return missed


def _anew(samples: Samples, patches: NDArray[np.bool_], more: Samples, look: int) -> Samples:
    """Return the samples with those that a look found of some patches, in place of what it replaces of them."""
    stays = ~patches[samples.patch_of]
    if look == BETWEEN:
        stays |= samples.look != BETWEEN
    rows = np.flatnonzero(stays)
    columns = {name: np.concatenate([getattr(samples, name)[rows], getattr(more, name)]) for name in COLUMNS}
    return Samples(**columns, looks=np.where(patches, np.int8(look), samples.looks))


def _cast(
    asked: Asked, found: Found, obstacles: Obstacles, water: tuple[Arms, Jets, JetSampling], look: int
) -> tuple[Samples, Integers]:
    """Make samples of what is found at a look, and tell which face stands in the way of each."""
    arms, jets, sampling = water
    count = len(found[0])
    cosine, pressure, share = (np.zeros(count, dtype=np.float32) for _ in range(3))
    blocker, looked = np.full(count, FREE, dtype=np.int16), np.full(count, look, dtype=np.int8)
    patch_of, jet_of, step_of, stands_for = found
    samples = Samples(
        patch_of, jet_of, step_of, stands_for, cosine, pressure, blocker, share, looked, np.empty(0, dtype=np.int8)
    )
    scene, walls = obstacles
    faces = np.empty(count, dtype=np.int64)
    for start in range(0, count, _PART):
        part = np.arange(start, min(start + _PART, count))
        flights = flights_of(asked, samples, jets, arms.water_density_kg_m3, part)
        met = faces_in_way(flights, scene, sampling)
        faces[part] = met
        blocker[part] = scene.bodies_of(met)
        share[part] = shares_through(flights, walls, met == FREE)
    return samples, faces


def _found(asked: Asked, jets: Jets, sampling: JetSampling) -> Found:
    room = len(asked.numbers) * _SAMPLES_PER_PATCH
    while True:
        columns = tuple(np.empty(room, dtype=kind) for kind in FOUND_TYPES)
        patches = (asked.centres, asked.normals, asked.numbers)
        count = compiled("find_samples")(*patches, jets, sampling.finer, *columns)
        if count <= room:
            return tuple(column[:count].copy() for column in columns)
        room = count

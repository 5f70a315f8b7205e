"""How much water stays in the hollows of a closed mesh as it stands: every concavity, exactly on its triangles."""

from __future__ import annotations

import heapq
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach.solids.mesh import Floats, Integers, Mesh

_SAME_M = 1e-7  # corners nearer than this are one
_LEAST_M3 = 1e-10  # a tenth of a cubic millimetre: rounding of facets, no puddle


class Puddle(NamedTuple):
    """Water that stays in one hollow.

    Parameters
    ----------
    volume_m3
        How much [m³].
    level_m
        Height of its surface, that of the lowest point of the rim [m].
    deepest_m
        [3] its deepest point [m].
    """

    volume_m3: float
    level_m: float
    deepest_m: Floats


def puddles(mesh: Mesh) -> tuple[Puddle, ...]:
    """Find the water that stays on a mesh when it has run off.

    Water runs down the surface; where it reaches a lowest point under which there is no solid it drips off. A point
    from which every way to a drip rises first holds water up to the lowest such rise (the pass of the fill after
    L. Vincent and P. Soille, Watersheds in digital spaces, 1991, on the edges of the mesh). Each body counts by itself:
    what two bodies hold between them is left out, and so are films and drops held by capillarity.

    Parameters
    ----------
    mesh
        Closed bodies in their place, z up.

    Returns
    -------
    tuple[Puddle, ...]
        Each hollow with its water, the largest first.
    """
    _, first, inverse = np.unique(np.round(mesh.vertices / _SAME_M), axis=0, return_index=True, return_inverse=True)
    places = mesh.vertices[first]
    faces = inverse.reshape(-1)[mesh.faces]
    faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])]
    neighbours = _neighbours(faces, len(places))
    levels = _spill_levels(places, faces, neighbours)
    wet = levels > places[:, 2] + _SAME_M
    found = [
        Puddle(_volume_m3(places, faces, group, level), level, places[group[np.argmin(places[group, 2])]])
        for group, level in _pools(levels, wet, neighbours)
    ]
    return tuple(sorted((one for one in found if one.volume_m3 > _LEAST_M3), key=lambda one: -one.volume_m3))


def _neighbours(faces: Integers, count: int) -> list[Integers]:
    pairs = np.concatenate([faces[:, [a, b]] for a, b in ((0, 1), (1, 2), (2, 0), (1, 0), (2, 1), (0, 2))])
    pairs = np.unique(pairs, axis=0)
    return np.split(pairs[:, 1], np.searchsorted(pairs[:, 0], np.arange(1, count)))


def _spill_levels(places: Floats, faces: Integers, neighbours: Sequence[Integers]) -> Floats:
    """Return for each corner the lowest height over which water has to rise on its way to a drip."""
    height = places[:, 2]
    levels = np.full(len(places), np.inf)
    queue = [(height[drip], int(drip)) for drip in _drips(places, faces, neighbours)]
    for level, drip in queue:
        levels[drip] = level
    heapq.heapify(queue)
    while queue:
        level, corner = heapq.heappop(queue)
        if level > levels[corner]:
            continue
        for other in neighbours[corner]:
            rises = max(level, height[other])
            if rises < levels[other]:
                levels[other] = rises
                heapq.heappush(queue, (rises, int(other)))
    return np.where(np.isfinite(levels), levels, height)  # a void without any way out gets no water either


def _drips(places: Floats, faces: Integers, neighbours: Sequence[Integers]) -> Integers:
    """Return the corners that are lowest around, alone or in a level patch, with no solid below them."""
    normal = np.cross(places[faces[:, 1]] - places[faces[:, 0]], places[faces[:, 2]] - places[faces[:, 0]])
    upward = np.bincount(faces.ravel(), np.repeat(normal[:, 2], 3), len(places))
    height = places[:, 2]
    lowest = np.array([(height[near] >= height[here] - _SAME_M).all() for here, near in enumerate(neighbours)])
    drips = []
    seen = np.zeros(len(places), dtype=np.bool_)
    for corner in np.flatnonzero(lowest):
        if seen[corner]:
            continue
        patch = _level_patch(int(corner), height, neighbours)
        seen[patch] = True
        if lowest[patch].all() and upward[patch].sum() < 0.0:
            drips.append(patch[0])
    return np.array(drips, dtype=np.int64)


def _level_patch(corner: int, height: Floats, neighbours: Sequence[Integers]) -> Integers:
    found, waiting = {corner}, [corner]
    while waiting:
        here = waiting.pop()
        for other in neighbours[here]:
            if int(other) not in found and abs(height[other] - height[corner]) <= _SAME_M:
                found.add(int(other))
                waiting.append(int(other))
    return np.array(sorted(found), dtype=np.int64)


def _pools(levels: Floats, wet: np.ndarray, neighbours: Sequence[Integers]) -> list[tuple[Integers, float]]:
    """Gather wet corners that lie under one level and hang together."""
    pools = []
    seen = np.zeros(len(levels), dtype=np.bool_)
    for corner in np.flatnonzero(wet):
        if seen[corner]:
            continue
        group, waiting = [], [int(corner)]
        seen[corner] = True
        while waiting:
            here = waiting.pop()
            group.append(here)
            for other in neighbours[here]:
                if wet[other] and not seen[other] and levels[other] == levels[corner]:
                    seen[other] = True
                    waiting.append(int(other))
        pools.append((np.array(group, dtype=np.int64), float(levels[corner])))
    return pools


def _volume_m3(places: Floats, faces: Integers, group: Integers, level_m: float) -> float:
    """Return the volume between the surface around some corners and a level: each triangle cut at the level."""
    within = np.zeros(len(places), dtype=np.bool_)
    within[group] = True
    total = 0.0
    for face in faces[within[faces].any(axis=1)]:
        corners = places[face]
        total += _under_level_m3(corners - np.array([0.0, 0.0, level_m]))
    return total


def _under_level_m3(corners: Floats) -> float:
    """Return the volume between the part of a triangle below z = 0 and that level; less than 0 for an overhang."""
    below = []
    for here, other in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if here[2] < 0.0:
            below.append(here)
        if (here[2] < 0.0) != (other[2] < 0.0):
            below.append(here + (other - here) * (here[2] / (here[2] - other[2])))
    volume = 0.0
    for second, third in pairwise(below[1:]):
        ahead, aside = second - below[0], third - below[0]
        area = (ahead[0] * aside[1] - ahead[1] * aside[0]) / 2  # seen from above
        volume -= area * (below[0][2] + second[2] + third[2]) / 3
    return float(volume)

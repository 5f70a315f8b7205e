"""Simple bodies as meshes: turned profiles, boxes, and round wire along a path. The axis of a piece is z."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.reach.solids.mesh import Mesh, Zone, joined, of_grid

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach.solids.mesh import Floats

_LEAST_FACETS = 10


def turned(profile: Sequence[tuple[float, float]], zones: Sequence[Zone], cell_m: float) -> Mesh:
    """Turn a profile around the z axis.

    Parameters
    ----------
    profile
        Points (radius, height) [m] with the solid on the left of the way from point to point; a profile that begins
        and ends on the axis, or in itself, gives a closed mesh.
    zones
        The zone of each stretch between two points.
    cell_m
        Largest size of a patch [m].

    Returns
    -------
    Mesh
        The body; its corners lie on the true surface.
    """
    points, names = [profile[0]], []
    for begin, end, zone in zip(profile, profile[1:], zones, strict=False):
        count = max(1, math.ceil(math.dist(begin, end) / cell_m - 1e-9))
        for step in range(1, count + 1):
            share = step / count
            points.append((begin[0] + share * (end[0] - begin[0]), begin[1] + share * (end[1] - begin[1])))
            names.append(zone)
    widest = max(radius for radius, _ in points)
    facets = max(_LEAST_FACETS, math.ceil(2 * math.pi * widest / cell_m))
    angles = np.linspace(0.0, 2 * math.pi, facets, endpoint=False)
    radius, height = np.array(points).T
    grid = np.stack(
        [np.outer(radius, np.cos(angles)), np.outer(radius, np.sin(angles)), np.outer(height, np.ones(facets))], axis=2
    )
    return of_grid(grid, names, close=True)


def box(low: Floats, high: Floats, zones: Sequence[Zone], cell_m: float) -> Mesh:
    """Make a box.

    Parameters
    ----------
    low
        [3] least coordinates [m].
    high
        [3] largest coordinates [m].
    zones
        Zones of the faces that look to −x, +x, −y, +y, −z, +z.
    cell_m
        Largest size of a patch [m].

    Returns
    -------
    Mesh
        The box.
    """
    steps = [np.linspace(low[axis], high[axis], _cells(high[axis] - low[axis], cell_m) + 1) for axis in range(3)]
    sides = []
    for axis in range(3):
        across, up = (axis + 1) % 3, (axis + 2) % 3
        for end, at in enumerate((low[axis], high[axis])):
            grid = np.empty((len(steps[up]), len(steps[across]), 3))
            grid[..., axis] = at
            # Seen from outside columns run to the right: the side that looks down an axis is seen from behind.
            grid[..., across] = steps[across] if end else steps[across][::-1]
            grid[..., up] = steps[up][:, None]
            sides.append(of_grid(grid, [zones[2 * axis + end]] * (len(steps[up]) - 1), close=False))
    return joined(sides)


def wire(path: Floats, radii_m: Floats, zones: Sequence[Zone], cell_m: float, *, close: bool) -> Mesh:
    """Lay a round bar along a path.

    Parameters
    ----------
    path
        [point, 3] places [m] of the bar's middle.
    radii_m
        [point] its radius [m].
    zones
        The zone of each stretch between two points; with ``close`` one more, back to the first point.
    cell_m
        Largest size of a patch around the bar [m]; along it the path's own steps count.
    close
        Whether the path joins its end to its beginning; else both ends are closed flat.

    Returns
    -------
    Mesh
        The bar.
    """
    facets = max(_LEAST_FACETS - 2, math.ceil(2 * math.pi * float(radii_m.max()) / cell_m))
    along = np.roll(path, -1, axis=0) - np.roll(path, 1, axis=0) if close else np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    across = _carried_along(along)
    aside = np.cross(along, across)
    angles = np.linspace(0.0, 2 * math.pi, facets, endpoint=False)
    circle = np.cos(angles)[:, None] * across[:, None, :] + np.sin(angles)[:, None] * aside[:, None, :]
    rings = path[:, None, :] + radii_m[:, None, None] * circle
    if close:
        return of_grid(np.concatenate([rings, rings[:1]]), zones, close=True)
    ends = [np.repeat(path[end][None, None, :], facets, axis=1) for end in (0, -1)]
    return of_grid(np.concatenate([ends[0], rings, ends[1]]), [zones[0], *zones, zones[-1]], close=True)


def _carried_along(along: Floats) -> Floats:
    """Carry a direction across a path from point to point, turning it no more than the path turns."""
    first = np.cross(along[0], np.eye(3)[int(np.argmin(np.abs(along[0])))])
    carried = [first / np.linalg.norm(first)]
    for direction in along[1:]:
        here = carried[-1] - direction * (carried[-1] @ direction)
        carried.append(here / np.linalg.norm(here))
    return np.array(carried)


def _cells(length_m: float, cell_m: float) -> int:
    return max(1, math.ceil(length_m / cell_m - 1e-9))

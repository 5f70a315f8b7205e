"""Simple bodies as meshes: turned profiles, boxes, and round wire along a path. The axis of a piece is z."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.reach.solids.mesh import Mesh, Zone, joined, of_grid, places_within

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach.solids.mesh import Floats

_LEAST_FACETS = 10
_LEAST_TO_HALVE = 3  # cells of a stretch of which those at its edges are halved


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
        for share in _shares(math.dist(begin, end), cell_m)[1:]:
            points.append((begin[0] + share * (end[0] - begin[0]), begin[1] + share * (end[1] - begin[1])))
            names.append(zone)
    widest = max(radius for radius, _ in points)
    facets = max(_LEAST_FACETS, math.ceil(2 * math.pi * widest / cell_m))
    angles = np.linspace(0.0, 2 * math.pi, facets, endpoint=False)
    radius, height = np.array(points).T
    grid = np.stack(
        [np.outer(radius, np.cos(angles)), np.outer(radius, np.sin(angles)), np.outer(height, np.ones(facets))], axis=2
    )
    return of_grid(grid, names, close=True, round_at=_around(radius, height, facets))


def _around(radius: Floats, height: Floats, facets: int) -> tuple[Floats, Floats]:
    """Return points and normals that stand for the cells of a turned body.

    Outward they lie on the true round surface, which encloses the drawn one, so that no facet hides its own points;
    inward on the facets, which stand before the true surface.
    """
    right, up = places_within(len(radius) - 1, facets)
    begin, end = radius[:-1, None], radius[1:, None]
    # Even by area: rings grow with their radius.
    at = np.sqrt(begin**2 + up * (end**2 - begin**2))
    up = np.where(np.abs(end - begin) > 1e-9, (at - begin) / np.where(end == begin, 1.0, end - begin), up)
    at, over = begin + up * (end - begin), height[:-1, None] + up * (height[1:, None] - height[:-1, None])
    rise, out = np.diff(height)[:, None], -np.diff(radius)[:, None]
    length = np.maximum(np.hypot(rise, out), 1e-300)
    step = 2 * math.pi / facets
    middle = np.broadcast_to(step * (np.arange(facets) + 0.5), at.shape)
    angle = step * (np.arange(facets) + right)
    inward = np.broadcast_to(rise < 0, at.shape)
    at = np.where(inward, at * math.cos(step / 2) / np.cos(angle - middle), at)
    faces = np.where(inward, middle, angle)
    points = np.stack([at * np.cos(angle), at * np.sin(angle), over], axis=2)
    across = rise / length
    return points, np.stack(
        [across * np.cos(faces), across * np.sin(faces), np.broadcast_to(out / length, at.shape)], axis=2
    )


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
    sizes = high - low
    steps = [low[axis] + sizes[axis] * _shares(float(sizes[axis]), cell_m) for axis in range(3)]
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
    frame = np.stack([along, across, aside], axis=1)
    if close:
        path, radii_m, frame = (np.concatenate([each, each[:1]]) for each in (path, radii_m, frame))
        around = _around_path(path, radii_m, frame, facets)
        return of_grid(np.concatenate([rings, rings[:1]]), zones, close=True, round_at=around)
    # Both ends are closed by a stretch of no length on which the bar shrinks to nothing.
    path, frame = (np.concatenate([each[:1], each, each[-1:]]) for each in (path, frame))
    around = _around_path(path, np.concatenate([[0.0], radii_m, [0.0]]), frame, facets)
    ends = [np.repeat(path[end][None, None, :], facets, axis=1) for end in (0, -1)]
    return of_grid(
        np.concatenate([ends[0], rings, ends[1]]), [zones[0], *zones, zones[-1]], close=True, round_at=around
    )


def _around_path(path: Floats, radii_m: Floats, frame: Floats, facets: int) -> tuple[Floats, Floats]:
    """Return points and normals that stand for the cells of a bar: on its true round surface, flat at its ends."""
    right, up = places_within(len(path) - 1, facets)
    begin, end = radii_m[:-1, None], radii_m[1:, None]
    flat = np.broadcast_to((begin == 0.0) | (end == 0.0), up.shape)
    up = np.where(flat, np.where(begin == 0.0, np.sqrt(up), 1 - np.sqrt(1 - up)), up)[:, :, None]
    angle = (2 * math.pi / facets * (np.arange(facets) + right))[:, :, None]

    def between(rows: Floats) -> Floats:
        here: Floats = rows[:-1, None, :] + up * (rows[1:, None, :] - rows[:-1, None, :])
        return here

    out = np.cos(angle) * between(frame[:, 1]) + np.sin(angle) * between(frame[:, 2])
    out /= np.linalg.norm(out, axis=2, keepdims=True)
    ahead = between(frame[:, 0]) * np.sign(begin - end)[:, :, None]
    points = between(path) + between(radii_m[:, None]) * out
    return points, np.where(flat[:, :, None], ahead / np.linalg.norm(ahead, axis=2, keepdims=True).clip(1e-300), out)


def _carried_along(along: Floats) -> Floats:
    """Carry a direction across a path from point to point, turning it no more than the path turns."""
    first = np.cross(along[0], np.eye(3)[int(np.argmin(np.abs(along[0])))])
    carried = [first / np.linalg.norm(first)]
    for direction in along[1:]:
        here = carried[-1] - direction * (carried[-1] @ direction)
        carried.append(here / np.linalg.norm(here))
    return np.array(carried)


def _shares(length_m: float, cell_m: float) -> Floats:
    """Return where a stretch is cut: into equal cells no longer than a cell, those at both ends into halves again."""
    count = max(1, math.ceil(length_m / cell_m - 1e-9))
    even = np.arange(count + 1) / count
    if count < _LEAST_TO_HALVE:
        return even
    return np.concatenate([even[:1], [0.5 / count], even[1:-1], [1 - 0.5 / count], even[-1:]])

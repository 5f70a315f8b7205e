"""Triangles that bound solid bodies, gathered into surface patches, each patch with the name of its zone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

_FLAT_M2 = 1e-14  # a triangle smaller than this is a line or a point


class Zone(NamedTuple):
    """What people call a part of a surface.

    Parameters
    ----------
    word
        The piece's own word: ``shaft``, ``inner jaw, left``.
    sided
        Whether the side to which it looks is told with it (``under the shaft``); a word such as ``inner jaw, left``
        says enough.
    """

    word: str
    sided: bool


OPENING = Zone("opening of a lumen", sided=False)
"""Where a lumen opens there is no surface: such patches stop jets and are not counted."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """Closed triangulated bodies, their triangles gathered into patches.

    Parameters
    ----------
    vertices
        [vertex, 3] places [m].
    faces
        [face, 3] corners, counter-clockwise seen from outside.
    patch_of
        [face] the patch to which a face belongs.
    zone_of
        [patch] number of its zone.
    zones
        The zones.
    """

    vertices: Floats
    faces: Integers
    patch_of: Integers
    zone_of: Integers
    zones: tuple[Zone, ...]

    @cached_property
    def crosses(self) -> Floats:
        """[face, 3] outward normals, as long as twice the face's area [m²]."""
        a, b, c = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return np.cross(b - a, c - a)

    @cached_property
    def patch_areas_m2(self) -> Floats:
        """[patch] areas [m²]."""
        areas = np.linalg.norm(self.crosses, axis=1) / 2
        return np.bincount(self.patch_of, areas, len(self.zone_of)).astype(np.float64)

    @cached_property
    def patch_normals(self) -> Floats:
        """[patch, 3] outward unit normals: the mean over the patch's faces."""
        summed = _summed(self.patch_of, self.crosses, len(self.zone_of))
        normals: Floats = summed / np.maximum(np.linalg.norm(summed, axis=1, keepdims=True), 1e-300)
        return normals

    @cached_property
    def patch_centres(self) -> Floats:
        """[patch, 3] centres [m]: each lies on one of the patch's own faces, the largest."""
        middles = self.vertices[self.faces].mean(axis=1)
        centres = np.zeros((len(self.zone_of), 3))
        order = np.argsort(np.linalg.norm(self.crosses, axis=1), kind="stable")
        centres[self.patch_of[order]] = middles[order]
        return centres

    @cached_property
    def is_surface(self) -> NDArray[np.bool_]:
        """[patch] whether it is a surface, and no opening of a lumen."""
        openings = np.array([zone == OPENING for zone in self.zones], dtype=bool)
        return ~openings[self.zone_of]

    @property
    def bounds_m(self) -> Floats:
        """[2, 3] least and largest coordinates [m]."""
        return np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    def moved(self, turn: Floats, shift_m: Floats) -> Mesh:
        """Return the mesh turned, then shifted.

        Parameters
        ----------
        turn
            [3, 3] rotation.
        shift_m
            [3] shift [m].

        Returns
        -------
        Mesh
            The same patches and zones elsewhere.
        """
        return Mesh(self.vertices @ turn.T + shift_m, self.faces, self.patch_of, self.zone_of, self.zones)


def joined(meshes: Sequence[Mesh]) -> Mesh:
    """Put meshes into one, each still closed in itself.

    Parameters
    ----------
    meshes
        At least one.

    Returns
    -------
    Mesh
        All patches in order; equal zones become one.
    """
    zones = tuple(dict.fromkeys(zone for mesh in meshes for zone in mesh.zones))
    vertices = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    patches = np.cumsum([0, *(len(mesh.zone_of) for mesh in meshes)])
    numbers = [np.array([zones.index(zone) for zone in mesh.zones], dtype=np.int64) for mesh in meshes]
    return Mesh(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.faces + start for mesh, start in zip(meshes, vertices, strict=False)]),
        np.concatenate([mesh.patch_of + start for mesh, start in zip(meshes, patches, strict=False)]),
        np.concatenate([number[mesh.zone_of] for mesh, number in zip(meshes, numbers, strict=True)]),
        zones,
    )


def of_grid(points: Floats, zones: Sequence[Zone], *, close: bool) -> Mesh:
    """Make a mesh of a grid of points: each cell is a patch of two triangles.

    Parameters
    ----------
    points
        [row, column, 3] places [m]; with rows running up and columns to the right the outside faces the reader.
    zones
        The zone of each strip between two rows.
    close
        Whether the last column joins the first.

    Returns
    -------
    Mesh
        Cells that have shrunk to a line are left out, those that have shrunk to a triangle are one triangle.
    """
    rows, columns = points.shape[:2]
    number = np.arange(rows * columns).reshape(rows, columns)
    right = np.roll(number, -1, axis=1) if close else number[:, 1:]
    left = number if close else number[:, :-1]
    a, b, c, d = left[:-1].ravel(), right[:-1].ravel(), right[1:].ravel(), left[1:].ravel()
    faces = np.stack([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)], axis=1).reshape(-1, 3)
    distinct = tuple(dict.fromkeys(zones))
    zone_of = np.repeat([distinct.index(zone) for zone in zones], left.shape[1])
    return _without_flat(
        Mesh(points.reshape(-1, 3), faces, np.repeat(np.arange(len(a)), 2), zone_of.astype(np.int64), distinct)
    )


def of_triangles(vertices: Floats, faces: Integers, zone: Zone, cell_m: float) -> Mesh:
    """Make a mesh of triangles from elsewhere, cut until no edge is longer than a cell.

    Parameters
    ----------
    vertices
        [vertex, 3] places [m].
    faces
        [face, 3] corners, counter-clockwise from outside.
    zone
        The zone of all of it.
    cell_m
        Longest edge [m].

    Returns
    -------
    Mesh
        Each triangle is a patch.
    """
    faces = np.asarray(faces, dtype=np.int64)
    vertices = np.asarray(vertices, dtype=np.float64)
    while True:
        corners = vertices[faces]
        longest = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1)
        if not (longest > cell_m).any():
            break
        vertices, faces = _halved(vertices, faces)
    count = len(faces)
    return _without_flat(Mesh(vertices, faces, np.arange(count), np.zeros(count, dtype=np.int64), (zone,)))


def _halved(vertices: Floats, faces: Integers) -> tuple[Floats, Integers]:
    """Cut every triangle at the middles of its edges; neighbours share them, so a closed mesh stays closed."""
    edges = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    unique, inverse = np.unique(edges, axis=0, return_inverse=True)
    middles = (inverse.reshape(-1, 3) + len(vertices)).astype(np.int64)
    a, b, c = faces.T
    ab, bc, ca = middles.T
    parts = [np.stack(corners, axis=1) for corners in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
    return np.concatenate([vertices, vertices[unique].mean(axis=1)]), np.concatenate(parts)


def _without_flat(mesh: Mesh) -> Mesh:
    kept = np.linalg.norm(mesh.crosses, axis=1) > _FLAT_M2
    used, patch_of = np.unique(mesh.patch_of[kept], return_inverse=True)
    return Mesh(mesh.vertices, mesh.faces[kept], patch_of.astype(np.int64), mesh.zone_of[used], mesh.zones)


def _summed(groups: Integers, values: Floats, count: int) -> Floats:
    return np.stack([np.bincount(groups, values[:, axis], count) for axis in range(3)], axis=1)

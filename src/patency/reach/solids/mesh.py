"""Triangles that bound solid bodies, gathered into surface patches, each patch with the name of its zone."""

from __future__ import annotations

import math
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
_BENT = math.cos(math.radians(22.5))  # half the sum of two unit normals 45° apart is so long
# Irrational steps: the plastic number's powers (M. Roberts, 2018), the golden section, the root of two.
_SPREAD = (0.7548776662466927, 0.5698402909980532, 0.6180339887498949, 0.4142135623730951)
_RIM = 0.02  # of a cell: points keep this far from its edges


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
    seen_at
        [patch, 3] the point [m] that stands for each patch, somewhere within it; None for the middle of its largest
        face.
    facing
        [patch, 3] outward unit normal at that point, that of the true surface where the faces are flat and it is round;
        None for that of the faces.
    """

    vertices: Floats
    faces: Integers
    patch_of: Integers
    zone_of: Integers
    zones: tuple[Zone, ...]
    seen_at: Floats | None = None
    facing: Floats | None = None

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
        """[patch, 3] outward unit normals: those stated, else the mean over the patch's faces."""
        if self.facing is not None:
            return self.facing
        summed = _summed(self.patch_of, self.crosses, len(self.zone_of))
        normals: Floats = summed / np.maximum(np.linalg.norm(summed, axis=1, keepdims=True), 1e-300)
        return normals

    @cached_property
    def patch_centres(self) -> Floats:
        """[patch, 3] the points that stand for the patches [m]: those stated, else each on the patch's largest face."""
        if self.seen_at is not None:
            return self.seen_at
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

    @cached_property
    def bounds_m(self) -> Floats:
        """[2, 3] least and largest coordinates [m]."""
        return np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @cached_property
    def middle_of_volume_m(self) -> Floats:
        """[3] middle of the volume within its faces [m]."""
        corners = self.vertices[self.faces]
        volumes = np.linalg.det(corners)
        middle: Floats = volumes @ corners.mean(axis=1) * 0.75 / volumes.sum()
        return middle

    @cached_property
    def middle_of_surface_m(self) -> Floats:
        """[3] middle of the surface of its faces [m]."""
        areas = np.linalg.norm(self.crosses, axis=1)
        middle: Floats = areas @ self.vertices[self.faces].mean(axis=1) / areas.sum()
        return middle

    @cached_property
    def longest_edge_m(self) -> float:
        """Length of the longest edge of its faces [m]."""
        corners = self.vertices[self.faces]
        return float(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max())

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
        vertices, seen_at = self.vertices @ turn.T + shift_m, self.patch_centres @ turn.T + shift_m
        normals = self.patch_normals @ turn.T
        return Mesh(vertices, self.faces, self.patch_of, self.zone_of, self.zones, seen_at, normals)


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
        np.concatenate([mesh.patch_centres for mesh in meshes]),
        np.concatenate([mesh.patch_normals for mesh in meshes]),
    )


def places_within(rows: int, columns: int) -> tuple[Floats, Floats]:
    """Return where in each cell of a grid the point lies that stands for it.

    Parameters
    ----------
    rows
        Rows of cells.
    columns
        Columns of cells.

    Returns
    -------
    tuple[numpy.ndarray, numpy.ndarray]
        [row, column] share of the way to the right and of the way up, evenly spread over neighbouring cells, so that
        the edge of a shadow that runs along a row of cells is not met by all of them at once.
    """
    row, column = np.arange(rows)[:, None], np.arange(columns)[None, :]
    right = (0.5 + _SPREAD[0] * row + _SPREAD[1] * column) % 1.0
    up = (0.5 + _SPREAD[2] * row + _SPREAD[3] * column) % 1.0
    return _RIM + (1 - 2 * _RIM) * right, _RIM + (1 - 2 * _RIM) * up


def of_grid(
    points: Floats, zones: Sequence[Zone], *, close: bool, round_at: tuple[Floats, Floats] | None = None
) -> Mesh:
    """Make a mesh of a grid of points: each cell is a patch of two triangles.

    Parameters
    ----------
    points
        [row, column, 3] places [m]; with rows running up and columns to the right the outside faces the reader.
    zones
        The zone of each strip between two rows.
    close
        Whether the last column joins the first.
    round_at
        Points and outward normals that stand for the cells, [row, column, 3] each; None where the cells are flat.

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
    flat = points.reshape(-1, 3)
    patch_of = np.repeat(np.arange(len(a)), 2)
    if round_at is not None:
        seen_at, facing = (each.reshape(-1, 3) for each in round_at)
        return _without_flat(Mesh(flat, faces, patch_of, zone_of.astype(np.int64), distinct, seen_at, facing))
    seen_at = _on_cells(flat[a], flat[b], flat[c], flat[d], rows - 1)
    whole = Mesh(flat, faces, patch_of, zone_of.astype(np.int64), distinct, seen_at)
    return _without_flat(whole)


def _on_cells(a: Floats, b: Floats, c: Floats, d: Floats, rows: int) -> Floats:
    """Return a point on each cell of a grid with these corners, on one of its two triangles a b c and a c d."""
    right, up = (share.reshape(-1, 1) for share in places_within(rows, len(a) // rows))
    below = a + right * (b - a) + up * (c - b)
    above = a + up * (d - a) + right * (c - d)
    return np.where(right >= up, below, above)


def of_triangles(
    vertices: Floats, faces: Integers, zone: Zone, cell_m: float, fine_at_m: Sequence[tuple[float, float]] = ()
) -> Mesh:
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
        Longest edge [m]; half as long in triangles along an edge of the body, where it bends by more than 45°.
    fine_at_m
        Stretches of the axis, from and to [m], in which the longest edge is half as long too.

    Returns
    -------
    Mesh
        Each triangle is a patch.
    """
    faces = np.asarray(faces, dtype=np.int64)
    vertices = np.asarray(vertices, dtype=np.float64)
    while True:
        edges = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
        unique, edge_of = np.unique(edges, axis=0, return_inverse=True)
        edge_of = edge_of.reshape(-1, 3)
        fine = _bends(vertices, faces, edge_of)[edge_of].any(axis=1)
        middles = vertices[faces, 2].mean(axis=1)
        for begin, end in fine_at_m:
            fine |= (middles > begin) & (middles < end)
        longest = np.full(len(unique), cell_m)
        longest[edge_of[fine]] = cell_m / 2  # neighbours share an edge, so both are cut there and no gap opens
        cut = np.linalg.norm(np.diff(vertices[unique], axis=1)[:, 0], axis=1) > longest
        if not cut.any():
            break
        middle_of = np.where(cut, len(vertices) + np.cumsum(cut) - 1, -1)
        vertices = np.concatenate([vertices, vertices[unique[cut]].mean(axis=1)])
        faces = _cut(faces, middle_of[edge_of])
    count = len(faces)
    return _without_flat(Mesh(vertices, faces, np.arange(count), np.zeros(count, dtype=np.int64), (zone,)))


def _bends(vertices: Floats, faces: Integers, edge_of: Integers) -> NDArray[np.bool_]:
    """Tell of each edge whether the faces that meet there look to ways more than 45° apart."""
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True).clip(1e-300)
    count = edge_of.max() + 1
    both = _summed(edge_of.ravel(), np.repeat(normals, 3, axis=0), count)
    bends: NDArray[np.bool_] = np.linalg.norm(both, axis=1) < _BENT * np.bincount(edge_of.ravel(), minlength=count)
    return bends


def _cut(faces: Integers, middles: Integers) -> Integers:
    """Cut triangles at the middles of their edges ab, bc, ca; −1 where one is not cut."""
    number = (middles >= 0).sum(axis=1)
    # Turned so that a single cut is on ab, a single whole edge is ca.
    first = np.where(number == 1, (middles >= 0).argmax(axis=1), ((middles < 0).argmax(axis=1) + 1) % 3)
    turned = (first[:, None] + np.arange(3)) % 3
    (a, b, c), (ab, bc, ca) = (np.take_along_axis(each, turned, axis=1).T for each in (faces, middles))
    parts = (
        (0, ((a, b, c),)),
        (1, ((a, ab, c), (ab, b, c))),
        (2, ((ab, b, bc), (a, ab, bc), (a, bc, c))),
        (3, ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))),
    )
    return np.concatenate(
        [np.stack(corners, axis=1)[number == cuts] for cuts, triangles in parts for corners in triangles]
    )


def _without_flat(mesh: Mesh) -> Mesh:
    kept = np.linalg.norm(mesh.crosses, axis=1) > _FLAT_M2
    used, patch_of = np.unique(mesh.patch_of[kept], return_inverse=True)
    seen_at, facing = (None if each is None else each[used] for each in (mesh.seen_at, mesh.facing))
    zone_of = mesh.zone_of[used]
    return Mesh(mesh.vertices, mesh.faces[kept], patch_of.astype(np.int64), zone_of, mesh.zones, seen_at, facing)


def _summed(groups: Integers, values: Floats, count: int) -> Floats:
    return np.stack([np.bincount(groups, values[:, axis], count) for axis in range(3)], axis=1)

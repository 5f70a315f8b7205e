"""Where on a floor there is room for a piece as it is shaped: handles head to foot, a rod beside a narrow shaft."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Leaning
from patency.load import OnFloor
from patency.reach.solids.laying import APART_M

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.reach.solids.mesh import Mesh

    Cells = NDArray[np.bool_]

CELL_M = 0.002
"""Side of the squares in which a floor is looked at [m]: places come in whole millimetres."""
_WAYS = (Leaning.BACK, Leaning.RIGHT, Leaning.FRONT, Leaning.LEFT)
_OPPOSITE = {
    Leaning.BACK: Leaning.FRONT,
    Leaning.RIGHT: Leaning.LEFT,
    Leaning.FRONT: Leaning.BACK,
    Leaning.LEFT: Leaning.RIGHT,
}
_KEPT = 256  # more than a load has kinds of pieces
_STRAIGHT_M2 = 1e-10  # a corner of an outline that takes less area than this is left out
_TURNED_COUNTS_M = 0.05  # a place with the piece turned is as much another one as a place this far away
_NEAREST_M, _NEAREST_SHARE = 0.02, 0.6  # how far near places are from each other, and as a share of how far they are


class Shape(NamedTuple):
    """What a thing covers of a floor.

    Parameters
    ----------
    points
        Toward which side its distal end points.
    cells
        [across, back] squares it covers, from the left front corner of the room it takes.
    """

    points: Leaning
    cells: Cells


def shapes_of(mesh: Mesh) -> tuple[Shape, ...]:
    """Return what a piece covers of a floor, its axis toward each of the four sides.

    Parameters
    ----------
    mesh
        Its surface in its own axes; it lies flat.

    Returns
    -------
    tuple[Shape, ...]
        Across its axis everything between its outermost points counts as covered: nothing lies in the ring of a handle.
    """
    return _shapes(mesh)


def outline_of(mesh: Mesh, points: Leaning) -> NDArray[np.float64]:
    """Return the outline of a piece that lies flat, seen from above.

    Parameters
    ----------
    mesh
        Its surface in its own axes.
    points
        Toward which side its distal end points.

    Returns
    -------
    numpy.ndarray
        [corner, (across, back)] of a polygon, from the left front corner of the room it takes [m]. As in ``shapes_of``
        what lies between its outermost points is within; where its width changes it is true to 2 mm along its axis.
    """
    along, across = _from_above(mesh)
    rows, row = np.unique(np.floor(along / CELL_M - 1e-6).clip(0), return_inverse=True)
    low, high = np.full(len(rows), np.inf), np.full(len(rows), -np.inf)
    np.minimum.at(low, row, across)
    np.maximum.at(high, row, across)
    at = (rows + 0.5) * CELL_M
    at[[0, -1]] = 0.0, along.max()
    along, across = np.concatenate([at, at[::-1]]), np.concatenate([low, high[::-1]])
    before, after = (np.stack([np.roll(one, by) - one for one in (along, across)]) for by in (1, -1))
    bends = np.abs(before[0] * after[1] - before[1] * after[0]) > _STRAIGHT_M2
    along, across = along[bends], across[bends]
    length, wide = along.max(), across.max()
    turned = {
        Leaning.RIGHT: (along, across),
        Leaning.BACK: (wide - across, along),
        Leaning.LEFT: (length - along, wide - across),
        Leaning.FRONT: (across, length - along),
    }
    return np.stack(turned[points], axis=1)


def _from_above(mesh: Mesh) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return points of a surface as they lie along and across its axis, from the edges of the room it takes [m]."""
    corners = mesh.vertices[mesh.faces]
    edges = (corners + corners[:, [1, 2, 0]]) / 2
    points = np.concatenate([mesh.vertices, corners.mean(axis=1), edges.reshape(-1, 3)])
    along, across = ((points[:, axis] - points[:, axis].min()) for axis in (2, 0))
    return along, across


@lru_cache(maxsize=_KEPT)
def _shapes(mesh: Mesh) -> tuple[Shape, ...]:
    along, across = _from_above(mesh)
    row, column = (np.floor(one / CELL_M - 1e-6).astype(int).clip(0) for one in (along, across))
    low, high = np.full(row.max() + 1, column.max() + 1), np.full(row.max() + 1, -1)
    np.minimum.at(low, row, column)
    np.maximum.at(high, row, column)
    columns = np.arange(column.max() + 1)
    flat = (columns >= low[:, None]) & (columns <= high[:, None])
    # With its axis to the right its own x axis looks to the back, with its axis to the back it looks to the left.
    turned = {
        Leaning.RIGHT: flat,
        Leaning.BACK: flat.T[::-1],
        Leaning.LEFT: flat[::-1, ::-1],
        Leaning.FRONT: flat.T[:, ::-1],
    }
    return tuple(Shape(way, turned[way]) for way in _WAYS)


def box_shapes(depth_m: float, width_m: float) -> tuple[Shape, ...]:
    """Return what a box covers of a floor, its depth to the back and to the right.

    Parameters
    ----------
    depth_m
        Its depth [m].
    width_m
        Its width [m].

    Returns
    -------
    tuple[Shape, ...]
        Two shapes.
    """
    cells = np.ones((_count(width_m), _count(depth_m)), dtype=np.bool_)
    return Shape(Leaning.BACK, cells), Shape(Leaning.RIGHT, cells.T)


class FloorCells:
    """A floor with what lies on it.

    Parameters
    ----------
    width_m
        Its extent along x [m].
    depth_m
        Its extent along y [m].
    """

    def __init__(self, width_m: float, depth_m: float) -> None:
        self._taken = np.zeros((int(width_m / CELL_M + 1e-6), int(depth_m / CELL_M + 1e-6)), dtype=np.bool_)

    def take(self, shape: Shape, lies: OnFloor) -> None:
        """Let something lie on the floor.

        Parameters
        ----------
        shape
            What it covers as it lies.
        lies
            Where.
        """
        apart = _count(APART_M)
        at = (int(lies.from_left_m / CELL_M + 1e-6), int(lies.from_front_m / CELL_M + 1e-6))
        # A place between two squares covers both.
        over = [
            int(place - one * CELL_M > 1e-6)
            for place, one in zip((lies.from_left_m, lies.from_front_m), at, strict=True)
        ]
        rows, columns = np.nonzero(shape.cells)
        steps = [(x, y) for x in range(-apart, apart + 1 + over[0]) for y in range(-apart, apart + 1 + over[1])]
        for x, y in steps:
            if math.hypot(max(abs(x) - 1, 0), max(abs(y) - 1, 0)) * CELL_M < APART_M:
                row, column = rows + at[0] + x, columns + at[1] + y
                within = (row >= 0) & (column >= 0) & (row < self._taken.shape[0]) & (column < self._taken.shape[1])
                self._taken[row[within], column[within]] = True

    def room_for(self, shape: Shape) -> Cells:
        """Find the places where something covers nothing that lies there.

        Parameters
        ----------
        shape
            What it covers.

        Returns
        -------
        numpy.ndarray
            [across, back] whether its left front corner can go there; empty where the floor is too small.
        """
        size = self._taken.shape
        if any(own > whole for own, whole in zip(shape.cells.shape, size, strict=True)):
            return np.zeros((0, 0), dtype=np.bool_)
        floor, own = (np.fft.rfft2(one.astype(np.float64), size) for one in (self._taken, shape.cells))
        met = np.fft.irfft2(floor * own.conj(), size)
        whole, side = (one - mine + 1 for one, mine in zip(size, shape.cells.shape, strict=True))
        free: Cells = met[:whole, :side] < 0.5
        return free

    def spread_places(self, shapes: Sequence[Shape], most: int) -> list[OnFloor]:
        """List places for something that lie as far from each other as can be.

        Parameters
        ----------
        shapes
            What it covers as it can lie.
        most
            How many places at most.

        Returns
        -------
        list[OnFloor]
            The one nearest to the middle of the floor first, each next one as far as can be from those before.
        """
        ways, corners, middles = self._everywhere(shapes)
        if not len(ways):
            return []
        chosen = int(np.linalg.norm(middles - np.array(self._taken.shape) * CELL_M / 2, axis=1).argmin())
        away = np.full(len(ways), np.inf)
        places: list[OnFloor] = []
        while len(places) < most and away[chosen] > 0:
            places.append(_at(shapes[ways[chosen]].points, corners[chosen]))
            away = np.minimum(away, _apart_m(ways, middles, chosen))
            chosen = int(away.argmax())
        return places

    def near_places(self, shapes: Sequence[Shape], lies: OnFloor, most: int) -> list[OnFloor]:
        """List places for something near to one where it lies or could lie.

        Parameters
        ----------
        shapes
            What it covers as it can lie.
        lies
            Near to what: how it lies there.
        most
            How many places at most.

        Returns
        -------
        list[OnFloor]
            The nearest first, none nearer to ``lies`` or to another one than 20 mm and 0.6 of how far it is from
            ``lies``: so they are the fewer the farther away. A place with the piece turned counts as 50 mm farther.
        """
        ways, corners, middles = self._everywhere(shapes)
        own = _as_it_lies(tuple(shapes), lies)
        middle = np.array([lies.from_left_m, lies.from_front_m]) + np.array(own.cells.shape) * CELL_M / 2
        turned = np.array([shape.points is not lies.points for shape in shapes], dtype=np.bool_)[ways]
        far = np.hypot(np.linalg.norm(middles - middle, axis=1), _TURNED_COUNTS_M * turned)
        gap, least = far.copy(), np.maximum(_NEAREST_M, _NEAREST_SHARE * far)
        places: list[OnFloor] = []
        while len(places) < most and (gap >= least).any():
            chosen = int(np.where(gap >= least, far, np.inf).argmin())
            places.append(_at(shapes[ways[chosen]].points, corners[chosen]))
            gap = np.minimum(gap, _apart_m(ways, middles, chosen))
        return places

    def _everywhere(
        self, shapes: Sequence[Shape]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
        """Return every place there is room for something: which of its shapes, corner and middle of its room."""
        found = [(way, *np.argwhere(self.room_for(shape)).T) for way, shape in enumerate(shapes)]
        ways = np.concatenate([np.full(len(x), way) for way, x, _ in found])
        corners = CELL_M * np.concatenate([np.stack([x, y], axis=1) for _, x, y in found])
        extents = np.array([np.array(shape.cells.shape) * CELL_M for shape in shapes])
        return ways, corners, corners + extents[ways] / 2


def _apart_m(ways: NDArray[np.int64], middles: NDArray[np.float64], one: int) -> NDArray[np.float64]:
    """Return how far all places are from one of them [m]."""
    turned = _TURNED_COUNTS_M * (ways != ways[one])
    apart: NDArray[np.float64] = np.hypot(np.linalg.norm(middles - middles[one], axis=1), turned)
    return apart


def nested(things: Mapping[str, tuple[Shape, ...]], width_m: float, depth_m: float) -> dict[str, OnFloor]:
    """Lay things on a floor as they are shaped, none over another.

    Parameters
    ----------
    things
        Name to what it covers, each way it can lie.
    width_m
        Extent of the floor along x [m].
    depth_m
        Extent of the floor along y [m].

    Returns
    -------
    dict[str, OnFloor]
        Name to place: long ones first, each as far to the front, or to the left, as it goes (bottom-left; B. Baker,
        E. Coffman and R. Rivest, Orthogonal packings in two dimensions, 1980), of both the one that lays more. What
        finds no room is left out.
    """
    ways = [_bottom_left(things, width_m, depth_m, axis) for axis in (1, 0)]
    return max(ways, key=len)


def nearer_to(
    middles_m: Sequence[tuple[float, float]],
    places: Mapping[str, OnFloor],
    things: Mapping[str, tuple[Shape, ...]],
    size_m: tuple[float, float],
) -> dict[str, OnFloor]:
    """Turn a whole floor by half a turn where its things then lie nearer to the middles of the arms.

    Parameters
    ----------
    middles_m
        Places to be near to [m], from the left front corner of the floor along x and y.
    places
        Name to place.
    things
        Name to what it covers, each way it can lie.
    size_m
        Extent of the floor along x and y [m].

    Returns
    -------
    dict[str, OnFloor]
        Name to place.
    """
    turned = {name: _half_turned(lies, things[name], size_m) for name, lies in places.items()}

    def away_m(lie: Mapping[str, OnFloor]) -> float:
        at = np.array([(one.from_left_m, one.from_front_m) for one in lie.values()])
        extents = [np.array(_as_it_lies(things[name], one).cells.shape) * CELL_M for name, one in lie.items()]
        return sum(float(np.linalg.norm(at + np.array(extents) / 2 - middle, axis=1).sum()) for middle in middles_m)

    return turned if away_m(turned) < away_m(places) else dict(places)


def _half_turned(lies: OnFloor, shapes: tuple[Shape, ...], size_m: tuple[float, float]) -> OnFloor:
    extent = np.array(_as_it_lies(shapes, lies).cells.shape) * CELL_M
    corner = np.array(size_m) - (lies.from_left_m, lies.from_front_m) - extent
    points = _OPPOSITE[lies.points]
    return _at(points if any(one.points is points for one in shapes) else lies.points, corner)


def _as_it_lies(shapes: tuple[Shape, ...], lies: OnFloor) -> Shape:
    return next(one for one in shapes if one.points is lies.points)


def _bottom_left(
    things: Mapping[str, tuple[Shape, ...]], width_m: float, depth_m: float, axis: int
) -> dict[str, OnFloor]:
    floor, places = FloorCells(width_m, depth_m), dict[str, OnFloor]()
    for name in sorted(things, key=lambda one: (-max(things[one][0].cells.shape), -things[one][0].cells.size, one)):
        best = None
        for shape in things[name]:
            corners = np.argwhere(floor.room_for(shape))
            if len(corners):
                order = np.lexsort((corners[:, 1 - axis], corners[:, axis]))
                first = corners[order[0]]
                ends = (first[axis] + shape.cells.shape[axis], first[1 - axis])
                if best is None or ends < best[0]:
                    best = (ends, shape, first)
        if best is not None:
            places[name] = _at(best[1].points, CELL_M * best[2])
            floor.take(best[1], places[name])
    return places


def _at(points: Leaning, corner_m: NDArray[np.float64]) -> OnFloor:
    return OnFloor(from_left_m=round(float(corner_m[0]), 6), from_front_m=round(float(corner_m[1]), 6), points=points)


def _count(length_m: float) -> int:
    return int(np.ceil(length_m / CELL_M - 1e-6))

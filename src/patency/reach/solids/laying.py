"""Where pieces come to lie beside each other in a basket or pod, in one layer."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

APART_M = 0.003
"""Room kept between pieces that lie side by side [m]."""


class Lying(NamedTuple):
    """Where something lies on a floor.

    Parameters
    ----------
    x_m, y_m
        Left front corner of its footprint [m], from the left front corner of the floor.
    along_x
        Whether its length runs across the floor, along x; else to the back, along y.
    """

    x_m: float
    y_m: float
    along_x: bool


class Taken(NamedTuple):
    """A rectangle of floor on which something lies.

    Parameters
    ----------
    x_m, y_m
        Its left front corner [m], from the left front corner of the floor.
    width_m, depth_m
        Its extent along x and y [m].
    """

    x_m: float
    y_m: float
    width_m: float
    depth_m: float


class _Free(NamedTuple):
    """A rectangle of floor on which nothing lies."""

    x: float
    y: float
    width: float
    depth: float


def lay_out(
    footprints: Mapping[str, tuple[float, float]], width_m: float, depth_m: float, taken: Iterable[Taken] = ()
) -> dict[str, Lying]:
    """Lay rectangles on a floor so that none lies on another.

    Parameters
    ----------
    footprints
        Name to length and width [m].
    width_m
        Extent of the floor along x [m].
    depth_m
        Extent of the floor along y [m].
    taken
        Where something lies already.

    Returns
    -------
    dict[str, Lying]
        Name to place: long ones first, each where it leaves the least rest beside it (best short side of the free
        rectangles, after J. Jylänki, A thousand ways to pack the bin, 2010). One that finds no room is left out. The
        same input always gives the same places.
    """
    free = [_Free(0.0, 0.0, width_m + APART_M, depth_m + APART_M)]
    for one in taken:
        around = (one.x_m - APART_M, one.y_m - APART_M, one.width_m + 2 * APART_M, one.depth_m + 2 * APART_M)
        free = _less(free, _Free(*around))
    places: dict[str, Lying] = {}
    for name in sorted(footprints, key=lambda key: (-max(footprints[key]), -min(footprints[key]), key)):
        length, wide = (size + APART_M for size in footprints[name])
        best = min(
            (
                (min(room.width - across, room.depth - back), room.y, room.x, along_x, across, back)
                for room in free
                for along_x, across, back in ((False, wide, length), (True, length, wide))
                if across <= room.width + 1e-9 and back <= room.depth + 1e-9
            ),
            default=None,
        )
        if best is None:
            continue
        _, y, x, along_x, across, back = best
        places[name] = Lying(round(x, 6), round(y, 6), along_x)  # as a plan states it
        free = _less(free, _Free(x, y, across, back))
    return places


def _less(free: list[_Free], taken: _Free) -> list[_Free]:
    """Take a rectangle out of the free ones; each rest is as large as it can be."""
    rests: list[_Free] = []
    for room in free:
        right, back = room.x + room.width, room.y + room.depth
        taken_right, taken_back = taken.x + taken.width, taken.y + taken.depth
        if taken.x >= right or taken_right <= room.x or taken.y >= back or taken_back <= room.y:
            rests.append(room)
            continue
        if taken.x > room.x:
            rests.append(_Free(room.x, room.y, taken.x - room.x, room.depth))
        if taken_right < right:
            rests.append(_Free(taken_right, room.y, right - taken_right, room.depth))
        if taken.y > room.y:
            rests.append(_Free(room.x, room.y, room.width, taken.y - room.y))
        if taken_back < back:
            rests.append(_Free(room.x, taken_back, room.width, back - taken_back))
    distinct = list(dict.fromkeys(rests))
    return [one for one in distinct if not any(_within(one, other) for other in distinct if other is not one)]


def _within(one: _Free, other: _Free) -> bool:
    return (
        one.x >= other.x
        and one.y >= other.y
        and one.x + one.width <= other.x + other.width
        and one.y + one.depth <= other.y + other.depth
    )

"""What pokes through baskets and pods: through that in which it lies, and through any other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.reach.faults import Fault, Rule
from patency.reach.solids.placed import Side
from patency.reach.touching import crosses

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from patency.reach.solids.placed import Arranged, PlacedSolid

_ROUNDING_M = 1e-6


def out_of_basket(arranged: Arranged, solid: PlacedSolid) -> Iterator[Fault]:
    """Find what of a piece sticks out of the basket it lies in, or slips through its floor.

    Parameters
    ----------
    arranged
        The load as solids.
    solid
        The piece.

    Yields
    ------
    Fault
        At the sides, below, and above where a lid is on: that one's height counts, lower than the walls or not.
        Through the floor slips what is thinner than an opening, both ways across its length, and shorter than two
        pitches: what is longer cannot tip over one wire without the next one holding its other end.
    """
    walls = [one for one in arranged.screens if one.floor == solid.stands_on and one.side is not Side.NET]
    floor = next((one for one in walls if one.side is Side.FLOOR), None)
    if floor is None:
        return
    corners = np.array([place for one in walls for place in _corners(one.corner_m, one.along_m, one.across_m)])
    low, high = corners.min(axis=0), corners.max(axis=0)
    bounds = solid.in_carrier.bounds_m
    sides = max(float((low - bounds[0]).max()), float((bounds[1] - high)[:2].max()))
    lids = [float(one.corner_m[2]) for one in walls if one.side is Side.LID]
    out = max([sides, *(float(bounds[1, 2]) - height for height in lids)])
    if out > _ROUNDING_M:
        yield Fault(Rule.POKES, solid.piece or ("", ""), f"sticks {1000 * out:.0f} mm out of its basket", out)
    opening = floor.pitch_m - floor.wire_m
    _, thick, long = np.sort(np.ptp(solid.mesh.bounds_m, axis=0)).tolist()
    if thick < opening and long < 2 * floor.pitch_m:
        words = f"is smaller than the openings of {1000 * opening:.1f} mm"
        yield Fault(Rule.SLIPS, solid.piece or ("", ""), words, thick)


def _corners(corner: np.ndarray, along: np.ndarray, across: np.ndarray) -> list[np.ndarray]:
    return [corner, corner + along, corner + across, corner + along + across]


def through_screens(arranged: Arranged, solids: Sequence[PlacedSolid]) -> Iterator[Fault]:
    """Find what pokes through a floor, wall or lid of another basket or pod than its own.

    Parameters
    ----------
    arranged
        The load as solids.
    solids
        The bodies that are asked about.

    Yields
    ------
    Fault
        One for each body and wall, triangles against the rectangle of the wire; nets give way.
    """
    screens = [one for one in arranged.screens if one.side is not Side.NET]
    if not screens:
        return
    corners = np.array([_corners(one.corner_m, one.along_m, one.across_m) for one in screens])
    low, high = corners.min(axis=1), corners.max(axis=1)
    for solid in solids:
        least, most = solid.in_carrier.bounds_m
        for number in np.flatnonzero(((low <= most) & (high >= least)).all(axis=1)):
            screen = screens[number]
            if screen.floor != solid.stands_on and crosses(solid, screen):
                yield Fault(Rule.POKES, solid.piece or ("", ""), f"pokes through the {screen.words}", 0.0)

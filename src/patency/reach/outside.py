"""What of a load reaches out of the chamber: exactly where its place is stated, else what no place of it could hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.reach.faults import Fault, Rule
from patency.reach.solids.placed import Role

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from patency.reach.solids.chamber import Chamber
    from patency.reach.solids.mesh import Floats
    from patency.reach.solids.placed import Arranged, PieceKey, PlacedSolid

_ROUNDING_M = 1e-6
_SIDES = (("left", "right"), ("front", "back"), ("below", "above"))


def out_of_chamber(arranged: Arranged) -> Iterator[Fault]:
    """Find the pieces that reach out of the chamber, what connects them counted in.

    Parameters
    ----------
    arranged
        The load as solids.

    Yields
    ------
    Fault
        With how far it is out [m]; exact at the corners of the meshes. Where the place of the chamber is not stated:
        what lies beyond every place that it can have around carrier and arms, and two bodies too far apart for any.
    """
    chamber = arranged.chamber
    rigid = [one for one in arranged.solids if one.role in (Role.PIECE, Role.CONNECTION)]
    if chamber is None or not rigid:
        return
    bounds = np.array([one.in_carrier.bounds_m for one in rigid])
    beyond = np.stack([chamber.reach_m[0] - bounds[:, 0], bounds[:, 1] - chamber.reach_m[1]], axis=2)
    inside = (beyond <= _ROUNDING_M).all(axis=(1, 2))
    for number in np.flatnonzero(~inside):
        axis, end = np.unravel_index(beyond[number].argmax(), (3, 2))
        out, least = float(beyond[number, axis, end]), "" if chamber.stated else "at least "
        words = f"reaches {least}{1000 * out:.0f} mm out of the chamber ({_SIDES[axis][end]})"
        yield Fault(Rule.OUTSIDE, rigid[number].piece or ("", ""), words, out)
    if not chamber.stated:
        yield from _too_far_apart([rigid[number] for number in np.flatnonzero(inside)], bounds[inside], chamber)


def _too_far_apart(solids: Sequence[PlacedSolid], bounds: Floats, chamber: Chamber) -> Iterator[Fault]:
    for solid, (low, high) in zip(solids, bounds, strict=True):
        beyond = np.maximum(high - bounds[:, 0], bounds[:, 1] - low) - chamber.size_m
        other, axis = np.unravel_index(beyond.argmax(), beyond.shape)
        if beyond[other, axis] > _ROUNDING_M:
            out, its = float(beyond[other, axis]), solids[other]
            words = f"is {1000 * out:.0f} mm too far from {its.words} at {its.stands_on} for the chamber"
            yield Fault(Rule.OUTSIDE, solid.piece or ("", ""), words, out)


def may_be_out(arranged: Arranged, piece: PieceKey) -> str:
    """Tell what is not known of a piece because the place of the chamber is not stated.

    Parameters
    ----------
    arranged
        The load as solids.
    piece
        The piece.

    Returns
    -------
    str
        In words; empty where the place is stated, or the piece stays within what is in the chamber for certain.
    """
    chamber = arranged.chamber
    if chamber is None or chamber.stated or piece not in arranged.number_of:
        return ""
    its = [one for one in arranged.solids if one.piece == piece and one.role in (Role.PIECE, Role.CONNECTION)]
    bounds = np.array([one.in_carrier.bounds_m for one in its])
    out = max((chamber.sure_m[0] - bounds[:, 0]).max(), (bounds[:, 1] - chamber.sure_m[1]).max())
    if out <= _ROUNDING_M:
        return ""
    return f"it reaches {1000 * out:.0f} mm beyond carrier and arms, and where the chamber begins is not stated"

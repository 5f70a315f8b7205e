"""What a load can have wrong with its places and directions."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from patency.reach.solids.placed import PieceKey


class Rule(StrEnum):
    """What a piece as placed breaks."""

    SWEEP = "sweep of an arm"
    OUTSIDE = "out of the chamber"
    INTERSECTS = "runs into another body"
    POKES = "pokes through a basket"
    SLIPS = "slips through its basket"
    CONTACT = "lies flat on another piece"
    ON_LIGHTER = "lies on a lighter piece"
    KEEPS_WATER = "keeps water"
    MOVED = "can be moved by the jets"


class Fault(NamedTuple):
    """One rule that a piece breaks as it is placed.

    Parameters
    ----------
    rule
        The rule.
    piece
        Set and piece.
    words
        What is wrong, in a few words.
    value
        The number behind it, in SI units: a distance, an area, a volume, a force.
    """

    rule: Rule
    piece: PieceKey
    words: str
    value: float

"""How sure it is that a piece is the piece: four strengths, and how they weaken along a way."""

from __future__ import annotations

import enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Strength(enum.IntEnum):
    """Strength of an identity; a chain of statements is as strong as its weakest."""

    UNKNOWN = 0
    MEMBER = 1
    INFERRED = 2
    SCANNED = 3

    @property
    def words(self) -> str:
        """What the strength means, for people."""
        return _WORDS[self]


_WORDS = {
    Strength.UNKNOWN: "T0 unknown",
    Strength.MEMBER: "T1 unmarked, member of a tagged set",
    Strength.INFERRED: "T2 marked, inferred from its set",
    Strength.SCANNED: "T3 marked and scanned",
}


class Seen(enum.StrEnum):
    """How a person saw a piece when counting."""

    SCANNED = "scanned"
    BY_EYE = "by eye"


def strength_of(mark: str | None, *, scanned: bool) -> Strength:
    """Say how sure the identity of a piece is at one moment.

    Parameters
    ----------
    mark
        What is marked on the piece; None where nothing is.
    scanned
        Whether the mark was read then.

    Returns
    -------
    Strength
        Never `Strength.SCANNED` for an unmarked piece, whatever was reported.
    """
    if mark is None:
        return Strength.MEMBER
    return Strength.SCANNED if scanned else Strength.INFERRED


def weakest(strengths: Iterable[Strength]) -> Strength:
    """Return the strength of a chain of statements.

    Parameters
    ----------
    strengths
        Of the single statements.

    Returns
    -------
    Strength
        The least of them; `Strength.SCANNED` for none.
    """
    return min(strengths, default=Strength.SCANNED)

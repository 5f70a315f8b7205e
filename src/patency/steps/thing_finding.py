"""Finds what a scanned code belongs to."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, LoadRecord, Mark, Piece, Where

if TYPE_CHECKING:
    from patency.ledger import Ledger


class FoundKind(enum.StrEnum):
    """The kinds of things that have a page of their own."""

    SET = "set"
    LOAD = "load"


@dataclass(frozen=True, slots=True)
class Found:
    """What a code belongs to.

    Parameters
    ----------
    kind
        Of the thing with a page.
    key
        Which one.
    piece
        The piece whose mark it is, where it is one; the set is the one it lies in.
    """

    kind: FoundKind
    key: str
    piece: str | None = None


def find_scanned(ledger: Ledger, code: str) -> Found | None:
    """Find what a code belongs to: a set, a load, or the mark of a piece.

    Parameters
    ----------
    ledger
        The ledger.
    code
        What the scanner read, a label's key or a piece's mark.

    Returns
    -------
    Found or None
        None where nothing here carries it; a mark of a piece that lies in no set leads nowhere.
    """
    if ledger.find(InstrumentSet, code) is not None:
        return Found(FoundKind.SET, code)
    if ledger.find(LoadRecord, code) is not None:
        return Found(FoundKind.LOAD, code)
    mark = ledger.find(Mark, code)
    piece = ledger.find(Piece, mark.piece if mark else code)
    if piece is None or piece.place.where is not Where.SET:
        return None
    return Found(FoundKind.SET, piece.place.key, piece.piece)

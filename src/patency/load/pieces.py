"""Which single pieces a set comes apart into, each with its own key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.catalogue import Department, InstrumentType, Lumen, PieceType


@dataclass(frozen=True, slots=True)
class PieceToPlace:
    """One piece of a set that has to find its place.

    Parameters
    ----------
    set
        Name of the set.
    key
        ``instrument/number/piece`` or ``instrument/number/piece/copy``; unique within the set.
    instrument
        Key of the instrument type.
    number
        Which of the set's instruments of that type, from 1.
    piece
        Key of the piece type within the instrument type.
    instrument_type
        The instrument type.
    piece_type
        The piece type.
    """

    set: str
    key: str
    instrument: str
    number: int
    piece: str
    instrument_type: InstrumentType
    piece_type: PieceType

    @property
    def words(self) -> str:
        """What people call it: the piece and, where that says more, its instrument."""
        alone = len(self.instrument_type.pieces) == 1 or self.piece_type.name == self.instrument_type.name
        return self.instrument_type.name if alone else f"{self.piece_type.name} – {self.instrument_type.name}"

    @property
    def lumens(self) -> dict[str, Lumen]:
        """The lumens through it, by key."""
        return self.piece_type.lumens


def pieces_of_set(department: Department, set_name: str) -> list[PieceToPlace]:
    """List every single piece of a set, in the order of the set's list.

    Parameters
    ----------
    department
        The department.
    set_name
        Key of the set.

    Returns
    -------
    list[PieceToPlace]
        All pieces, dismantled.

    Raises
    ------
    KeyError
        When the set or one of its instrument types does not exist; a department that was read has none such.
    """
    pieces = []
    for instrument, count in department.sets[set_name].contents.items():
        instrument_type = department.instruments[instrument]
        for number in range(1, count + 1):
            for piece, piece_type in instrument_type.pieces.items():
                for copy in range(1, piece_type.count + 1):
                    key = f"{instrument}/{number}/{piece}" + (f"/{copy}" if piece_type.count > 1 else "")
                    pieces.append(PieceToPlace(set_name, key, instrument, number, piece, instrument_type, piece_type))
    return pieces

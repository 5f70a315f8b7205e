"""Tells a ledger what a department owns: its machines, its sets and every single piece of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.ledger import EnrolMachine, EnrolPiece, EnrolSet, LoadKind, Place, Where
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.catalogue import Department
    from patency.ledger import Command
    from patency.load import PieceToPlace


def ledger_piece(set_key: str, piece: str) -> str:
    """Return the key under which a ledger knows a piece of a plan.

    Parameters
    ----------
    set_key
        The set it belongs to.
    piece
        Its key within the set, ``instrument/number/piece`` with ``/copy`` behind it where there are several.

    Returns
    -------
    str
        One key for the whole department.

    Examples
    --------
    >>> ledger_piece("Groin Repair", "sleeve6/1/seal")
    'Groin Repair/sleeve6/1/seal'
    """
    return f"{set_key}/{piece}"


def ledger_type(piece: PieceToPlace) -> str:
    """Return the key under which a ledger knows the type of a piece.

    Parameters
    ----------
    piece
        The piece.

    Returns
    -------
    str
        ``instrument/piece``: two pieces with the same one can stand in for each other.
    """
    return f"{piece.instrument}/{piece.piece}"


def small_part(piece: PieceToPlace) -> bool:
    """Say whether a piece is one of the small parts that lie in a pod and carry no mark of their own.

    Parameters
    ----------
    piece
        The piece.

    Returns
    -------
    bool
        True for what goes into a pod.
    """
    return piece.piece_type.placing is Placing.POD


def enrolment(department: Department, mark_of: Callable[[PieceToPlace], str | None]) -> list[Command]:
    """Say what a ledger has to be told of a department before its sets can go round.

    Parameters
    ----------
    department
        The department.
    mark_of
        What is marked on a piece; None where nothing is, so that nobody can report it as scanned.

    Returns
    -------
    list[Command]
        Machines, then each set with its pieces.
    """
    commands: list[Command] = [
        EnrolMachine(machine=name, kind=LoadKind.WASH, water=("final rinse",)) for name in department.machines
    ]
    for name in department.sets:
        pieces = pieces_of_set(department, name)
        types = [ledger_type(piece) for piece in pieces]
        listed = {kind: types.count(kind) for kind in types}
        commands.append(EnrolSet(set_key=name, set_type=name, listed=listed))
        place = Place(where=Where.SET, key=name)
        commands += [
            EnrolPiece(
                piece=ledger_piece(name, piece.key), type_key=ledger_type(piece), mark=mark_of(piece), place=place
            )
            for piece in pieces
        ]
    return commands

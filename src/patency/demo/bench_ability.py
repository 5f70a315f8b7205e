"""What the demo's people showed to be able to work with, and the accessories and spare pieces on its shelves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import AssessPerson, EnrolPiece, Method, Place, Where
from patency.steps import count_of_department

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import Department
    from patency.ledger import Command

ABLE = ("loader-1", "assembler-1", "assembler-2", "lead-2")
"""They were observed with every family."""
NOT_YET = {"loader-2": frozenset({"wristed instrument", "paediatric instrument", "shaver handpiece"})}
"""Families with which a beginner was not observed yet."""
SPARES = ("mod5/tube", "mod5/insert", "fix5/instrument", "sleeve11/valve spring", "sleeve6/valve spring")
"""Types of which one spare lies on the shelf; of the long tubes there is none."""


def ability_and_stock(department: Department, until: date) -> Iterator[Command]:
    """Say what the demo's ledger is told of people's abilities and of accessories; a lead says it.

    Parameters
    ----------
    department
        Larkmere.
    until
        Until when the abilities count.

    Yields
    ------
    Command
        Abilities, then counts, then spare pieces.
    """
    families = sorted({instrument.family for instrument in department.instruments.values()})
    for person in (*ABLE, *NOT_YET):
        for family in families:
            method = Method.THEORY if family in NOT_YET.get(person, frozenset()) else Method.OBSERVED
            yield AssessPerson(person=person, family=family, method=method, until=until)
    yield from count_of_department(department)
    shelf = Place(where=Where.SPARE, key="shelf of the soiled side")
    for kind in SPARES:
        mark = None if "spring" in kind else f"SPARE-{kind.replace('/', '-').upper()}"
        yield EnrolPiece(piece=f"spare {kind}", type_key=kind, mark=mark, place=shelf)

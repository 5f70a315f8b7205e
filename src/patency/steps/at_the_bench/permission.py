"""Who may do a step: a role in force, and for each family of instruments that the person showed to be able to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, Objection, Person, Piece, Refused, Role

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from patency.ledger import Circumstances, Who
    from patency.steps.at_the_bench.workplace import Workplace

SOILED = frozenset({Role.LOADER, Role.LEAD})
CLEAN = frozenset({Role.ASSEMBLER, Role.LEAD})


def not_permitted(
    workplace: Workplace, around: Circumstances, roles: Collection[Role], families: Iterable[str] = ()
) -> Refused | None:
    """Ask whether a person may do a step; somebody able beside them, who confirms too, makes up for what they lack.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    around
        Who, and who else.
    roles
        Any one of these permits it.
    families
        Families of instruments that are worked with.

    Returns
    -------
    Refused or None
        Every reason against it; None where there is none.
    """
    against = list(_without_role(workplace, around.who, around, roles))
    if around.second is not None:
        against += _without_role(workplace, around.second, around, roles)
    beside = (around.who, *((around.second,) if around.second else ()))
    for family in sorted(set(families)):
        if not any(_able(workplace, who, family, around) for who in beside):
            where = f"person {around.who.person}"
            against.append(
                Objection(where, f"has not shown to be able to work with {family}", "somebody able who confirms too")
            )
    return Refused(tuple(against)) if against else None


def _without_role(
    workplace: Workplace, who: Who, around: Circumstances, roles: Collection[Role]
) -> Iterable[Objection]:
    person = workplace.ledger.find(Person, who.person)
    held = {role: until for role, until in person.roles.items() if role in roles} if person else {}
    if not any(until is None or around.at.date() <= until for until in held.values()):
        yield Objection(
            f"person {who.person}", "may not do this", "a person permitted as " + " or ".join(sorted(roles))
        )


def _able(workplace: Workplace, who: Who, family: str, around: Circumstances) -> bool:
    person = workplace.ledger.find(Person, who.person)
    return person is not None and person.able(family, around.at.date())


def families_of_set(workplace: Workplace, found: InstrumentSet) -> set[str]:
    """Name the families of the instruments of a set.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    found
        The set.

    Returns
    -------
    set[str]
        The families, in the trade's words.
    """
    return {piece.instrument_type.family for piece in workplace.planned_pieces(found)}


def families_of_pieces(workplace: Workplace, pieces: Iterable[str]) -> set[str]:
    """Name the families that some pieces belong to.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    pieces
        Keys of pieces as the ledger knows them.

    Returns
    -------
    set[str]
        The families; pieces of unknown types belong to none.
    """
    found = (workplace.ledger.find(Piece, key) for key in pieces)
    instruments = {piece.type_key.split("/")[0] for piece in found if piece is not None}
    known = workplace.department.instruments
    return {known[key].family for key in instruments if key in known}

"""Ways to break a plan or the catalogue it was made for, in one place only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Department, read_department
from tests.small_site import SMALL_SITE, changed

if TYPE_CHECKING:
    from datetime import datetime

    from patency.load import Load, PlacedPiece, Plan


def site(*words: tuple[str, str]) -> Department:
    """Return the small department with words of its text replaced."""
    texts = dict(SMALL_SITE)
    for old, new in words:
        texts = changed(texts, old, new)
    return read_department(texts)


def load(plan: Plan, number: int = 0, **facts: object) -> Plan:
    """Return a plan of which one load has other facts."""
    loads = list(plan.loads)
    loads[number] = loads[number].model_copy(update=facts)
    return plan.model_copy(update={"loads": tuple(loads)})


def moved(plan: Plan, number: int, starts: datetime) -> Plan:
    """Return a plan of which one load starts at another time and lasts as long."""
    one = plan.loads[number]
    return load(plan, number, starts=starts, ends=starts + (one.ends - one.starts))


def find(plan: Plan, set_name: str, piece: str) -> tuple[int, Load, PlacedPiece]:
    """Return a placed piece with its load and that load's number."""
    return next(
        (number, one, placed)
        for number, one in enumerate(plan.loads)
        for placed in one.pieces
        if (placed.set, placed.piece) == (set_name, piece)
    )


def piece(plan: Plan, set_name: str, key: str, **facts: object) -> Plan:
    """Return a plan of which one placed piece has other facts."""
    number, one, old = find(plan, set_name, key)
    new = old.model_copy(update=facts)
    return load(plan, number, pieces=tuple(new if placed is old else placed for placed in one.pieces))


def without(plan: Plan, set_name: str, key: str) -> Plan:
    """Return a plan in which one piece is not placed."""
    number, one, old = find(plan, set_name, key)
    return load(plan, number, pieces=tuple(placed for placed in one.pieces if placed is not old))


def fed(plan: Plan, set_name: str, key: str, **facts: object) -> Plan:
    """Return a plan of which the first connection of one piece has other facts."""
    _, _, old = find(plan, set_name, key)
    first, *others = old.lumens
    return piece(plan, set_name, key, lumens=(first.model_copy(update=facts), *others))


def with_more(department: Department, **facts: object) -> Department:
    """Return a department of which whole chapters are replaced."""
    return department.model_copy(update=facts)


def plenty(department: Department) -> Department:
    """Return a department with nine of every accessory."""
    many = {key: thing.model_copy(update={"stock": 9}) for key, thing in department.accessories.items()}
    return with_more(department, accessories=many)

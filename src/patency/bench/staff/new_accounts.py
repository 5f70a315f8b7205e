"""Badge codes and PINs by chance, shown once to whoever hands them out."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.bench.people import weak_pin

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from patency.bench.people import People
    from patency.ledger import Person


@dataclass(frozen=True, slots=True)
class NewAccount:
    """An account as it is handed out; badge and PIN are kept nowhere in this form.

    Parameters
    ----------
    person
        Key of the person.
    roles
        What the person may do.
    badge
        What the code on the badge says.
    pin
        The PIN.
    """

    person: str
    roles: tuple[str, ...]
    badge: str
    pin: str


def accounts_for(people: People, persons: Iterable[Person], now: datetime) -> list[NewAccount]:
    """Give persons a new badge code and PIN each.

    Parameters
    ----------
    people
        The accounts.
    persons
        For whom.
    now
        The moment.

    Returns
    -------
    list[NewAccount]
        To be shown once.
    """
    made = []
    for one in persons:
        new = NewAccount(one.person, tuple(sorted(one.roles)), f"{one.person}-{secrets.token_hex(3)}", chance_pin())
        people.add(new.person, new.badge, new.pin, now)
        made.append(new)
    return made


def chance_pin() -> str:
    """Return a PIN by chance.

    Returns
    -------
    str
        Six digits that are not refused as weak.
    """
    while True:
        pin = f"{secrets.randbelow(10**6):06}"
        if weak_pin(pin) is None:
            return pin

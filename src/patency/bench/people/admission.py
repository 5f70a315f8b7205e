"""Whether a person is who the badge says: badge and PIN, each wrong try slower than the one before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.bench.people.pins import nobodys_hash, pin_is

if TYPE_CHECKING:
    from datetime import datetime

    from patency.bench.people.accounts import Account, People

_FREE_TRIES = 3
_FIRST_WAIT_S = 5.0
_LONGEST_WAIT_S = 900.0


@dataclass(frozen=True, slots=True)
class Admission:
    """A person who showed badge and PIN.

    Parameters
    ----------
    person
        Key of the person.
    """

    person: str


@dataclass(frozen=True, slots=True)
class Turned:
    """Somebody who was turned away.

    Parameters
    ----------
    wait_s
        How long no further try is looked at [s].
    """

    wait_s: float


def admit(people: People, badge: str, pin: str, now: datetime) -> Admission | Turned:
    """Compare badge and PIN.

    Parameters
    ----------
    people
        The accounts.
    badge
        What the badge's code says.
    pin
        What was entered.
    now
        The moment.

    Returns
    -------
    Admission or Turned
        Who it is; or how long to wait. An unknown badge looks like a wrong PIN.
    """
    return _compare(people, people.by_badge(badge), people.keyed("failure", badge), pin, now)


def confirm(people: People, person: str, pin: str, now: datetime) -> Admission | Turned:
    """Compare the PIN of somebody who is signed in, before a decision.

    Parameters
    ----------
    people
        The accounts.
    person
        Who.
    pin
        What was entered.
    now
        The moment.

    Returns
    -------
    Admission or Turned
        The person; or how long to wait.
    """
    return _compare(people, people.by_person(person), people.keyed("failure", f"person {person}"), pin, now)


def _compare(people: People, account: Account | None, who: str, pin: str, now: datetime) -> Admission | Turned:
    # Counted under the person where there is one, so that badge and PIN cannot be tried in two ways.
    counted = people.keyed("failure", f"person {account.person}") if account else who
    wait = _wait_s(people, counted, now)
    if wait > 0:
        return Turned(wait)
    right = pin_is(pin, account.pin if account else nobodys_hash())
    if account is None or not right:
        return Turned(_count_failure(people, counted, now))
    with people.writing() as rows:
        rows.execute("DELETE FROM failures WHERE who = ?", (counted,))
    return Admission(account.person)


def _wait_s(people: People, who: str, now: datetime) -> float:
    with people.writing() as rows:
        found = rows.execute("SELECT until FROM failures WHERE who = ?", (who,)).fetchone()
    return found[0] - now.timestamp() if found else 0.0


def _count_failure(people: People, who: str, now: datetime) -> float:
    with people.writing() as rows:
        found = rows.execute("SELECT count FROM failures WHERE who = ?", (who,)).fetchone()
        count = (found[0] if found else 0) + 1
        doublings = min(count - _FREE_TRIES, 20)  # beyond twenty the longest wait is long reached
        wait = min(_FIRST_WAIT_S * 2**doublings, _LONGEST_WAIT_S) if count >= _FREE_TRIES else 0.0
        row = (who, count, now.timestamp() + wait)
        rows.execute("INSERT OR REPLACE INTO failures VALUES (?, ?, ?)", row)
    return wait

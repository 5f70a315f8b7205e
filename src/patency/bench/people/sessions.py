"""Sessions: a row each, found by the digest of a token that only the browser keeps; they lock when nobody acts."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from patency.bench.people.accounts import People

LOCKS_AFTER = timedelta(minutes=10)
ENDS_AFTER = timedelta(hours=12)
_NOTED_EVERY_S = 5.0


@dataclass(frozen=True, slots=True)
class Session:
    """Somebody who is signed in at a station.

    Parameters
    ----------
    person
        Who.
    locked
        Whether the PIN is asked for before anything else.
    acted
        When somebody acted in it last, to a few seconds [s since 1970].
    """

    person: str
    locked: bool
    acted: float


def new_token() -> str:
    """Return a token nobody can guess.

    Returns
    -------
    str
        256 bits from the operating system.
    """
    return secrets.token_urlsafe(32)


def open_session(people: People, person: str, now: datetime) -> str:
    """Open a session.

    Parameters
    ----------
    people
        The accounts.
    person
        Whose.
    now
        The moment.

    Returns
    -------
    str
        Its token, for the browser alone.
    """
    token = new_token()
    with people.writing() as rows:
        rows.execute("DELETE FROM sessions WHERE opened < ?", ((now - ENDS_AFTER).timestamp(),))
        row = (people.keyed("session", token), person, now.timestamp(), now.timestamp())
        rows.execute("INSERT INTO sessions (token, person, opened, seen) VALUES (?, ?, ?, ?)", row)
    return token


def find_session(people: People, token: str, now: datetime) -> Session | None:
    """Find a session, and lock it where nobody has acted in it for a while; to find it is not to act.

    Parameters
    ----------
    people
        The accounts.
    token
        What the browser sent.
    now
        The moment.

    Returns
    -------
    Session or None
        None where there is none, or it has ended.
    """
    at, digest = now.timestamp(), people.keyed("session", token)
    with people.writing() as rows:
        query = "SELECT person, opened, seen, locked FROM sessions WHERE token = ?"
        row = rows.execute(query, (digest,)).fetchone()
        if row is None or at - row[1] > ENDS_AFTER.total_seconds():
            return None
        person, _, seen, locked = row
        if not locked and at - seen > LOCKS_AFTER.total_seconds():
            locked = 1
            rows.execute("UPDATE sessions SET locked = 1 WHERE token = ?", (digest,))
    return Session(person, bool(locked), seen)


def note_acting(people: People, token: str, session: Session, now: datetime) -> None:
    """Keep that somebody acts in a session, so that it does not lock.

    Parameters
    ----------
    people
        The accounts.
    token
        What the browser sent.
    session
        What was found for it.
    now
        The moment.
    """
    if not session.locked and now.timestamp() - session.acted > _NOTED_EVERY_S:
        with people.writing() as rows:
            query = "UPDATE sessions SET seen = ? WHERE token = ? AND NOT locked"
            rows.execute(query, (now.timestamp(), people.keyed("session", token)))


def lock_session(people: People, token: str) -> None:
    """Lock a session: the station stays where it is until the PIN is entered.

    Parameters
    ----------
    people
        The accounts.
    token
        Which session.
    """
    with people.writing() as rows:
        rows.execute("UPDATE sessions SET locked = 1 WHERE token = ?", (people.keyed("session", token),))


def end_session(people: People, token: str) -> None:
    """End a session.

    Parameters
    ----------
    people
        The accounts.
    token
        Which session.
    """
    with people.writing() as rows:
        rows.execute("DELETE FROM sessions WHERE token = ?", (people.keyed("session", token),))

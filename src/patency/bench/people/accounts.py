"""The file of accounts: who has which badge and PIN. What a person may do stands in the ledger, not here."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import sqlite3
import threading
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.bench.people.pins import hash_pin
from patency.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

_TABLES = """
CREATE TABLE IF NOT EXISTS accounts (
    person TEXT PRIMARY KEY, badge TEXT NOT NULL UNIQUE, pin TEXT NOT NULL, made REAL NOT NULL) STRICT;
CREATE TABLE IF NOT EXISTS sessions (
    token TEXT PRIMARY KEY, person TEXT NOT NULL REFERENCES accounts ON DELETE CASCADE,
    opened REAL NOT NULL, seen REAL NOT NULL, locked INTEGER NOT NULL DEFAULT 0) STRICT;
CREATE TABLE IF NOT EXISTS failures (who TEXT PRIMARY KEY, count INTEGER NOT NULL, until REAL NOT NULL) STRICT;
CREATE TABLE IF NOT EXISTS reads (at REAL NOT NULL, person TEXT NOT NULL, what TEXT NOT NULL) STRICT;
CREATE TABLE IF NOT EXISTS secrets (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
"""


@dataclass(frozen=True, slots=True)
class Account:
    """An account: the key of a person, and the hash of the PIN.

    Parameters
    ----------
    person
        The pseudonymous key under which the ledger knows the person.
    pin
        The PIN's hash.
    """

    person: str
    pin: str


class People:
    """The file of accounts and sessions.

    Parameters
    ----------
    connection
        To the file; used by one thread at a time.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._one_at_a_time = threading.Lock()
        with self.writing() as rows:
            rows.execute("INSERT OR IGNORE INTO secrets VALUES ('keys', ?)", (secrets.token_hex(32),))
            (key,) = rows.execute("SELECT value FROM secrets WHERE name = 'keys'").fetchone()
        self._key = bytes.fromhex(key)

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Read and write, alone, all or nothing.

        Yields
        ------
        sqlite3.Connection
            For statements.
        """
        with self._one_at_a_time, self._connection:
            yield self._connection

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def keyed(self, purpose: str, text: str) -> str:
        """Return a digest only this file's key can make: what is kept instead of a badge or a session's token.

        Parameters
        ----------
        purpose
            What it is for, so that digests of one purpose are none of another.
        text
            What it is made of.

        Returns
        -------
        str
            In hexadecimal digits.
        """
        return hmac.new(self._key, f"{purpose}\0{text}".encode(), hashlib.sha256).hexdigest()

    def any_account(self) -> bool:
        """Say whether anybody has an account.

        Returns
        -------
        bool
            False until the first start was set up.
        """
        with self.writing() as rows:
            return rows.execute("SELECT 1 FROM accounts LIMIT 1").fetchone() is not None

    def persons(self) -> list[str]:
        """List who has an account.

        Returns
        -------
        list[str]
            Keys of persons, in order.
        """
        with self.writing() as rows:
            return [person for (person,) in rows.execute("SELECT person FROM accounts ORDER BY person")]

    def add(self, person: str, badge: str, pin: str, now: datetime) -> str | None:
        """Give a person an account, or a new badge and PIN.

        Parameters
        ----------
        person
            Key of the person.
        badge
            What the badge's code says.
        pin
            The PIN.
        now
            The moment.

        Returns
        -------
        str or None
            Why not; None where it was done. Open sessions of the person end.
        """
        hashed = hash_pin(pin)
        try:
            with self.writing() as rows:
                rows.execute("DELETE FROM accounts WHERE person = ?", (person,))
                rows.execute("DELETE FROM sessions WHERE person = ?", (person,))
                made = (person, self.keyed("badge", badge), hashed, now.timestamp())
                rows.execute("INSERT INTO accounts VALUES (?, ?, ?, ?)", made)
        except sqlite3.IntegrityError:
            return "this badge belongs to somebody else"
        return None

    def by_badge(self, badge: str) -> Account | None:
        """Find whose badge it is.

        Parameters
        ----------
        badge
            What was scanned.

        Returns
        -------
        Account or None
            None where it is nobody's.
        """
        return self._find("badge", self.keyed("badge", badge))

    def by_person(self, person: str) -> Account | None:
        """Find the account of a person.

        Parameters
        ----------
        person
            Key of the person.

        Returns
        -------
        Account or None
            None where there is none.
        """
        return self._find("person", person)

    def _find(self, column: str, value: str) -> Account | None:
        with self.writing() as rows:
            found = rows.execute(f"SELECT person, pin FROM accounts WHERE {column} = ?", (value,)).fetchone()  # noqa: S608 - the column is one of two words above
        return Account(*found) if found else None

    def note_read(self, person: str, what: str, now: datetime) -> None:
        """Write down that an auditor looked at something.

        Parameters
        ----------
        person
            Who.
        what
            The page.
        now
            When.
        """
        with self.writing() as rows:
            rows.execute("INSERT INTO reads VALUES (?, ?, ?)", (now.timestamp(), person, what))

    def reads(self, most: int = 200) -> list[tuple[float, str, str]]:
        """List what auditors looked at, the latest first.

        Parameters
        ----------
        most
            How many at most.

        Returns
        -------
        list[tuple[float, str, str]]
            When [s since 1970], who, what.
        """
        with self.writing() as rows:
            return rows.execute("SELECT at, person, what FROM reads ORDER BY rowid DESC LIMIT ?", (most,)).fetchall()


def open_people(path: Path) -> People:
    """Open the file of accounts, or make it.

    Parameters
    ----------
    path
        The file; nobody but its owner may read it.

    Returns
    -------
    People
        To be closed when done with.

    Raises
    ------
    InputError
        When it cannot be opened.
    """
    try:
        path.touch(mode=0o600)
        connection = sqlite3.connect(path, check_same_thread=False, timeout=10)
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA secure_delete = ON")
        connection.executescript(_TABLES)
    except (OSError, sqlite3.Error) as fault:
        raise InputError(str(path), str(fault), "a file for accounts") from fault
    return People(connection)

"""From commands to rows: decides one after the other, then writes events and what follows from them at once."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from functools import cache, lru_cache
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.dialects import postgresql, sqlite

from patency.ledger.applying import apply
from patency.ledger.chain import START, canonical, digest
from patency.ledger.deciding import decide
from patency.ledger.events import Event
from patency.ledger.refusing import Refused
from patency.ledger.rows import row_key
from patency.ledger.state import State
from patency.ledger.tables import EVENTS, TABLE_OF, THINGS
from patency.ledger.things import THINGS as KINDS
from patency.ledger.things import address

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from sqlalchemy import Connection, Table

    from patency.ledger.commands import Command
    from patency.ledger.fields import Circumstances
    from patency.ledger.rows import Row
    from patency.ledger.things import Thing


_MANY = 500


@dataclass(frozen=True)
class Appended:
    """A command that was written down.

    Parameters
    ----------
    first, last
        The numbers of its events.
    head
        The digest of the last one.
    repeated
        Whether it had been written down before under the same key, and nothing was done now.
    """

    first: int
    last: int
    head: str
    repeated: bool = False


@dataclass(frozen=True)
class Head:
    """The last event of a ledger: its number, 0 for none, and its digest."""

    seq: int = 0
    digest: str = START


def read_head(connection: Connection) -> Head:
    """Read the last event's number and digest.

    Parameters
    ----------
    connection
        To the store.

    Returns
    -------
    Head
        The end of the chain.
    """
    row = connection.execute(select(EVENTS.c.seq, EVENTS.c.digest).order_by(EVENTS.c.seq.desc()).limit(1)).first()
    return Head(row.seq, row.digest) if row else Head()


def fetch_things(connection: Connection, places: Sequence[tuple[str, str]]) -> dict[tuple[str, str], Thing]:
    """Fetch things as they are now.

    Parameters
    ----------
    connection
        To the store.
    places
        The name of the kind and the key of each.

    Returns
    -------
    dict[tuple[str, str], Thing]
        Those that are there.
    """
    found: dict[tuple[str, str], Thing] = {}
    for name in dict.fromkeys(name for name, _ in places):
        keys = [key for kind, key in places if kind == name]
        query = select(THINGS.c.key, THINGS.c.doc).where(THINGS.c.kind == name, THINGS.c.key.in_(keys))
        for key, doc in connection.execute(query):
            found[name, key] = read_thing(name, doc)
    return found


@lru_cache(maxsize=2_048)
def read_thing(name: str, doc: str) -> Thing:
    """Read a thing as it is kept; things never change once they are made, so the same text is read once.

    Parameters
    ----------
    name
        The name of its kind.
    doc
        Its text.

    Returns
    -------
    Thing
        The thing.
    """
    return KINDS[name][0].model_validate_json(doc)


def asked_for(command: Command, around: Circumstances) -> str:
    """Return the digest of what is asked, by whom and where; not of when, so that a repetition is known as one.

    Parameters
    ----------
    command
        What is asked.
    around
        Who asks and where.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    who = around.model_dump(mode="json", include={"who", "second", "station"})
    return digest(canonical({"command": command.model_dump(mode="json"), **who}))


class Batch:
    """Commands decided one after the other on top of a store, kept aside until they are written together.

    Parameters
    ----------
    connection
        To the store, in a transaction that writes.
    commands
        The keys of the commands to come; those that brought about events before are looked up at once.
    """

    def __init__(self, connection: Connection, commands: Iterable[str]) -> None:
        self._connection = connection
        self._head = read_head(connection)
        self._state = State(lambda places: fetch_things(connection, places))
        self._events: list[dict[str, Any]] = []
        self._rows: dict[tuple[type[Row], tuple[object, ...]], Row] = {}
        self._keys = dict(_known(connection, list(commands)))

    def add(self, command: Command, around: Circumstances) -> Appended | Refused:
        """Decide one command.

        Parameters
        ----------
        command
            What is asked.
        around
            Who asks, when, where, under which key.

        Returns
        -------
        Appended or Refused
            What will be written; or why nothing of it will be.
        """
        asked = asked_for(command, around)
        before = self._keys.get(around.command)
        if before is not None:
            known, appended = before
            if known != asked:
                return Refused.because(
                    f"command {around.command}", "asked for something else before", "a key of its own"
                )
            return replace(appended, repeated=True)
        decided = decide(self._state, command, around, events_so_far=self._head.seq)
        if isinstance(decided, Refused):
            return decided
        first = self._head.seq + 1
        for part, payload in enumerate(decided):
            self._take(Event(self._head.seq + 1, part, asked, around, payload, self._head.digest))
        appended = Appended(first, self._head.seq, self._head.digest)
        self._keys[around.command] = asked, appended
        return appended

    def add_all(self, commands: Iterable[tuple[Command, Circumstances]]) -> list[Appended] | Refused:
        """Decide several commands one after the other: all of them or none.

        Parameters
        ----------
        commands
            Each with who, when, where, under which key.

        Returns
        -------
        list[Appended] or Refused
            For each what will be written; or why the first that was refused was, and then nothing of them will be.
        """
        before = self._head, self._state.copy(), len(self._events), dict(self._rows), dict(self._keys)
        done = []
        for command, around in commands:
            outcome = self.add(command, around)
            if isinstance(outcome, Refused):
                self._head, self._state, events, self._rows, self._keys = before
                del self._events[events:]
                return outcome
            done.append(outcome)
        return done

    def _take(self, event: Event) -> None:
        body = canonical(event.as_data())
        self._head = Head(event.seq, digest(body))
        self._events.append(
            {
                "seq": event.seq,
                "event": event.name,
                "command": event.circumstances.command,
                "part": event.part,
                "body": body,
                "digest": self._head.digest,
            }
        )
        for row in apply(self._state, event):
            self._rows[type(row), row_key(row)] = row

    def write(self) -> None:
        """Write everything added since the last call."""
        if self._events:
            self._connection.execute(EVENTS.insert(), self._events)
        write_read_models(self._connection, self._state.take_changes(), self._rows.values())
        self._events, self._rows = [], {}


def _known(connection: Connection, commands: list[str]) -> Iterator[tuple[str, tuple[str, Appended]]]:
    """Look for commands that brought about events before: the digest of what was asked, and the events."""
    for start in range(0, len(commands), _MANY):
        some = commands[start : start + _MANY]
        query = select(EVENTS.c.command, EVENTS.c.seq, EVENTS.c.body, EVENTS.c.digest).where(EVENTS.c.command.in_(some))
        rows = connection.execute(query.order_by(EVENTS.c.seq)).all()
        for key, events in groupby(rows, key=attrgetter("command")):
            first, *rest = events
            last = rest[-1] if rest else first
            yield key, (str(json.loads(first.body)["asked"]), Appended(first.seq, last.seq, last.digest))


def thing_row(thing: Thing, seq: int) -> dict[str, Any]:
    """Return a thing as it is kept.

    Parameters
    ----------
    thing
        The thing.
    seq
        The event that made it so.

    Returns
    -------
    dict[str, Any]
        A row of the table of things.
    """
    kind, key = address(thing)
    doc = canonical(thing.model_dump(mode="json", exclude_defaults=True))
    return {"kind": kind, "key": key, "seq": seq, "doc": doc}


def write_read_models(connection: Connection, things: Iterable[tuple[Thing, int]], rows: Iterable[Row]) -> None:
    """Write what follows from the events, taking the place of what stood there.

    Parameters
    ----------
    connection
        To the store, in a transaction that writes.
    things
        As they are now, each with the event that made it so.
    rows
        Of the trace, no two with the same key.
    """
    by_table: dict[Table, list[dict[str, Any]]] = {}
    for thing, seq in things:
        by_table.setdefault(THINGS, []).append(thing_row(thing, seq))
    for row in rows:
        by_table.setdefault(TABLE_OF[type(row)], []).append(asdict(row))
    for table, values in by_table.items():
        _put(connection, table, values)


def _put(connection: Connection, table: Table, values: list[dict[str, Any]]) -> None:
    connection.execute(_putting(connection.dialect.name, table), values)


@cache
def _putting(dialect: str, table: Table) -> sqlite.Insert | postgresql.Insert:
    keys = [column.name for column in table.primary_key]
    insert = (sqlite if dialect == "sqlite" else postgresql).insert(table)
    others = {name: insert.excluded[name] for name in table.columns.keys() if name not in keys}  # noqa: SIM118
    statement: sqlite.Insert | postgresql.Insert = (
        insert.on_conflict_do_update(index_elements=keys, set_=others)
        if others
        else insert.on_conflict_do_nothing(index_elements=keys)
    )
    return statement

"""The ledger: the one way to write down what happened, and the ways to read it."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import and_, func, select

from patency.ledger import checks
from patency.ledger.chain import Entry, breaks
from patency.ledger.queueing import Queue
from patency.ledger.refusing import Refused
from patency.ledger.state import State
from patency.ledger.store import Store, open_store
from patency.ledger.tables import EVENTS, THINGS, TOUCHES
from patency.ledger.things import THINGS as KINDS
from patency.ledger.things import Hold
from patency.ledger.tracing import Direction, trace
from patency.ledger.writing import Appended, Head, fetch_things, read_head, read_thing

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from sqlalchemy import Connection

    from patency.ledger.chain import Break
    from patency.ledger.commands import Command
    from patency.ledger.fields import Circumstances, Kind
    from patency.ledger.things import T
    from patency.ledger.tracing import Shared, Trace

_PAGE = 5_000


class Ledger:
    """What happened, kept in one store.

    Parameters
    ----------
    store
        Where it is kept.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._queue = Queue(store)

    def close(self) -> None:
        """Close the store."""
        self.store.close()

    def append(self, command: Command, around: Circumstances) -> Appended | Refused:
        """Write down what a command brings about, if nothing stands against it.

        When this returns, the events are on the disk. The same command under the same key does nothing again.

        Parameters
        ----------
        command
            What is asked.
        around
            Who asks, when, where, relying on what, under which key.

        Returns
        -------
        Appended or Refused
            The numbers of the events; or every reason against it, and then nothing was written.

        Raises
        ------
        StoreError
            When it could not be written; then nothing was.
        """
        outcome = self._queue.write([(command, around)])
        return outcome if isinstance(outcome, Refused) else outcome[0]

    def append_all(self, commands: Iterable[tuple[Command, Circumstances]]) -> list[Appended] | Refused:
        """Write down several commands together, one after the other: all of them or none.

        Parameters
        ----------
        commands
            Each with who, when, where, under which key.

        Returns
        -------
        list[Appended] or Refused
            For each command the numbers of its events; or why the first that was refused was.

        Raises
        ------
        StoreError
            When they could not be written; then nothing was.
        """
        return self._queue.write(list(commands))

    def head(self) -> Head:
        """Return the end of the chain, to be printed and kept elsewhere.

        Returns
        -------
        Head
            Number and digest of the last event.
        """
        with self.store.reading() as connection:
            return read_head(connection)

    def find(self, kind: type[T], key: str) -> T | None:
        """Find a thing as it is now.

        Parameters
        ----------
        kind
            Its type.
        key
            Its key.

        Returns
        -------
        T or None
            None where there is none.
        """
        name = next(name for name, (one, _) in KINDS.items() if one is kind)
        with self.store.glancing() as connection:
            found = fetch_things(connection, [(name, key)]).get((name, key))
        return found if isinstance(found, kind) else None

    def all_of(self, kind: type[T]) -> list[T]:
        """List every thing of a kind as it is now.

        Parameters
        ----------
        kind
            Its type.

        Returns
        -------
        list[T]
            In order of their keys.
        """
        name = next(name for name, (one, _) in KINDS.items() if one is kind)
        query = select(THINGS.c.key, THINGS.c.doc).where(THINGS.c.kind == name)
        with self.store.glancing() as connection:
            found = sorted(tuple(row) for row in connection.execute(query))
        return [one for _, doc in found if isinstance(one := read_thing(name, doc), kind)]

    def holds(self, kind: Kind, key: str) -> list[Hold]:
        """List the holds in force on a thing: for a set also those on its load, its pieces and their types.

        Parameters
        ----------
        kind
            What it is.
        key
            Which one.

        Returns
        -------
        list[Hold]
            In order of their keys.
        """
        with self.store.reading() as connection:
            state = State(lambda places: fetch_things(connection, places))
            return [state.get(Hold, hold) for hold in checks.holds_on_thing(state, kind, key)]

    def wrote(self, command: str) -> bool:
        """Tell whether a command was written down under this key.

        Parameters
        ----------
        command
            The idempotency key.

        Returns
        -------
        bool
            Whether there is an event of it.
        """
        with self.store.glancing() as connection:
            return (
                connection.execute(select(EVENTS.c.seq).where(EVENTS.c.command == command).limit(1)).first() is not None
            )

    def story(self, kind: str, key: str, last: int | None = None, event: str | None = None) -> list[dict[str, Any]]:
        """List the events that concern a thing.

        Parameters
        ----------
        kind
            What it is: set, piece, load, case, machine, hold and so on.
        key
            Which one.
        last
            How many at most, the newest; None for all.
        event
            Name of the only events listed, such as ``machine tested``; None for all.

        Returns
        -------
        list[dict[str, Any]]
            The events as they are exported, in order.
        """
        same = and_(TOUCHES.c.seq == EVENTS.c.seq, TOUCHES.c.kind == kind, TOUCHES.c.key == key)
        query = select(EVENTS.c.body).join(TOUCHES, same).order_by(EVENTS.c.seq.desc()).limit(last)
        query = query if event is None else query.where(EVENTS.c.event == event)
        with self.store.glancing() as connection:
            return [json.loads(body) for body in connection.execute(query).scalars()][::-1]

    def trace(
        self,
        kind: Kind,
        key: str,
        direction: Direction = Direction.FORWARD,
        *,
        since: int = 1,
        until: int | None = None,
        shared: Shared | None = None,
    ) -> Trace:
        """List what one thing touched, before it or after it.

        Forward from a piece, set or case the pieces are followed without end: nothing clears them. Forward from a load,
        machine or sample a piece is followed until the next released load of the same kind that is not in doubt
        itself. Backward each piece is followed to its last case, its last released loads and the case before them.

        Parameters
        ----------
        kind
            What is asked for: piece, set, load, machine of either kind, sample or case.
        key
            Which one.
        direction
            Which way to look.
        since
            The first event to look at.
        until
            The last one; None for now.
        shared
            Which shared wash loads carry the trace to other sets; None for the first one from a piece, set or case, and
            for none from a load, machine or sample.

        Returns
        -------
        Trace
            Each thing with its reason and the strength of the identities on the way.

        Raises
        ------
        InputError
            When the thing is not known or cannot be traced.
        """
        return trace(self.store, kind, key, direction, since=since, until=until, shared=shared)

    def first_since(self, moment: datetime) -> int:
        """Find the first event that was recorded at a moment or later.

        Parameters
        ----------
        moment
            With its offset.

        Returns
        -------
        int
            Its number; one more than the last where there is none.
        """
        low, high = 1, self.head().seq + 1
        with self.store.reading() as connection:
            while low < high:
                middle = (low + high) // 2
                body = connection.execute(select(EVENTS.c.body).where(EVENTS.c.seq == middle)).scalar_one()
                earlier = datetime.fromisoformat(json.loads(body)["recorded"]) < moment
                low, high = (middle + 1, high) if earlier else (low, middle)
        return low

    def entries(self) -> Iterator[Entry]:
        """Walk through the events as they stand in the store, a page at a time.

        Yields
        ------
        Entry
            In order of their numbers.
        """
        with self.store.reading() as connection:
            yield from read_entries(connection)

    def verify(self, head: tuple[int, str] | None = None) -> list[Break]:
        """Find every event that was altered, removed, doubled or put elsewhere.

        Parameters
        ----------
        head
            Number and digest of an event known from elsewhere, to find out whether the end was cut off.

        Returns
        -------
        list[Break]
            Empty where the chain holds.
        """
        return list(breaks(self.entries(), head))

    def count(self) -> int:
        """Count the events.

        Returns
        -------
        int
            How many there are.
        """
        with self.store.reading() as connection:
            return int(connection.execute(select(func.count()).select_from(EVENTS)).scalar_one())


def read_entries(connection: Connection) -> Iterator[Entry]:
    """Walk through the events of a store, a page at a time.

    Parameters
    ----------
    connection
        To the store.

    Yields
    ------
    Entry
        In order of their numbers.
    """
    last = -(2**62)
    while True:
        query = select(EVENTS).where(EVENTS.c.seq > last).order_by(EVENTS.c.seq).limit(_PAGE)
        rows = connection.execute(query).all()
        for row in rows:
            copies = (("event", row.event), ("command", row.command), ("part", row.part))
            yield Entry(row.seq, row.body, row.digest, copies)
        if len(rows) < _PAGE:
            return
        last = rows[-1].seq


def open_ledger(place: str, *, create: bool = False) -> Ledger:
    """Open a ledger.

    Parameters
    ----------
    place
        The path of a SQLite file, or ``postgresql://...``.
    create
        Whether one that is not there is made.

    Returns
    -------
    Ledger
        To be closed when done with.

    Raises
    ------
    InputError
        When there is none, or a newer version of this package wrote it.
    StoreError
        When the database does not answer.
    """
    return Ledger(open_store(place, create=create))

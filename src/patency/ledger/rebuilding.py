"""Everything that follows from the events, made again from them and compared with what is kept."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Text, collate, select

from patency.errors import StoreError
from patency.ledger.applying import apply
from patency.ledger.events import event_from_data
from patency.ledger.keeping import read_entries
from patency.ledger.rows import row_key
from patency.ledger.state import State
from patency.ledger.store import open_store
from patency.ledger.tables import READ_MODELS
from patency.ledger.writing import read_head, write_read_models

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection, Table

    from patency.ledger.chain import Entry
    from patency.ledger.keeping import Ledger
    from patency.ledger.rows import Row
    from patency.ledger.store import Store

_PAGE = 5_000


@dataclass(frozen=True)
class Difference:
    """A row that is kept otherwise than it follows from the events.

    Parameters
    ----------
    table
        Where it stands.
    key
        What tells it from others.
    kept, follows
        What is kept and what follows; None where there is none.
    """

    table: str
    key: tuple[object, ...]
    kept: dict[str, Any] | None
    follows: dict[str, Any] | None

    @property
    def line(self) -> str:
        """The difference as one line."""
        name = f"{self.table} {' '.join(map(str, self.key))}"
        if self.kept is None:
            return f"{name}: is not kept and follows from the events"
        if self.follows is None:
            return f"{name}: is kept and does not follow from the events"
        fields = ", ".join(field for field in self.kept if self.kept[field] != self.follows[field])
        return f"{name}: differs in {fields}"


def rebuild(ledger: Ledger) -> list[Difference]:
    """Make everything that follows from the events again, compare it, and keep what follows where it differs.

    The events are left as they are; whether their chain holds is asked of `Ledger.verify`.

    Parameters
    ----------
    ledger
        The ledger.

    Returns
    -------
    list[Difference]
        Every row that was kept otherwise; empty where all was equal, and then nothing was written.

    Raises
    ------
    StoreError
        When other people wrote meanwhile, so that nothing was replaced.
    """
    with tempfile.TemporaryDirectory() as folder:
        fresh = open_store(str(Path(folder) / "again.sqlite"), create=True)
        try:
            with ledger.store.reading() as kept:
                head = read_head(kept)
                _replay(read_entries(kept), fresh)
                with fresh.reading() as follows:
                    found = [one for table in READ_MODELS for one in _compare(table, kept, follows)]
            if found:
                _replace(ledger.store, fresh, head.seq)
        finally:
            fresh.close()
    return found


def _replay(entries: Iterator[Entry], fresh: Store) -> None:
    with fresh.writing() as connection:
        state = State()
        while page := list(islice(entries, _PAGE)):
            rows: dict[tuple[type[Row], tuple[object, ...]], Row] = {}
            for entry in page:
                for row in apply(state, event_from_data(json.loads(entry.body))):
                    rows[type(row), row_key(row)] = row
            write_read_models(connection, state.take_changes(), rows.values())


def _rows(table: Table, connection: Connection) -> Iterator[dict[str, Any]]:
    binary = "BINARY" if connection.dialect.name == "sqlite" else "C"
    keys = [collate(one, binary) if isinstance(one.type, Text) else one for one in table.primary_key]
    for row in connection.execute(select(table).order_by(*keys)).mappings():
        yield dict(row)


def _compare(table: Table, kept: Connection, follows: Connection) -> Iterator[Difference]:
    """Walk through both in the order of their keys, as one merges two sorted lists."""
    names = [column.name for column in table.primary_key]

    def key(row: dict[str, Any]) -> tuple[object, ...]:
        return tuple(row[name].encode() if isinstance(row[name], str) else row[name] for name in names)

    left, right = _rows(table, kept), _rows(table, follows)
    one, other = next(left, None), next(right, None)
    while one or other:
        first = min(key(row) for row in (one, other) if row)
        mine = one if one and key(one) == first else None
        theirs = other if other and key(other) == first else None
        if mine != theirs:
            yield Difference(table.name, tuple((mine or theirs or {})[name] for name in names), mine, theirs)
        one = next(left, None) if mine else one
        other = next(right, None) if theirs else other


def _replace(store: Store, fresh: Store, seq: int) -> None:
    with store.writing() as connection, fresh.reading() as follows:
        if read_head(connection).seq != seq:
            raise StoreError(store.name, "others wrote meanwhile; nothing was replaced", "a ledger at rest: try again")
        for table in READ_MODELS:
            connection.execute(table.delete())
            rows = _rows(table, follows)
            while page := list(islice(rows, _PAGE)):
                connection.execute(table.insert(), page)

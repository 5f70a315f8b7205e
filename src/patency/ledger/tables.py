"""The tables of the store, the same in SQLite and PostgreSQL. The events are the truth; all else follows from them."""

from __future__ import annotations

from sqlalchemy import BigInteger, Column, Index, Integer, MetaData, Table, Text, UniqueConstraint

from patency.ledger.rows import Passage, Row, Run, Stay, Touch, Use

METADATA = MetaData()
_NUMBER = BigInteger().with_variant(Integer, "sqlite")

EVENTS = Table(
    "events",
    METADATA,
    Column("seq", _NUMBER, primary_key=True, autoincrement=False),
    Column("event", Text, nullable=False),
    Column("command", Text, nullable=False),
    Column("part", Integer, nullable=False),
    Column("body", Text, nullable=False),
    Column("digest", Text, nullable=False),
    UniqueConstraint("command", "part", name="events_command_part"),
    sqlite_strict=True,
)

THINGS = Table(
    "things",
    METADATA,
    Column("kind", Text, primary_key=True),
    Column("key", Text, primary_key=True),
    Column("seq", _NUMBER, nullable=False),
    Column("doc", Text, nullable=False),
    sqlite_strict=True,
)

TOUCHES = Table(
    "touches",
    METADATA,
    Column("kind", Text, primary_key=True),
    Column("key", Text, primary_key=True),
    Column("seq", _NUMBER, primary_key=True, autoincrement=False),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)

STAYS = Table(
    "stays",
    METADATA,
    Column("piece", Text, primary_key=True),
    Column("first", _NUMBER, primary_key=True, autoincrement=False),
    Column("set_key", Text, nullable=False),
    Column("last", _NUMBER),
    Column("doubt", _NUMBER, nullable=False),
    Column("type_key", Text, nullable=False),
    Column("marked", Integer, nullable=False),
    Index("stays_set", "set_key", "doubt"),
    sqlite_strict=True,
)

PASSAGES = Table(
    "passages",
    METADATA,
    Column("load", Text, primary_key=True),
    Column("set_key", Text, primary_key=True),
    Column("seq", _NUMBER, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("machine", Text, nullable=False),
    Column("ended", _NUMBER),
    Column("released", _NUMBER),
    Column("withdrawn", _NUMBER),
    Column("scanned", Text, nullable=False),
    Index("passages_set", "set_key", "seq"),
    sqlite_strict=True,
)

USES = Table(
    "uses",
    METADATA,
    Column("case_key", Text, primary_key=True),
    Column("set_key", Text, primary_key=True),
    Column("seq", _NUMBER, primary_key=True, autoincrement=False),
    Column("opened", _NUMBER),
    Column("withdrawn", _NUMBER),
    Column("scanned", Text, nullable=False),
    Index("uses_set", "set_key", "seq"),
    sqlite_strict=True,
)

RUNS = Table(
    "runs",
    METADATA,
    Column("load", Text, primary_key=True),
    Column("machine", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("started", _NUMBER, nullable=False),
    Column("ended", _NUMBER),
    Index("runs_machine", "machine", "started"),
    sqlite_strict=True,
)

TABLE_OF: dict[type[Row], Table] = {Touch: TOUCHES, Stay: STAYS, Passage: PASSAGES, Use: USES, Run: RUNS}
READ_MODELS = (THINGS, *TABLE_OF.values())
"""Everything that follows from the events and can be made again from them."""

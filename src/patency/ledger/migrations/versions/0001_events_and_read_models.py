"""Events, of which none can be changed or removed, and what follows from them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

_ONLY_APPENDS_SQLITE = """
CREATE TRIGGER events_no_{verb} BEFORE {verb} ON events
BEGIN SELECT RAISE(ABORT, 'the ledger only appends'); END
"""
_ONLY_APPENDS_POSTGRESQL = """
CREATE FUNCTION only_appends() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'the ledger only appends'; END $$;
CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON events
FOR EACH STATEMENT EXECUTE FUNCTION only_appends();
"""


def upgrade() -> None:
    """Make the tables."""
    _events()
    _things()
    _stays()
    _ways()
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("update", "delete"):
            op.execute(_ONLY_APPENDS_SQLITE.format(verb=verb))
    else:
        op.execute(_ONLY_APPENDS_POSTGRESQL)


def _events() -> None:
    op.create_table(
        "events",
        sa.Column("seq", _NUMBER, primary_key=True, autoincrement=False),
        sa.Column("event", sa.Text, nullable=False),
        sa.Column("command", sa.Text, nullable=False),
        sa.Column("part", sa.Integer, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
        sa.UniqueConstraint("command", "part", name="events_command_part"),
        sqlite_strict=True,
    )


def _things() -> None:
    op.create_table(
        "things",
        sa.Column("kind", sa.Text, primary_key=True),
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("seq", _NUMBER, nullable=False),
        sa.Column("doc", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "touches",
        sa.Column("kind", sa.Text, primary_key=True),
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("seq", _NUMBER, primary_key=True, autoincrement=False),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )


def _stays() -> None:
    op.create_table(
        "stays",
        sa.Column("piece", sa.Text, primary_key=True),
        sa.Column("first", _NUMBER, primary_key=True, autoincrement=False),
        sa.Column("set_key", sa.Text, nullable=False),
        sa.Column("last", _NUMBER),
        sa.Column("doubt", _NUMBER, nullable=False),
        sa.Column("type_key", sa.Text, nullable=False),
        sa.Column("marked", sa.Integer, nullable=False),
        sqlite_strict=True,
    )
    op.create_index("stays_set", "stays", ["set_key", "doubt"])


def _ways() -> None:
    op.create_table(
        "passages",
        sa.Column("load", sa.Text, primary_key=True),
        sa.Column("set_key", sa.Text, primary_key=True),
        sa.Column("seq", _NUMBER, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("machine", sa.Text, nullable=False),
        sa.Column("ended", _NUMBER),
        sa.Column("released", _NUMBER),
        sa.Column("withdrawn", _NUMBER),
        sa.Column("scanned", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_index("passages_set", "passages", ["set_key", "seq"])
    op.create_table(
        "uses",
        sa.Column("case_key", sa.Text, primary_key=True),
        sa.Column("set_key", sa.Text, primary_key=True),
        sa.Column("seq", _NUMBER, primary_key=True, autoincrement=False),
        sa.Column("opened", _NUMBER),
        sa.Column("withdrawn", _NUMBER),
        sa.Column("scanned", sa.Text, nullable=False),
        sqlite_strict=True,
    )
    op.create_index("uses_set", "uses", ["set_key", "seq"])
    op.create_table(
        "runs",
        sa.Column("load", sa.Text, primary_key=True),
        sa.Column("machine", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("started", _NUMBER, nullable=False),
        sa.Column("ended", _NUMBER),
        sqlite_strict=True,
    )
    op.create_index("runs_machine", "runs", ["machine", "started"])

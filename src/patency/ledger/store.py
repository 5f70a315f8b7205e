"""Where the ledger is kept: one SQLite file, or PostgreSQL by a connection string; the same code for both.

SQLite is opened in WAL mode with ``synchronous=FULL``: a transaction is on the disk before it is acknowledged. SQLite
before 3.51.3 can lose committed work in WAL mode when two connections write and checkpoint at one moment (its release
notes, 2026), so an older one falls back to a rollback journal. One transaction writes at a time, in both stores.
"""

from __future__ import annotations

import sqlite3
import threading
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Engine, create_engine, event, inspect, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError

from patency.errors import InputError, StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import ModuleType

    from sqlalchemy import Connection

SCHEMA_VERSION = "0001"
"""The version of the tables this package writes; the newest of its migrations."""

_WAL_MENDED = (3, 51, 3)
_WAIT_MS = 20_000
# Connections are kept: to open one takes longer than to use it. As many as a server answers requests at once.
_POOL = {"pool_size": 40, "max_overflow": 10}
# Statements that read by themselves are short. So many of them at once keep every core busy; more would not be answered
# earlier, but each would need a connection of its own, which a server takes longer to open than to answer.
_GLANCES = 8


def _sqlite() -> ModuleType:
    """Return the newest SQLite there is: the one that is shipped along, else Python's own."""
    try:
        import pysqlite3
    except ImportError:
        return sqlite3
    return pysqlite3  # type: ignore[no-any-return]


class Store:
    """An open store.

    Parameters
    ----------
    engine
        The database.
    name
        What it is called in messages; without its password.
    """

    def __init__(self, engine: Engine, name: str) -> None:
        self.engine = engine
        self.name = name
        self._glances = threading.BoundedSemaphore(_GLANCES)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Read: everything inside sees one state of the store.

        Yields
        ------
        Connection
            For statements that change nothing.
        """
        with self.telling("cannot be read"), self.engine.connect() as connection:
            connection.execution_options(reads=True)
            if self.engine.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection

    @contextmanager
    def glancing(self) -> Iterator[Connection]:
        """Read with one statement, which by itself sees one state of the store.

        Yields
        ------
        Connection
            For one statement that changes nothing.
        """
        with self.telling("cannot be read"), self._glances, self.engine.connect() as connection:
            if self.engine.dialect.name == "postgresql":
                connection.execution_options(isolation_level="AUTOCOMMIT")
            else:
                connection.execution_options(glances=True)
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Write: alone, and all or nothing; when it returns, all of it is on the disk.

        Yields
        ------
        Connection
            For any statement.

        Raises
        ------
        StoreError
            When it could not be written; then nothing of it was.
        """
        with self.telling("cannot be written; nothing of this was"), self.engine.begin() as connection:
            if self.engine.dialect.name == "postgresql":
                connection.execute(text("LOCK TABLE events IN SHARE ROW EXCLUSIVE MODE"))
            yield connection

    @contextmanager
    def telling(self, what: str) -> Iterator[None]:
        """Tell what a database objects to in one line.

        Parameters
        ----------
        what
            What then was not done.

        Yields
        ------
        None
            Nothing.

        Raises
        ------
        StoreError
            With the database's own words.
        """
        try:
            yield
        except (DBAPIError, _sqlite().Error) as fault:
            told = str(getattr(fault, "orig", fault)).strip()
            raise StoreError(self.name, f"{what}: {told}", "a store that answers") from fault

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()


def open_store(place: str, *, create: bool) -> Store:
    """Open a store and bring its tables up to date.

    Parameters
    ----------
    place
        The path of a SQLite file, or ``postgresql://...``.
    create
        Whether a store that is not there or empty is made.

    Returns
    -------
    Store
        The open store.

    Raises
    ------
    InputError
        When there is no ledger, or one that a newer version of this package wrote.
    StoreError
        When the database does not answer.
    """
    store = _postgresql(place) if "://" in place else _sqlite_file(Path(place), create=create)
    try:
        _bring_up_to_date(store, create=create)
    except BaseException:
        store.close()
        raise
    return store


def _bring_up_to_date(store: Store, *, create: bool) -> None:
    with store.reading() as connection:
        version = _version(connection)
    if version is None and not create:
        raise InputError(store.name, "holds no ledger", "a ledger")
    if version != SCHEMA_VERSION:
        _upgrade(store, version)


def _version(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def _upgrade(store: Store, version: str | None) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")).replace("%", "%%"))
    try:
        if version is not None:
            ScriptDirectory.from_config(config).get_revision(version)
    except CommandError as fault:
        raise InputError(store.name, f"has tables of version {version}", f"at most {SCHEMA_VERSION}") from fault
    with store.telling("cannot be written; nothing of this was"), store.engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _sqlite_file(path: Path, *, create: bool) -> Store:
    if not create and not path.is_file():
        raise InputError(str(path), "is no file", "a ledger")
    if not path.parent.is_dir():
        raise InputError(str(path), "lies in no folder", "a folder that is there")
    sqlite = _sqlite()
    engine = create_engine(f"sqlite:///{path}", module=sqlite, connect_args={"timeout": _WAIT_MS / 1000}, **_POOL)
    journal = "WAL" if sqlite.sqlite_version_info >= _WAL_MENDED else "TRUNCATE"

    @event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: object) -> None:  # noqa: ANN401 - a connection of either module
        connection.isolation_level = None  # transactions begin below, not when the module thinks fit
        connection.execute(f"PRAGMA busy_timeout = {_WAIT_MS}")
        connection.execute(f"PRAGMA journal_mode = {journal}")
        connection.execute("PRAGMA synchronous = FULL")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        options = connection.get_execution_options()
        if not options.get("glances", False):
            connection.exec_driver_sql("BEGIN" if options.get("reads", False) else "BEGIN IMMEDIATE")

    return Store(engine, str(path))


def _postgresql(place: str) -> Store:
    wanted = "the path of a file, or postgresql://user@host/database"
    try:
        url = make_url(place)
    except ArgumentError as fault:
        raise InputError("ledger", "is no place of a store", wanted) from fault
    name = url.render_as_string(hide_password=True)
    if url.drivername not in {"postgresql", "postgresql+psycopg"}:
        raise InputError(name, f"{url.drivername} is not known", wanted)
    try:
        import psycopg  # noqa: F401
    except ImportError as fault:
        raise InputError(name, "the driver psycopg is not installed", "patency[postgresql]") from fault
    return Store(create_engine(url.set(drivername="postgresql+psycopg"), **_POOL), name)

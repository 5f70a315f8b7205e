"""A ledger in each of the two stores; PostgreSQL is a private server, started for the tests and stopped after them."""

from __future__ import annotations

import shutil
from itertools import count
from typing import TYPE_CHECKING

import pytest

from patency.ledger import open_ledger
from tests.ledger.postgresql import Server, private_server
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_NUMBERS = count(1)


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """Start PostgreSQL; where its programs are missing the tests fail and say so."""
    with private_server() as running:
        yield running


@pytest.fixture
def postgresql(server: Server) -> str:
    """Make an empty database and return its place."""
    return server.new_database(f"ledger{next(_NUMBERS)}")


@pytest.fixture
def sqlite(tmp_path: Path) -> str:
    """Return the place of a file that is not there yet."""
    return str(tmp_path / "ledger.sqlite")


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest) -> str:
    """Return the place of an empty store, of each kind in turn."""
    found = request.getfixturevalue(request.param)
    assert isinstance(found, str)
    return found


@pytest.fixture
def empty(place: str) -> Iterator[Desk]:
    """Open a ledger in which nothing happened yet."""
    ledger = open_ledger(place, create=True)
    yield Desk(ledger)
    ledger.close()


@pytest.fixture(scope="session")
def begun_file(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Desk]:
    """Write the beginning of a department into a file, once; every commit waits for the disk."""
    return _begin(str(tmp_path_factory.mktemp("begun") / "ledger.sqlite"))


@pytest.fixture(scope="session")
def begun_database(server: Server) -> tuple[str, Desk]:
    """Write the same into a database, once."""
    return _begin(server.new_database("begun"))


def _begin(place: str) -> tuple[str, Desk]:
    ledger = open_ledger(place, create=True)
    desk = Desk(ledger).opened()
    ledger.close()
    return place, desk


def _go_on(place: str, begun: Desk) -> Desk:
    desk = Desk(open_ledger(place))
    desk.at, desk.number = begun.at, begun.number
    return desk


@pytest.fixture
def quick(begun_file: tuple[str, Desk], sqlite: str) -> Iterator[Desk]:
    """Open a ledger with people, machines and two sets, received; in SQLite alone, where no store has a part in it."""
    shutil.copy(begun_file[0], sqlite)
    desk = _go_on(sqlite, begun_file[1])
    yield desk
    desk.ledger.close()


@pytest.fixture
def in_postgresql(begun_database: tuple[str, Desk], server: Server) -> Iterator[Desk]:
    """Open the same in PostgreSQL."""
    place = server.new_database(f"ledger{next(_NUMBERS)}", template="begun")
    desk = _go_on(place, begun_database[1])
    yield desk
    desk.ledger.close()


@pytest.fixture(params=["quick", "in_postgresql"])
def desk(request: pytest.FixtureRequest) -> Desk:
    """Open the same in each kind of store in turn."""
    found = request.getfixturevalue(request.param)
    assert isinstance(found, Desk)
    return found

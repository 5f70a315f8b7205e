"""Requests that wait are written together; each stands alone and is acknowledged after the commit."""

from __future__ import annotations

import contextlib
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest
from sqlalchemy.exc import OperationalError
from sqlalchemy.pool import QueuePool

from patency.errors import StoreError
from patency.ledger import (
    Appended,
    EnrolPiece,
    InstrumentSet,
    Kind,
    MovePiece,
    MoveSet,
    NoteResult,
    Place,
    Refused,
    Result,
    SetState,
    Where,
)
from patency.ledger.store import Store
from patency.ledger.writing import Batch
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from sqlalchemy import Connection as Connected

    from patency.ledger import Circumstances, Command

    Asked = list[list[tuple[Command, Circumstances]]]

MANY = 12
Outcome = list[Appended] | Refused | BaseException


def note(number: int) -> NoteResult:
    return NoteResult(about=Kind.SET, key="Heron", result=Result(format=f"n/{number}", verdict="met"))


def all_at_once(desk: Desk, asked: Sequence[Sequence[tuple[Command, Circumstances]]]) -> list[Outcome]:
    """Let a thread for each request ask while the store is busy, so that they wait for one another."""
    outcomes: list[Outcome] = [Refused(())] * len(asked)

    def ask(place: int) -> None:
        try:
            outcomes[place] = desk.ledger.append_all(asked[place])
        except BaseException as fault:  # noqa: BLE001 - what became of it is looked at
            outcomes[place] = fault

    threads = [threading.Thread(target=ask, args=(place,)) for place in range(len(asked))]
    with desk.ledger.store.writing():
        for thread in threads:
            thread.start()
        time.sleep(0.3)
    for thread in threads:
        thread.join()
    return outcomes


@pytest.fixture
def transactions(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was begun to be written, one word for each transaction."""
    begun: list[str] = []
    before: Callable[[Store], contextlib.AbstractContextManager[Connected]] = Store.writing

    @contextmanager
    def counted(self: Store) -> Iterator[Connected]:
        begun.append("begun")
        with before(self) as connection:
            yield connection

    monkeypatch.setattr(Store, "writing", counted)
    return begun


def test_what_waits_is_written_in_one_transaction_and_each_gets_its_own_events(
    desk: Desk, transactions: list[str]
) -> None:
    before = desk.ledger.count()
    asked: Asked = [[(note(number), desk.around("loader-1", key=f"scan-{number}"))] for number in range(MANY)]
    outcomes = all_at_once(desk, asked)
    assert len(transactions) <= 1 + 2  # the one that kept the store busy, the first that waited, all the others
    numbers = [one[0].first for one in outcomes if isinstance(one, list)]
    assert sorted(numbers) == list(range(before + 1, before + 1 + MANY))
    events = {event["command"]: event["seq"] for event in desk.ledger.story("set", "Heron")}
    assert [events[f"scan-{number}"] for number in range(MANY)] == numbers
    assert desk.ledger.verify() == []


def test_who_is_refused_takes_nobody_along_and_nothing_of_it_is_written(desk: Desk) -> None:
    back = MoveSet(set_key="Heron", to=SetState.STORED)
    asked: Asked = [[(note(number), desk.around("loader-1", key=f"scan-{number}"))] for number in range(MANY)]
    asked[5:5] = [
        [(note(99), desk.around("loader-1", key="first")), (back, desk.around("loader-1", key="second"))],
        [(note(3), desk.around("loader-1", key="scan-3"))],
    ]
    outcomes = all_at_once(desk, asked)
    refused = outcomes.pop(5)
    assert isinstance(refused, Refused)
    again = outcomes.pop(5)
    assert isinstance(again, list)
    assert all(isinstance(one, list) for one in outcomes)
    kept = [event["command"] for event in desk.ledger.story("set", "Heron")]
    assert "first" not in kept
    assert kept.count("scan-3") == 1
    assert desk.ledger.find(InstrumentSet, "Heron") is not None
    assert desk.ledger.verify() == []


def test_of_two_stations_that_take_one_spare_at_the_same_moment_one_gets_it(desk: Desk) -> None:
    shelf = Place(where=Where.SPARE, key="shelf 2")
    desk.do(EnrolPiece(piece="spare seal", type_key="seal", place=shelf))
    takes = [
        MovePiece(piece="spare seal", from_place=shelf, to=Place(where=Where.SET, key=name), why="torn")
        for name in ("Heron", "Otter")
    ]
    outcomes = all_at_once(desk, [[(take, desk.around("loader-1", key=f"take-{take.to.key}"))] for take in takes])
    (got,) = [take.to.key for take, one in zip(takes, outcomes, strict=True) if isinstance(one, list)]
    (told,) = [one.text for one in outcomes if isinstance(one, Refused)]
    assert told == f"piece spare seal: is in set {got} by now (expected: a piece that is in spare shelf 2)"
    assert [event["event"] for event in desk.ledger.story("piece", "spare seal")].count("piece moved") == 1


def test_who_fails_fails_alone(quick: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    add = Batch.add

    def fails(self: Batch, command: Command, around: Circumstances) -> Appended | Refused:
        if around.command == "scan-4":
            raise ValueError("no such thing")
        return add(self, command, around)

    monkeypatch.setattr(Batch, "add", fails)
    asked: Asked = [[(note(number), quick.around("loader-1", key=f"scan-{number}"))] for number in range(MANY)]
    outcomes = all_at_once(quick, asked)
    assert [place for place, one in enumerate(outcomes) if not isinstance(one, list)] == [4]
    assert isinstance(outcomes[4], ValueError)
    assert {event["command"] for event in quick.ledger.story("set", "Heron")} >= {"scan-3", "scan-5"}
    assert "scan-4" not in {event["command"] for event in quick.ledger.story("set", "Heron")}


def test_when_the_store_fails_everybody_is_told_at_once(quick: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    tries: list[int] = []

    def full(self: Batch) -> None:
        tries.append(len(self._events))
        raise OperationalError("INSERT", {}, Exception("database or disk is full"))

    monkeypatch.setattr(Batch, "write", full)
    asked: Asked = [[(note(number), quick.around("loader-1", key=f"scan-{number}"))] for number in range(MANY)]
    outcomes = all_at_once(quick, asked)
    assert all(isinstance(one, StoreError) and "nothing of this was" in one.line for one in outcomes)
    assert len({id(one) for one in outcomes}) == MANY
    assert len(tries) <= 2
    assert sum(tries) == MANY


def test_who_stops_waiting_leaves_the_turn_to_the_next(quick: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    wait = threading.Event.wait
    stopped: list[str] = []

    def interrupted(self: threading.Event, timeout: float | None = None) -> bool:
        told = wait(self, timeout)
        if threading.current_thread().name.endswith("(ask)") and not stopped:
            stopped.append(threading.current_thread().name)
            raise KeyboardInterrupt
        return told

    monkeypatch.setattr(threading.Event, "wait", interrupted)
    asked: Asked = [[(note(number), quick.around("loader-1", key=f"scan-{number}"))] for number in range(MANY)]
    outcomes = all_at_once(quick, asked)
    assert sum(isinstance(one, KeyboardInterrupt) for one in outcomes) == 1
    assert sum(isinstance(one, list) for one in outcomes) == MANY - 1
    assert isinstance(quick.ledger.append(note(77), quick.around("loader-1")), Appended)


def test_many_who_look_at_once_share_a_few_connections(desk: Desk) -> None:
    found: list[object] = []
    gate = threading.Barrier(30)

    def look() -> None:
        gate.wait()
        found.append(desk.ledger.find(InstrumentSet, "Heron"))

    threads = [threading.Thread(target=look) for _ in range(30)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 30
    assert None not in found
    with desk.ledger.store.reading() as connection:
        pool = connection.engine.pool
    assert isinstance(pool, QueuePool)
    assert pool.checkedin() <= 9

"""A process that writes is killed at random points: what it acknowledged is there, once, and the ledger goes on."""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import random
import shutil
import signal
import time
from typing import TYPE_CHECKING

from patency.ledger import Kind, NoteResult, Result, open_ledger, rebuild
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from pathlib import Path

_START = multiprocessing.get_context("forkserver")
_START.set_forkserver_preload(["patency.ledger", "tests.ledger.quay", "psycopg"])


def write(place: str, number: int, told: Connection) -> None:
    """Write scans from a number on, without end, and say each time which event it became."""
    desk = Desk(open_ledger(place))
    while True:
        note = NoteResult(about=Kind.SET, key="Heron", result=Result(format=f"n/{number}", verdict="met"))
        told.send((number, desk.do(note, "loader-1", key=f"scan-{number}")))
        number += 1


def write_until_killed(place: str, number: int, after_s: float) -> list[tuple[int, int]]:
    """Let a process write scans from a number on, kill it, and return what it acknowledged: number and event."""
    here, there = _START.Pipe(duplex=False)
    writer = _START.Process(target=write, args=(place, number, there))
    writer.start()
    there.close()
    told = [here.recv()]  # so that it is killed while it writes, not while it starts
    time.sleep(after_s)
    writer.kill()
    writer.join()
    assert writer.exitcode == -signal.SIGKILL
    with contextlib.suppress(EOFError, OSError):  # the end, or a message cut short, which acknowledged nothing
        while True:
            told.append(here.recv())
    return told


def kill_often(place: str, times: int, rng: random.Random) -> int:
    """Kill writers one after the other, each resending the last scan first; return how many were acknowledged."""
    acknowledged: dict[int, int] = {}
    number = 1
    for _ in range(times):
        told = write_until_killed(place, number, rng.uniform(0.0, 0.15))
        assert told
        for scan, seq in told:
            assert acknowledged.setdefault(scan, seq) == seq, "a resent scan was written twice"
        number = max(acknowledged)  # the next writer sends the last one again, as a station does that got no answer
    check(place, acknowledged)
    return len(acknowledged)


def check(place: str, acknowledged: dict[int, int]) -> None:
    """Find every acknowledged scan at its event, none twice, none left out in between, and the ledger whole."""
    ledger = open_ledger(place)
    notes = [event for event in ledger.story("set", "Heron") if event["event"] == "result noted"]
    kept = {int(event["command"].removeprefix("scan-")): event["seq"] for event in notes}
    assert len(kept) == len(notes)
    assert sorted(kept) == list(range(1, max(kept) + 1))
    assert {scan: kept[scan] for scan in acknowledged} == acknowledged
    assert ledger.verify() == []
    assert rebuild(ledger) == []
    ledger.close()


def test_a_killed_writer_loses_and_doubles_nothing_in_sqlite(begun_file: tuple[str, Desk], tmp_path: Path) -> None:
    place = str(tmp_path / "killed.sqlite")
    shutil.copy(begun_file[0], place)
    assert kill_often(place, 20, random.Random(1)) > 10


def test_a_killed_writer_loses_and_doubles_nothing_in_postgresql(in_postgresql: Desk) -> None:
    in_postgresql.ledger.close()
    assert kill_often(in_postgresql.place, 15, random.Random(2)) > 10


def test_a_key_that_was_never_acknowledged_may_be_sent_again(quick: Desk) -> None:
    told = write_until_killed(quick.place, 1, 0.02)
    last = max(number for number, _ in told)
    again = write_until_killed(quick.place, last + 1, 0.0)
    assert again[0][0] == last + 1
    assert json.dumps(quick.ledger.story("set", "Heron")).count(f'"scan-{last + 1}"') == 1

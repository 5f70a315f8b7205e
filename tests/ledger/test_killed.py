"""A process that writes is killed at random points: what it acknowledged is there, once, and the ledger goes on.

Several threads write at once, as the stations of a bench do, so that what waits is written together; each begins by
sending the last acknowledged scan of its station again, as a station does that got no answer.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import random
import shutil
import signal
import threading
import time
from typing import TYPE_CHECKING

from patency.ledger import Appended, Kind, NoteResult, Result, open_ledger, rebuild
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from collections.abc import Mapping
    from multiprocessing.connection import Connection
    from pathlib import Path

STATIONS = 6
_START = multiprocessing.get_context("forkserver")
# All that writers or the main module import, so that a new writer begins within milliseconds of processor time.
_START.set_forkserver_preload(
    ["tests.ledger.postgresql", "tests.ledger.test_killed", "sqlalchemy.dialects.postgresql.psycopg"]
)

Told = tuple[int, int, int]
"""A scan that was acknowledged: the station, its number, and which event it became."""


def write(place: str, numbers: Mapping[int, int], told: Connection) -> None:
    """Write scans of each station from a number on, without end, and say each time which event it became."""
    desk, guard = Desk(open_ledger(place)), threading.Lock()

    def work(station: int, number: int) -> None:
        while True:
            note = NoteResult(about=Kind.SET, key="Heron", result=Result(format=f"n/{station}-{number}", verdict="met"))
            with guard:
                around = desk.around("loader-1", key=f"scan-{station}-{number}")
            outcome = desk.ledger.append(note, around)
            assert isinstance(outcome, Appended)
            with guard:
                told.send((station, number, outcome.first))
            number += 1

    for station, number in numbers.items():
        threading.Thread(target=work, args=(station, number)).start()


def write_until_killed(place: str, numbers: Mapping[int, int], after: int, more_s: float) -> list[Told]:
    """Let a process write scans from each station's number on and kill it while it writes.

    It is killed a moment after so many were acknowledged, as fast or slow as the machine is; returns what it
    acknowledged until then.
    """
    here, there = _START.Pipe(duplex=False)
    writer = _START.Process(target=write, args=(place, numbers, there))
    writer.start()
    there.close()
    told = [here.recv() for _ in range(after)]
    time.sleep(more_s)
    writer.kill()
    writer.join()
    assert writer.exitcode == -signal.SIGKILL, writer.exitcode
    with contextlib.suppress(EOFError, OSError):  # the end, or a message cut short, which acknowledged nothing
        while True:
            told.append(here.recv())
    return told


def kill_often(place: str, times: int, rng: random.Random, stations: int = STATIONS) -> int:
    """Kill writers one after the other, each resending the last scans first; return how many were acknowledged."""
    acknowledged: dict[tuple[int, int], int] = {}
    numbers = dict.fromkeys(range(stations), 1)
    for _ in range(times):
        for station, number, seq in write_until_killed(place, numbers, rng.randint(1, 30), rng.uniform(0.0, 0.01)):
            assert acknowledged.setdefault((station, number), seq) == seq, "a resent scan was written twice"
            numbers[station] = max(numbers[station], number)
    check(place, acknowledged)
    return len(acknowledged)


def check(place: str, acknowledged: Mapping[tuple[int, int], int]) -> None:
    """Find every acknowledged scan at its event, none twice, none left out in between, and the ledger whole."""
    ledger = open_ledger(place)
    notes = [event for event in ledger.story("set", "Heron") if event["event"] == "result noted"]
    kept = {scan_of(event["command"]): event["seq"] for event in notes}
    assert len(kept) == len(notes)
    for station in {station for station, _ in kept}:
        numbers = sorted(number for one, number in kept if one == station)
        assert numbers == list(range(1, len(numbers) + 1))
    assert {scan: kept[scan] for scan in acknowledged} == acknowledged
    assert ledger.verify() == []
    assert rebuild(ledger) == []
    ledger.close()


def scan_of(command: str) -> tuple[int, int]:
    """Read station and number off the key of a scan."""
    _, station, number = command.split("-")
    return int(station), int(number)


def test_a_killed_writer_loses_and_doubles_nothing_in_sqlite(begun_file: tuple[str, Desk], tmp_path: Path) -> None:
    place = str(tmp_path / "killed.sqlite")
    shutil.copy(begun_file[0], place)
    assert kill_often(place, 10, random.Random(1)) > 10


def test_a_killed_writer_loses_and_doubles_nothing_in_postgresql(in_postgresql: Desk) -> None:
    in_postgresql.ledger.close()
    assert kill_often(in_postgresql.place, 8, random.Random(2)) > 10


def test_a_key_that_was_never_acknowledged_may_be_sent_again(quick: Desk) -> None:
    told = write_until_killed(quick.place, {0: 1}, 3, 0.0)
    last = max(number for _, number, _ in told)
    again = write_until_killed(quick.place, {0: last + 1}, 1, 0.0)
    assert again[0][1] == last + 1
    commands = [event["command"] for event in quick.ledger.story("set", "Heron")]
    assert commands.count(f"scan-0-{last + 1}") == 1

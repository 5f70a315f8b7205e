"""How long a scan waits until it is on the disk, with many stations scanning, in both stores.

Each station is a thread of one process, as in the bench: it scans a marked piece, looks up what the mark means and
writes the sighting down; the clock stops when the ledger has acknowledged the commit. Three paces are measured:

* people: each station scans a new piece every 4 to 6 s, as a loader does, at moments of its own;
* at once: all stations scan at the same instant, once a second, so that every scan waits for those before it;
* rush: every station scans again as soon as it is answered, which no hands do; it shows how much goes through.

Every acknowledged scan is counted again afterwards. Run with ``python -m benchmarks.bench_stations``; ``--stations``,
``--seconds`` change the size.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import numpy as np

from patency.demo.bench_history import write_history
from patency.ledger import Appended, Circumstances, Confirmation, Kind, NoteResult, Piece, Result, Who, open_ledger
from patency.load import Plan
from patency.steps import Scanned, Workplace, read_scan
from tests.demo.larkmere import larkmere
from tests.ledger.postgresql import private_server

PEOPLE_S = (4.0, 6.0)
BETWEEN_S = 1.0
START = datetime(2026, 5, 12, 13, 20, tzinfo=UTC)


def one_scan(workplace: Workplace, mark: str, station: str, number: int) -> float:
    """Scan a mark at a station and return how long it took until it was on the disk [s]."""
    began = time.perf_counter()
    scanned = read_scan(workplace, mark)
    if not isinstance(scanned, Scanned):
        raise TypeError(scanned.text)
    at = START + timedelta(seconds=number)
    around = Circumstances(
        command=f"station-{station}-{number}",
        who=Who(person="loader-1", confirmed=Confirmation.BADGE),
        at=at,
        clock="station clock",
        recorded=at,
        station=f"sink {station}",
    )
    sighting = NoteResult(
        about=Kind.PIECE,
        key=scanned.key,
        result=Result(format="patency-sighting/1", verdict="not evaluated", data={"mark": mark}),
    )
    outcome = workplace.ledger.append(sighting, around)
    if not isinstance(outcome, Appended):
        raise TypeError(outcome.text)
    return time.perf_counter() - began


def run(workplace: Workplace, stations: int, seconds: float, pace: str) -> list[float]:
    """Let all stations scan for a while at a pace and return how long each scan took [s]."""
    marks = [piece.mark for piece in workplace.ledger.all_of(Piece) if piece.mark]
    waits: list[float] = []
    lock, gate, until = threading.Lock(), threading.Barrier(stations), time.perf_counter() + seconds

    def pause(rng: Random) -> None:
        if pace == "people":
            time.sleep(rng.uniform(*PEOPLE_S))
        elif pace == "at once":
            gate.wait()  # everybody has been answered
            time.sleep(BETWEEN_S)
            gate.wait()  # everybody's finger is on the trigger

    def work(station: int) -> None:
        rng, number = Random(station), 0
        gate.wait()
        while True:
            pause(rng)
            number += 1
            took = one_scan(workplace, marks[rng.randrange(len(marks))], f"{pace}-{station}", number)
            with lock:
                waits.append(took)
            # Of those that scan at once nobody stops alone: the others would wait at the gate.
            rounds = number * BETWEEN_S >= seconds if pace == "at once" else time.perf_counter() >= until
            if rounds:
                return

    threads = [threading.Thread(target=work, args=(station,)) for station in range(stations)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return waits


def measure(place: str, name: str, stations: int, seconds: float) -> None:
    """Measure one store and print what came of it; nothing acknowledged may be missing."""
    department = larkmere()
    plan = Plan(
        site=department.site, day=START.date(), loads=(), loads_at_least=0, proven_fewest=False,
        objective={}, bound={},
    )  # fmt: skip
    ledger = open_ledger(place, create=True)
    write_history(ledger, department, START)
    workplace = Workplace(ledger, department, plan)
    for pace in ("people", "at once", "rush"):
        before, busy, began = ledger.count(), time.process_time(), time.perf_counter()
        waits = np.array(run(workplace, stations, seconds, pace)) * 1e3
        rate, cpu_ms = waits.size / (time.perf_counter() - began), (time.process_time() - busy) / waits.size * 1e3
        if ledger.count() - before != waits.size:
            raise SystemExit(f"{name}: {waits.size} scans acknowledged, {ledger.count() - before} kept")
        p50, p99 = np.percentile(waits, (50, 99))
        print(
            f"{name:<12}{pace:<8}{waits.size:>7} scans {rate:>7.1f}/s   p50 {p50:>7.1f} ms   p99 {p99:>7.1f} ms   "
            f"processor {cpu_ms:.2f} ms a scan"
        )
    ledger.close()


def main() -> None:
    """Measure both stores."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--stations", type=int, default=50)
    asked.add_argument("--seconds", type=float, default=30.0)
    options = asked.parse_args()
    print(f"{options.stations} stations, {os.cpu_count()} cores, load average before {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as folder:
        measure(str(Path(folder) / "ledger.sqlite"), "SQLite", options.stations, options.seconds)
    with private_server("fsync=on", "full_page_writes=on", "max_connections=120") as server:
        measure(server.new_database("stations"), "PostgreSQL", options.stations, options.seconds)


if __name__ == "__main__":
    main()

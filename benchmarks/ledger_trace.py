"""How long a trace takes on five years of a department with sixty loads a day, in SQLite and in PostgreSQL.

Run from the root of the checkout, in the environment of the tests; building five years takes some minutes for each
store and 5 GB of disk:

    python -m benchmarks.ledger_trace [DAYS] [sqlite|postgresql|both]

Prints for each start and direction the best and the worst of five traces in time on the clock, the
best in time of this process, and the number of things listed; beside it how long it takes to read every event once, as
would have to be done without read models.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.years_of_ledger import BY_THE_RULES, COPIED_FROM, build
from patency.ledger import Direction, Kind, Ledger, open_ledger
from tests.ledger.postgresql import private_server

if TYPE_CHECKING:
    from collections.abc import Callable

ROUNDS = 5


def questions(ledger: Ledger, days: int) -> list[tuple[Kind, str, Direction, int]]:
    """List what is asked, and from which event: of the first days, of the middle and of the last."""
    copies = (days - BY_THE_RULES) // (BY_THE_RULES - COPIED_FROM)
    middle, last = f"/{copies // 2}", f"/{copies}"
    week = int(ledger.story("load", f"w20.0{last}")[0]["seq"])
    forward, backward = Direction.FORWARD, Direction.BACKWARD
    return [
        (Kind.CASE, "case-1-007", forward, 1),
        (Kind.CASE, f"case-20-007{middle}", forward, 1),
        (Kind.CASE, f"case-27-007{last}", forward, 1),
        (Kind.CASE, f"case-27-007{last}", backward, 1),
        (Kind.PIECE, "set 007 tube", forward, 1),
        (Kind.PIECE, "set 007 seal", forward, 1),
        (Kind.PIECE, "set 007 seal", backward, 1),
        (Kind.SET, "set 007", forward, 1),
        (Kind.SET, "set 007", backward, 1),
        (Kind.LOAD, f"w20.3{middle}", forward, 1),
        (Kind.LOAD, f"w20.3{middle}", backward, 1),
        (Kind.SAMPLE, f"{copies}/water-21", forward, 1),
        (Kind.MACHINE, "North", forward, week),
        (Kind.MACHINE, "Alder", forward, week),
    ]


def timed(call: Callable[[], object]) -> tuple[float, float, float]:
    """Return the best and the worst of a few calls on the clock and the best in processor time, in seconds."""
    clock, processor = [], []
    for _ in range(ROUNDS):
        start, begun = time.perf_counter(), time.process_time()
        call()
        clock.append(time.perf_counter() - start)
        processor.append(time.process_time() - begun)
    return min(clock), max(clock), min(processor)


def measure(ledger: Ledger, days: int, store: str) -> None:
    """Print how long each question takes, and one reading of every event."""
    worst = 0.0
    for kind, key, direction, since in questions(ledger, days):

        def ask(kind: Kind = kind, key: str = key, way: Direction = direction, since: int = since) -> int:
            return len(ledger.trace(kind, key, way, since=since).items)

        low, high, own = timed(ask)
        worst = max(worst, high)
        print(
            f"{store:<11}{kind:<8}{key:<16}{direction:<9}{ask():>7} things {1e3 * low:>7.0f} to {1e3 * high:>6.0f} ms, "
            f"processor {1e3 * own:>6.0f} ms"
        )
    start = time.perf_counter()
    count = sum(1 for entry in ledger.entries() if json.loads(entry.body)["seq"])
    print(f"{store:<11}reading all {count} events once: {time.perf_counter() - start:.0f} s; worst trace {worst:.2f} s")


def main(days: int, stores: str) -> None:
    """Build and ask."""
    with tempfile.TemporaryDirectory() as folder, private_server() as server:
        places = {"sqlite": str(Path(folder) / "years.sqlite"), "postgresql": server.new_database("years")}
        for store, place in places.items():
            if stores not in {store, "both"}:
                continue
            ledger = open_ledger(place, create=True)
            start = time.perf_counter()
            done = build(ledger, days)
            print(f"{store}: {done} days, {ledger.head().seq} events in {time.perf_counter() - start:.0f} s")
            measure(ledger, done, store)
            ledger.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5 * 365, sys.argv[2] if len(sys.argv) > 2 else "both")

"""Kill a writing process again and again, in both stores, and see what is lost or doubled: nothing may be.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.ledger_kills [KILLS]

Six stations write at once in each process, so that what waits is written together; each begins by sending its last
acknowledged scan again, as a station does that got no answer. Several ledgers are written at the same time. After the
last kill every acknowledged scan has to stand at the event it was told, once, with none left out in between, the chain
has to hold, and what follows from the events has to be equal when made again; anything else ends with an error. Half of
the kills are in each store; PostgreSQL's server outlives the writer and waits for the disk, as it would in use.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from patency.ledger import open_ledger
from tests.ledger.postgresql import private_server
from tests.ledger.quay import Desk
from tests.ledger.test_killed import STATIONS, kill_often

LEDGERS = 4


def begun(place: str) -> str:
    """Begin a ledger and close it."""
    ledger = open_ledger(place, create=True)
    Desk(ledger).opened()
    ledger.close()
    return place


def kill(store: str, places: list[str], kills: int) -> None:
    """Kill writers of several ledgers at once, and print what was acknowledged and kept."""
    start = time.perf_counter()
    shares = [kills // len(places) + (at < kills % len(places)) for at in range(len(places))]
    with ProcessPoolExecutor(len(places)) as pool:
        chances = [random.Random(kills + at) for at in range(len(places))]
        kept = sum(pool.map(kill_often, places, shares, chances))
    seconds = time.perf_counter() - start
    print(
        f"{store}: {sum(shares)} kills with {STATIONS} stations writing, {kept} scans acknowledged, none lost, "
        f"none doubled ({seconds:.0f} s)",
        flush=True,
    )


def main(kills: int) -> None:
    """Kill half of the writers in each store."""
    with tempfile.TemporaryDirectory() as folder:
        kill("SQLite", [begun(str(Path(folder) / f"{at}.sqlite")) for at in range(LEDGERS)], kills - kills // 2)
    with private_server("fsync=on", "full_page_writes=on", "max_connections=200") as server:
        kill("PostgreSQL", [begun(server.new_database(f"killed{at}")) for at in range(LEDGERS)], kills // 2)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)

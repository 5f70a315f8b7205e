"""Kill a writing process again and again, in both stores, and see what is lost or doubled: nothing may be.

Run from the root of the checkout, in the environment of the tests; 500 kills in all take about five minutes:

    python -m benchmarks.ledger_kills [KILLS]

Each writer begins by sending the last acknowledged scan again, as a station does that got no answer. After the last
kill every acknowledged scan has to stand at the event it was told, once, with none left out in between, the chain has
to hold, and what follows from the events has to be equal when made again; anything else ends with an error.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

from patency.ledger import open_ledger
from tests.ledger.postgresql import private_server
from tests.ledger.quay import Desk
from tests.ledger.test_killed import kill_often


def begun(place: str) -> str:
    """Begin a ledger and close it."""
    ledger = open_ledger(place, create=True)
    Desk(ledger).opened()
    ledger.close()
    return place


def main(kills: int) -> None:
    """Kill half of the writers in each store."""
    with tempfile.TemporaryDirectory() as folder, private_server() as server:
        places = {
            "SQLite": begun(str(Path(folder) / "killed.sqlite")),
            "PostgreSQL": begun(server.new_database("killed")),
        }
        for store, place in places.items():
            start = time.perf_counter()
            kept = kill_often(place, kills // 2, random.Random(kills))
            seconds = time.perf_counter() - start
            print(f"{store}: {kills // 2} kills, {kept} scans acknowledged, none lost, none doubled ({seconds:.0f} s)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)

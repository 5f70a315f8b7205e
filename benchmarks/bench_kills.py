"""Kill the process that serves the bench again and again while stations scan over HTTP: nothing may be lost or doubled.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.bench_kills [KILLS [OF_THEM_PATENCY_SERVE]]

Six stations scan at once, each one pod after the other to its set, through the interface for programs; after each
restart every station first sends its last acknowledged scan again. A part of the kills hits ``patency serve`` as a
person starts it, the others the same application started from modules that are loaded already, because a start of the
command takes seconds. In the end every acknowledged scan has to stand in the ledger once, with none left out in
between; the chain has to hold, and what follows from the events has to be equal when made again. Anything else ends
with an error.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from tests.bench.desk import prepare
from tests.bench.test_server_killed import SETS, kill_often, lean_serve, patency_serve, prepared_to_be_killed


def main(kills: int, real: int) -> None:
    """Kill both kinds of processes and print what was acknowledged and kept."""
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder) / "prepared")
        shares = (("patency serve", patency_serve, real), ("same application", lean_serve, kills - real))
        for name, start, times in shares:
            work, stations = prepared_to_be_killed(Path(folder) / "prepared", Path(folder) / start.__name__)
            began = time.perf_counter()
            starts = np.array(kill_often(start, work, stations, times, random.Random(times)))
            kept = sum(one.acknowledged for one in stations)
            print(
                f"{name}: {times} kills with {len(SETS)} stations scanning over HTTP, {kept} scans acknowledged, "
                f"none lost, none doubled; ready {np.median(starts):.1f} s after the start, at most "
                f"{starts.max():.1f} s; {time.perf_counter() - began:.0f} s in all",
                flush=True,
            )


if __name__ == "__main__":
    asked = [int(one) for one in sys.argv[1:]]
    main(*[*asked, *(500, 40)[len(asked) :]])

"""The robust margin of the demo's load L3, side by side with solving each sample's network by itself.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.margin

The load is put together by hand from the demo's sets (31 lumens, five wet stages). Prints medians of several rounds,
the least and the most behind them. Which time is which:

* all threads      `sampled_margin` with 10,000 samples, which are 50,000 solved networks: the load's network, random
                   numbers, sizes, solutions, readings, and every lumen held against its limits; time that passes, and
                   processor time of all threads together
* one thread       the same
* one by one       50 samples drawn with numpy, each solved and read by itself, reckoned up to 10,000
"""

from __future__ import annotations

import statistics
import time
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from patency.flow import sampled_margin, solve_load
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.sampled.one_by_one import one_by_one

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.flow import LoadMargin

DAY = date(2026, 5, 12)
SAMPLES = 10_000
ALONE = 50
ROUNDS = 9


def times_s(work: Callable[[], object], rounds: int) -> tuple[list[float], list[float]]:
    """Return the time that passed and the processor time of several rounds."""
    passed, used = [], []
    for _ in range(rounds):
        start = time.perf_counter(), time.process_time()
        work()
        passed.append(time.perf_counter() - start[0])
        used.append(time.process_time() - start[1])
    return passed, used


def told(times: list[float]) -> str:
    """Write a median with the least and the most."""
    return f"{statistics.median(times):6.2f} s ({min(times):.2f} to {max(times):.2f})"


def main() -> None:
    """Measure and print."""
    department, load = larkmere(), hand_made_load("L3")
    solved = solve_load(department, load)

    def margin(threads: int | None) -> LoadMargin:
        return sampled_margin(department, load, DAY, np.random.default_rng(1), SAMPLES, threads=threads)

    if margin(None) != margin(1):
        raise SystemExit("the number of threads changes the answer")
    print(f"{len(solved.network.lumens)} lumens, {len(solved.stages)} stages, {SAMPLES} samples")
    for title, threads in (("all threads", None), ("one thread", 1)):
        passed, used = times_s(lambda threads=threads: margin(threads), ROUNDS)  # type: ignore[misc]
        print(f"{title:12} {told(passed)} passed, {told(used)} of processor time")
    _, used = times_s(lambda: list(one_by_one(solved, 1, ALONE)), 2)
    print(f"one by one   {min(used) * SAMPLES / ALONE:6.1f} s of processor time, from {ALONE} samples")


if __name__ == "__main__":
    main()

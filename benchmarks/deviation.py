"""How long somebody waits for the ways to go on when something is wrong at a port, each priced by a new calculation.

Every port of the demo's four loads put together by hand is asked with everything that can be wrong at it. Processor
time of the one process, so that what else runs does not count; the first answer of each load, which is worked out
without anything kept, is told apart.

Run with ``python -m benchmarks.deviation``.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import numpy as np

from patency.ledger import open_ledger
from patency.steps import Ways, Workplace, Wrong, ways_on
from tests.steps.at_the_bench.bench import Hands, begin, plan_of_day


def seconds_of(work: Workplace, load: str, wrong: Wrong, port: str) -> tuple[float, int] | None:
    """Ask for the ways at a port; return the time [s] and how many were offered, None where nothing is offered."""
    began = time.process_time()
    ways = ways_on(work, load, wrong, port)
    took = time.process_time() - began
    return (took, len(ways.ways)) if isinstance(ways, Ways) and ways.ways else None


def main() -> None:
    """Ask at every port of every load and print how long it took."""
    with tempfile.TemporaryDirectory() as folder:
        place = str(Path(folder) / "ledger.sqlite")
        begin(place)
        ledger = open_ledger(place)
        hands, first, waits, offered = Hands(ledger), [], [], []
        for load in plan_of_day().loads:
            caps = {one.port for one in load.capped_ports}
            asked = [(port, wrong) for port in hands.work.department.carriers[load.carrier].ports for wrong in Wrong
                     if (wrong is Wrong.CAP_MISSING) == (port in caps)]  # fmt: skip
            answers = [one for port, wrong in asked if (one := seconds_of(hands.work, load.id, wrong, port))]
            first.append(answers[0][0])
            waits += [took for took, _ in answers[1:]]
            offered += [number for _, number in answers]
        ledger.close()
    half, most, longest = np.quantile(waits, [0.5, 0.99, 1.0])
    print(f"{len(waits)} deviations, {np.mean(offered):.1f} ways offered on average, at most {max(offered)}")
    print(f"half within {half:.2f} s, 99 of 100 within {most:.2f} s, the longest {longest:.2f} s of processor time")
    print(f"the first of each load: {', '.join(f'{one:.2f}' for one in first)} s")


if __name__ == "__main__":
    main()

"""How near the stages found from the signals lie to the truth of simulated cycles, and what the verdicts miss.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.stage_finding [CYCLES] [SEED]

Half of the cycles run as they should, the others have one of the simulator's faults. None has a stage column.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np

from patency.demo import FAULTS
from tests.demo.fleet import scored

MOVES_THE_CLOCK = {"clock set back", "clock set forward", "logger stopped", "swapped channels"}


def main(cycles: int, seed: int) -> None:
    """Simulate, judge and score."""
    distances: list[float] = []
    verdicts: Counter[tuple[str, str]] = Counter()
    started = time.perf_counter()
    for number in range(cycles):
        fault = FAULTS[number // 2 % len(FAULTS)] if number % 2 else None
        one = scored(number // 2, fault, seed=seed + number % 2)
        verdicts[fault or "none", one.evidence.verdict.value] += 1
        if fault not in MOVES_THE_CLOCK:
            distances.append(one.farthest_s)
    took = time.perf_counter() - started
    far = np.array(distances)
    good = sum(count for (fault, _), count in verdicts.items() if fault == "none")
    refused, left_open = verdicts["none", "not met"], verdicts["none", "not evaluated"]
    passed = sum(count for (fault, verdict), count in verdicts.items() if fault != "none" and verdict == "met")
    print(f"{cycles} cycles, seed {seed}, {took / cycles:.2f} s each, simulated, read and judged")
    print(f"stages of {far.size} cycles whose clock was left alone: all within 5 s in {np.mean(far <= 5):.2%},")
    print(f"  median {np.median(far):.1f} s, 99th percentile {np.percentile(far, 99):.1f} s, worst {far.max():.1f} s")
    print(f"good cycles refused: {refused} of {good}; left open, for somebody to look: {left_open} of {good}")
    print(f"faulty cycles met: {passed} of {cycles - good}")
    for (fault, verdict), count in sorted(verdicts.items()):
        print(f"  {fault:<28}{verdict:<16}{count}")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *(1000, 7)[len(given) :])

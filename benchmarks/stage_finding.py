"""How near the stages found from the signals lie to the truth of simulated cycles, and what the verdicts miss.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.stage_finding [CYCLES] [SEED]

Every fifth cycle is one of a steam sterilizer, of which the plateau is to be found. Half of the cycles of each kind
run as they should, the others have one of the simulator's faults. No stage column is read.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np

from patency.demo import FAULTS, STEAM_FAULTS
from patency.evidence import ALARM_CRITERION
from tests.demo.fleet import scored, scored_steam

# Whoever moves the clock or the channels moves the truth too.
MOVES_THE_CLOCK = {"clock set back", "clock set forward", "logger stopped", "swapped channels"}
_FAULTS = {"washer-disinfector": FAULTS, "steam sterilizer": STEAM_FAULTS}


def main(cycles: int, seed: int) -> None:
    """Simulate, judge and score."""
    for kind, share in (("washer-disinfector", cycles - cycles // 5), ("steam sterilizer", cycles // 5)):
        _score(kind, share, seed)


def _score(kind: str, cycles: int, seed: int) -> None:
    faults = _FAULTS[kind]
    distances: list[float] = []
    chances: list[float] = []
    verdicts: Counter[tuple[str, str]] = Counter()
    started = time.process_time()
    for number in range(cycles):
        fault = faults[number // 2 % len(faults)] if number % 2 else None
        drawn = number // 2, fault
        one = (
            scored(*drawn, seed=seed + number % 2) if faults is FAULTS else scored_steam(*drawn, seed=seed + number % 2)
        )
        verdicts[fault or "none", one.evidence.verdict.value] += 1
        if fault is None and faults is FAULTS:
            chances += [asked.value for asked in one.evidence.criteria if asked.name == ALARM_CRITERION and asked.value]
        if fault not in MOVES_THE_CLOCK:
            distances.append(one.farthest_s)
    took = time.process_time() - started
    far = np.array(distances)
    good = sum(count for (fault, _), count in verdicts.items() if fault == "none")
    refused, left_open = verdicts["none", "not met"], verdicts["none", "not evaluated"]
    passed = sum(count for (fault, verdict), count in verdicts.items() if fault != "none" and verdict == "met")
    print(f"{cycles} cycles of a {kind}, seed {seed}, {took / cycles:.2f} s of computing each: simulated, read, judged")
    print(f"stages of {far.size} cycles whose clock was left alone: all within 5 s in {np.mean(far <= 5):.2%},")
    print(f"  median {np.median(far):.1f} s, 99th percentile {np.percentile(far, 99):.1f} s, worst {far.max():.1f} s")
    print(f"good cycles refused: {refused} of {good}; left open, for somebody to look: {left_open} of {good}")
    if chances:
        told = ", ".join(f"{np.mean(np.array(chances) < share):.1%} below {share:.1%}" for share in (0.005, 0.05, 0.5))
        print(f"  how likely the alarm said that a good cycle lies so far off: {told}")
    print(f"faulty cycles met: {passed} of {cycles - good}")
    for (fault, verdict), count in sorted(verdicts.items()):
        print(f"  {fault:<28}{verdict:<16}{count}")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *(1000, 7)[len(given) :])

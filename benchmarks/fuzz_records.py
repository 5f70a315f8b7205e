"""Throws damaged and mangled records at the reader and the verdict for some minutes: no crash, no pass by accident.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.fuzz_records [MINUTES] [SEED]

Each record is that of a cycle whose load stayed too cold, damaged one to three times in the ways of tests/evidence, and
every second one with some of its characters changed on top. Prints how many were refused, judged and, which must stay
none, met or crashed.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections import Counter

from patency.evidence import CriterionState
from tests.evidence.damage import DAMAGES, damaged
from tests.evidence.test_damage import COLD, judged

SIGNS = "0123456789.,;-+eE\n\r\"' \tNaN:Z\x00é°"


def mangled(text: str, rng: random.Random) -> str:
    """Change, drop or repeat some characters."""
    signs = list(text)
    for _ in range(rng.randint(1, 20)):
        place = rng.randrange(len(signs))
        signs[place] = rng.choice(["", signs[place] * 2, rng.choice(SIGNS)])
    return "".join(signs)


def one(rng: random.Random) -> tuple[str, str]:
    """Damage a record and judge it: what came of it, and the record."""
    text = COLD
    try:
        for kind in rng.choices(list(DAMAGES), k=rng.randint(1, 3)):
            text = damaged(text, kind, rng.randrange(10**6))
    except (ValueError, IndexError):  # what is too damaged already cannot be damaged in every way
        pass
    text = mangled(text, rng) if rng.random() < 0.5 else text
    try:
        found = judged(text)
    except Exception as fault:  # noqa: BLE001 - that is what is looked for
        return f"crashed: {type(fault).__name__}: {fault}", text
    if isinstance(found, list):
        placed = all(re.match(r"r\.csv, line \d+", line) for line in found)
        return "refused" if placed else "refused without a place", text
    return ("met" if found.verdict is CriterionState.MET else "judged, not met"), text


def main(minutes: int, seed: int) -> int:
    """Throw records for some minutes."""
    rng = random.Random(seed)
    outcomes: Counter[str] = Counter()
    until = time.monotonic() + 60 * minutes
    while time.monotonic() < until:
        outcome, text = one(rng)
        outcomes[outcome] += 1
        if outcome not in {"refused", "judged, not met"} and outcomes[outcome] == 1:
            print(f"{outcome}\n{text[:2000]}")
    for outcome, count in outcomes.most_common():
        print(f"{outcome:<30}{count}")
    return int(bool(set(outcomes) - {"refused", "judged, not met"}))


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    sys.exit(main(*given, *(10, 7)[len(given) :]))

"""Throws damaged and mangled records at every reader and the verdict for some minutes: no crash, no pass by accident.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.fuzz_records [MINUTES] [SEED]

Each record is in turn that of a washer-disinfector's cycle whose load stayed too cold, of a steam sterilizer's whose
load was held too short, and of the former without the machine's word for its stages; damaged one to three times in the
ways of tests/evidence, and every second one with some of its characters changed on top. They come in as text, as
Parquet (bytes of it turned too), cut out of a larger file, watched for, and beside another recorder's, each as the
machine's and as the logger's. Prints for each machine and reader how many were refused, judged and, which must stay
none, met, lost or crashed; more than 4 GiB of memory is a crash.
"""

from __future__ import annotations

import random
import resource
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.evidence.damage import DAMAGES, damaged
from tests.evidence.damageable import DAMAGEABLE, WITHOUT_STAGES, Damageable
from tests.evidence.readers import READERS, by_parquet

MOST_BYTES = 4 * 2**30
FINE = {"refused", "judged, not met"}
SIGNS = "0123456789.,;-+eE\n\r\"' \tNaN:Z\x00é°"


def mangled(text: str, rng: random.Random) -> str:
    """Change, drop or repeat some characters."""
    signs = list(text)
    for _ in range(rng.randint(1, 20)):
        place = rng.randrange(len(signs))
        signs[place] = rng.choice(["", signs[place] * 2, rng.choice(SIGNS)])
    return "".join(signs)


def drawn(text: str, rng: random.Random) -> str:
    """Damage a record."""
    try:
        for kind in rng.choices(list(DAMAGES), k=rng.randint(1, 3)):
            text = damaged(text, kind, rng.randrange(10**6))
    except (ValueError, IndexError):  # what is too damaged already cannot be damaged in every way
        pass
    return mangled(text, rng) if rng.random() < 0.5 else text


def one(kind: Damageable, text: str, reader: str, rng: random.Random, folder: Path) -> str:
    """Let a record come in and say what came of it."""
    flips = tuple(rng.random() for _ in range(rng.choice([0, 0, 1, 3])))
    try:
        if reader == "Parquet":
            return by_parquet(kind, text, folder, flips).outcome
        return READERS[reader](kind, text, folder).outcome
    except Exception as fault:  # noqa: BLE001 - that is what is looked for
        return f"crashed: {type(fault).__name__}: {fault}"


def main(minutes: int, seed: int) -> int:
    """Throw records for some minutes."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    rng = random.Random(seed)
    outcomes: Counter[tuple[str, str, str]] = Counter()
    until = time.monotonic() + 60 * minutes
    with tempfile.TemporaryDirectory() as folder:
        while time.monotonic() < until:
            for machine, kind in {**DAMAGEABLE, "no stages told": WITHOUT_STAGES}.items():
                text = drawn(kind.bad, rng)
                for reader in READERS:
                    came = (machine, reader, one(kind, text, reader, rng, Path(folder)))
                    outcomes[came] += 1
                    if came[-1] not in FINE and outcomes[came] == 1:
                        print(f"{came}\n{text[:2000]}")
    for (machine, reader, outcome), count in sorted(outcomes.items()):
        print(f"{machine:<20}{reader:<16}{outcome:<30}{count}")
    print(f"{sum(outcomes.values())} records in {minutes} minutes, seed {seed}")
    return int(any(outcome not in FINE for *_, outcome in outcomes))


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    sys.exit(main(*given, *(10, 7)[len(given) :]))

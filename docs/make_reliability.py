"""Plays cycles of known truth and draws how often what the diagnosis says is so: ``python docs/make_reliability.py``.

Writes docs/pictures/reliability.svg and prints the table of the page on diagnosis. The seed stands below and is used
nowhere else. Takes some minutes.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from patency.catalogue import read_department
from patency.demo import larkmere_texts
from patency.flow import DiagnosisScore, Rates, calibration

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.demo.larkmere import hand_made_load

SEED = 20261126
CYCLES = 3000
EDGES = (0.001, 0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.99, 1.0)
TEN_TIMES = 10.0


def rates() -> Rates:
    """Return rates at which things go wrong about ten times as often as assumed, so that a few thousand cycles tell."""
    usual = Rates()
    return replace(
        usual,
        faults={kind: TEN_TIMES * rate / 3.0 for kind, rate in usual.faults.items()},
        pump_worn=TEN_TIMES * usual.pump_worn,
        sieve_clogged=TEN_TIMES * usual.sieve_clogged,
        foam=TEN_TIMES * usual.foam,
        sensor_offset=TEN_TIMES * usual.sensor_offset,
    )


def played(cycles: int, seed: int) -> DiagnosisScore:
    """Play cycles of the demo's load of Long Colon and Pelvis Two and diagnose them."""
    department, load = read_department(larkmere_texts()), hand_made_load("L3")
    return calibration(department, load, rates(), cycles, np.random.default_rng(seed))


def bins(score: DiagnosisScore) -> list[tuple[float, float, int, float, float]]:
    """Return ends of each bin, how many explanations fell in it, their mean probability, the share that was so."""
    rows = []
    for low, high in pairwise(EDGES):
        inside = (score.said >= low) & (score.said < high if high < 1.0 else score.said <= high)
        if inside.any():
            rows.append(
                (low, high, int(inside.sum()), float(score.said[inside].mean()), float(score.was_so[inside].mean()))
            )
    return rows


def draw(rows: list[tuple[float, float, int, float, float]], path: Path) -> None:
    """Draw the share that was so over the probability said, with two standard errors of chance."""
    import matplotlib as mpl

    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "patency"
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(figsize=(4.2, 4.2))
    said, so = (np.array([row[k] for row in rows]) for k in (3, 4))
    error = 2.0 * np.sqrt(said * (1.0 - said) / np.array([row[2] for row in rows]))
    axes.plot([0.0, 1.0], [0.0, 1.0], color="0.6", linewidth=1.0)
    axes.errorbar(said, so, yerr=error, fmt="o", color="0.1", markersize=4, linewidth=1.0, capsize=2)
    axes.set(xlabel="probability said", ylabel="share that was so", xlim=(-0.03, 1.03), ylim=(-0.03, 1.03))
    axes.set_aspect("equal")
    figure.tight_layout()
    figure.savefig(path, metadata={"Date": None})


def table(score: DiagnosisScore) -> str:
    """Write the table of the page and the sentence below it."""
    lines = ["| probability said | explanations | said, mean | was so |", "| --- | --- | --- | --- |"]
    lines += [
        f"| {low:g} to {high:g} | {count} | {said:.3f} | {so:.3f} |" for low, high, count, said, so in bins(score)
    ]
    showed = score.rank[score.showed]
    first, among_three = (f"{100.0 * np.mean(showed < count):.0f} %" for count in (1, 3))
    wrong = f"{score.rank.size} cycles; in {showed.size} of them something that shows was wrong"
    lines += [
        "",
        f"{wrong}: it belonged to the first explanation in {first}, to one of the first three in {among_three}.",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    found = played(CYCLES, SEED)
    draw(bins(found), Path(__file__).parent / "pictures" / "reliability.svg")
    print(table(found))  # noqa: T201 - what is to be pasted into the page

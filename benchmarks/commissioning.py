"""What measuring on the bench brings on the demo's carrier Dunlin: derivatives, coverage, choice of readings.

Run: ``python -m benchmarks.commissioning`` (``--trials 100`` for fewer synthetic departments). Five parts in one run
on one core. Derivatives of twelve readings by all factors, from one pass over the tree and by finite differences with
the same solver, side by side. What is left in doubt after the proposed readings, after as many drawn at random, and
after the first buckets in the order of the ports. Synthetic departments of known truth, drawn from what the
description leaves open: how often the 95 % intervals hold it, fitted to readings on the bench, and fitted to forty kept
cycles of a load of the tests' small department, beside taking what all cycles share (the sensor's error above all)
for new in each cycle. Last, how often cycles without a drift are flagged.
"""

from __future__ import annotations

import argparse
import time
from importlib.resources import as_file, files
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import Instruments
from patency.flow.commissioning.cycles import CyclesModel
from patency.flow.commissioning.design import Criterion, merit
from patency.flow.commissioning.drift import innovations, limit_for, watch
from patency.flow.commissioning.fitting import fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import Factors, described_parameters
from patency.flow.commissioning.proposal import everything_to_read, propose_readings
from patency.steps import read_site
from tests.flow.commissioning.kept_cycles import SmallDepartments

if TYPE_CHECKING:
    from numpy.typing import NDArray

CARRIER, KIND, READINGS = "Dunlin", "four-arm lumen washer", 12
GAUGES = ("circulation", "header")
CYCLES = 40
TOOLS = Instruments.model_validate(
    {"bucket": {"uncertainty": "2 %", "source": "assumed"}, "gauge": {"uncertainty": "2 mbar", "source": "assumed"}}
)


class Measured(BenchModel):
    """A bench whose readings are given as numbers."""

    numbers: NDArray[np.float64]

    def shown(self) -> NDArray[np.float64]:
        """What was read."""
        return self.numbers


def derivatives(model: BenchModel, before: Factors) -> None:
    """Time both ways, the best of five each, and compare them."""
    values = 0.3 * before.spread
    adjoint, differences = [], []
    for _ in range(5):
        start = time.perf_counter()
        exact = model.predict(before.names, values).jacobian
        adjoint.append(time.perf_counter() - start)
        start = time.perf_counter()
        other = np.empty_like(exact)
        for column in range(values.size):
            move = np.zeros(values.size)
            move[column] = 1e-5
            up, down = (model.predict(before.names, values + sign * move).shown for sign in (1.0, -1.0))
            other[:, column] = (up - down) / 2e-5
        differences.append(time.perf_counter() - start)
    worst = float((np.abs(exact - other).max(axis=1) / np.abs(exact).max(axis=1)).max())
    print(f"derivatives of {len(model.readings)} readings in {len(model.benches)} set-ups by {values.size} factors")
    print(f"  one pass {1e3 * min(adjoint):.1f} ms, finite differences {1e3 * min(differences):.0f} ms", end=", ")
    print(f"{min(differences) / min(adjoint):.0f} times as long; largest difference {worst:.1e} of a reading's largest")


def coverage(model: Measured, before: Factors, trials: int) -> None:
    """Count how often the truth lies inside its interval."""
    chance = np.random.default_rng(2026)
    start, inside, improbable = time.perf_counter(), np.zeros(len(before.names)), 0
    for _ in range(trials):
        truth = chance.normal(size=len(before.names)) * before.spread
        exact = model.predict(before.names, truth).shown
        model.numbers = exact + chance.normal(size=exact.size) * model.noise()
        fit = fit_readings(model, before)
        inside += np.abs(fit.after.mean - truth) <= 1.959964 * fit.after.spread
        improbable += fit.improbability < 0.05
    shares = inside / trials
    print(f"{trials} synthetic departments, {1e3 * (time.perf_counter() - start) / trials:.0f} ms each")
    each = f"{shares.min():.1%} to {shares.max():.1%}"
    print(f"  truth inside its 95 % interval: {shares.mean():.1%} of all, by factor {each}")
    print(f"  readings called improbable at 5 %: {improbable / trials:.1%}")


class TakenForNew(CyclesModel):
    """Cycles of which each is thought to have an error of its own, which it has not."""

    def common(self) -> NDArray[np.float64]:
        """What all cycles share, divided by their number."""
        return super().common() / CYCLES


def coverage_of_cycles(trials: int) -> None:
    """Count how often the truth lies inside its interval after kept cycles, in both ways of counting their error."""
    departments, chance = SmallDepartments(stages=("cleaning",)), np.random.default_rng(2027)
    before = departments.before
    inside = {way: np.zeros(len(before.names)) for way in (CyclesModel, TakenForNew)}
    start, learned, improbable = time.perf_counter(), np.zeros(len(before.names)), 0
    for _ in range(trials):
        truth, cycles = departments.draw(CYCLES, chance)
        for way in inside:
            fit = fit_readings(way(departments.department, cycles), before)
            inside[way] += np.abs(fit.after.mean - truth) <= 1.959964 * fit.after.spread
            if way is CyclesModel:
                learned += fit.after.spread / before.spread / trials
                improbable += fit.improbability < 0.05
    shares, other = (count / trials for count in inside.values())
    pump = before.names.index("pump head")
    print(
        f"{trials} synthetic departments, {CYCLES} cycles each, {1e3 * (time.perf_counter() - start) / trials:.0f} ms"
    )
    each = f"{shares.min():.1%} to {shares.max():.1%}"
    print(f"  truth inside its 95 % interval: {shares.mean():.1%} of all, by factor {each}")
    print(f"  pump head: {shares[pump]:.1%}, its interval {learned[pump]:.0%} as wide as before")
    print(f"  readings called improbable at 5 %: {improbable / trials:.1%}")
    print(f"  were what all cycles share new in each of them: pump head inside in {other[pump]:.1%}")


def alarms_without_drift(trials: int) -> None:
    """Print how many sensors that stay as they are get flagged in thirty cycles, their scatter known or not."""
    chance, limit, flagged = np.random.default_rng(2028), limit_for(2000.0), np.zeros(2)
    for _ in range(trials):
        short = 4.0 * chance.normal() + chance.normal(size=30)  # the sensor's own error and what scatters
        for way, noise in enumerate((1.0, float(np.sqrt(np.mean(np.diff(short) ** 2) / 2.0)))):
            z = innovations(list(short), noise, 4.0)
            sides = watch(z, limit), watch([-one for one in z], limit)
            flagged[way] += any(one.flagged_at is not None for one in sides)
    known, found = flagged / trials
    print(f"{trials} sensors without a drift, 30 cycles each: {known:.1%} flagged with known scatter, {found:.1%} with")
    print("  scatter taken from these cycles; 1000 cycles between false alarms asked for")


def main() -> None:
    """Print all parts."""
    asking = argparse.ArgumentParser(description="Measure what commissioning by measurement brings.")
    asking.add_argument("--trials", type=int, default=500, help="synthetic departments")
    trials = asking.parse_args().trials
    with as_file(files("patency.demo") / "larkmere") as folder:
        department = read_site(folder).department
    asked = (department, CARRIER, KIND, TOOLS, GAUGES)
    start = time.perf_counter()
    proposal = propose_readings(*asked, READINGS, Criterion.VOLUME, 20.0)
    print(f"proposal of {READINGS} readings: {time.perf_counter() - start:.2f} s")
    model = Measured(department, proposal.measurements)
    before = described_parameters(list(model.benches.values()), department.limits.flow)
    derivatives(model, before)
    every = BenchModel(department, everything_to_read(*asked, 20.0))
    all_before = described_parameters(list(every.benches.values()), department.limits.flow)
    rows = every.predict(all_before.names, all_before.mean).jacobian / every.noise()[:, None]
    kinds, chance = all_before.of_interest, np.random.default_rng(1)
    keys = [(one.setup, one.instrument, one.at) for one in every.readings]
    chosen = [keys.index((one.setup, one.instrument, one.at)) for one in proposal.measurements.readings]
    buckets = [row for row, one in enumerate(every.readings) if one.instrument == "bucket"][:READINGS]
    drawn = [chance.choice(len(keys), READINGS, replace=False) for _ in range(1000)]
    print(f"variance left of {len(kinds)} factors, mean share of that before, out of {len(keys)} possible readings")
    left = {
        "proposed": merit(rows, all_before.covariance, chosen, kinds, Criterion.VARIANCES),
        "best of 1000 drawn at random": min(
            merit(rows, all_before.covariance, list(some), kinds, Criterion.VARIANCES) for some in drawn
        ),
        "drawn at random, mean": float(
            np.mean([merit(rows, all_before.covariance, list(some), kinds, Criterion.VARIANCES) for some in drawn])
        ),
        "first buckets, all ports open": merit(rows, all_before.covariance, buckets, kinds, Criterion.VARIANCES),
    }
    for name, share in left.items():
        print(f"  {name}: {share:.1%}")
    coverage(model, before, trials)
    coverage_of_cycles(trials)
    alarms_without_drift(20 * trials)


if __name__ == "__main__":
    main()

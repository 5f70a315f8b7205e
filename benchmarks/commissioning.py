"""What measuring on the bench brings on the demo's carrier Dunlin: derivatives, coverage, choice of readings.

Run: ``python -m benchmarks.commissioning`` (``--trials 100`` for fewer synthetic departments). Its parts run one after
the other on one core. Derivatives of twelve readings by all factors, from one pass over the tree and by finite
differences with the same solver, side by side. What is left in doubt after the proposed readings, after as many drawn
at random, and after the first buckets in the order of the ports. Synthetic departments of known truth, drawn from what
the description leaves open: how often the 95 % intervals hold it, fitted to readings on the bench; fitted to forty kept
cycles of a load of the tests' small department, beside taking what all cycles share (the sensor's error above all) for
new in each cycle; fitted to five that scatter much; and fitted to a bench whose gauge is the machine's sensor and then
to cycles of that sensor, beside taking its error for two. Last, how often cycles without a drift are flagged.
"""

from __future__ import annotations

import argparse
import time
from datetime import date
from importlib.resources import as_file, files
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import CommissionedFit, Instruments, Measurements, read_described
from patency.flow.commissioning.cycles import CyclesModel
from patency.flow.commissioning.design import Criterion, merit
from patency.flow.commissioning.drift import innovations, limit_for, watch
from patency.flow.commissioning.entry import entry_of
from patency.flow.commissioning.fitting import BenchFit, fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import Factors, described_parameters, updated_by
from patency.flow.commissioning.proposal import everything_to_read, propose_readings
from patency.steps import read_site
from tests.flow.commissioning.bench_cases import MEASURED
from tests.flow.commissioning.kept_cycles import SmallDepartments
from tests.small_site import small_department

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Department
    from patency.flow.commissioning.cycles import KeptCycles

CARRIER, KIND, READINGS = "Dunlin", "four-arm lumen washer", 12
GAUGES = ("circulation", "header")
CYCLES, FEW = 40, 5
TOOLS = Instruments.model_validate(
    {"bucket": {"uncertainty": "2 %", "source": "assumed"}, "gauge": {"uncertainty": "2 mbar", "source": "assumed"}}
)


def held(fit: BenchFit, truth: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which 95 % intervals hold the truth, a logarithm of each factor."""
    ends = np.log([fit.interval(row) for row in range(truth.size)])
    return np.asarray((ends[:, 0] <= truth) & (truth <= ends[:, 2]))


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
        inside += held(fit, truth)
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
            inside[way] += held(fit, truth)
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


class ScatterTakenForKnown(CyclesModel):
    """Cycles whose scatter is thought to be known, though it is found from few of them."""

    def fresh(self) -> NDArray[np.float64]:
        """What is new in each of five cycles, without what an estimate from five leaves open."""
        own = self.assumed() / FEW
        return own + (super().fresh() - own) * (FEW - 3.0) / (FEW - 1.0)


def coverage_of_few(trials: int) -> None:
    """Count it for five cycles of a pump that scatters by 5 %, and with their scatter taken for known."""
    departments, chance = SmallDepartments(stages=("cleaning",)), np.random.default_rng(2030)
    pump, inside, plain, improbable = departments.before.names.index("pump head"), 0, 0, 0
    for _ in range(trials):
        truth, cycles = departments.draw(FEW, chance, 0.05)
        fit = fit_readings(CyclesModel(departments.department, cycles), departments.before)
        inside += held(fit, truth)[pump]
        improbable += fit.improbability < 0.05
        plain += held(fit_readings(ScatterTakenForKnown(departments.department, cycles), departments.before), truth)[
            pump
        ]
    print(f"{trials} synthetic departments, five cycles each of a pump that scatters by 5 %")
    print(f"  pump head inside: {inside / trials:.1%}; the scatter taken for known: {plain / trials:.1%}")
    print(f"  readings called improbable at 5 %: {improbable / trials:.1%}")


def filled_in(empty: Measurements, shown: NDArray[np.float64]) -> Measurements:
    """Measurements with their readings: logarithms of flows, pressures [Pa]."""
    readings = []
    for one, value in zip(empty.readings, map(float, shown), strict=True):
        if one.instrument == "gauge":
            readings.append(one.model_copy(update={"pressure_pa": value}))
        elif one.instrument == "meter":
            readings.append(one.model_copy(update={"flow_m3_s": float(np.exp(value))}))
        else:
            readings.append(one.model_copy(update={"volume_m3": float(np.exp(value)), "time_s": 1.0}))
    return empty.model_copy(update={"readings": readings})


def bench_then_cycles(
    department: Department, bench: Measurements, cycles: list[KeptCycles] | None
) -> tuple[CommissionedFit, BenchFit]:
    """The entry of the fit to a bench, and the fit to that or to cycles on top of it."""
    model = BenchModel(department, bench)
    fit = fit_readings(model, described_parameters(list(model.benches.values()), department.limits.flow, model.sensors))
    entry = entry_of(department, bench, fit, "a trial", date(2026, 3, 2))
    if cycles is None:
        return entry, fit
    later = CyclesModel(department.model_copy(update={"commissioned": {"fit": entry}}), cycles)
    described = described_parameters(list(later.benches.values()), department.limits.flow)
    return entry, fit_readings(later, updated_by(described, entry))


def coverage_of_one_sensor(trials: int) -> None:
    """Count it for a bench whose gauge is the cycles' sensor, and for that gauge taken for another instrument."""
    department, chance = small_department(), np.random.default_rng(2031)
    limits = department.limits.flow
    ways = {
        "one error": read_described(
            Measurements, MEASURED.replace("gauge: {", "gauge: {machine: Alpha, sensor: P1, "), "bench"
        ),
        "errors of two instruments": read_described(Measurements, MEASURED, "bench"),
    }
    model = BenchModel(department, ways["one error"])
    known, _ = bench_then_cycles(department, filled_in(ways["one error"], model.predict((), np.empty(0)).shown), None)
    departments = SmallDepartments(
        stages=("cleaning",), department=department.model_copy(update={"commissioned": {"fit": known}})
    )
    before = described_parameters(list(model.benches.values()), limits, model.sensors)
    missing = [name for name in departments.before.names if name not in before.names]
    spread = dict(zip(departments.before.names, departments.before.spread, strict=True))
    names = (*before.names, *missing)
    spreads = np.array([*before.spread, *(spread[name] for name in missing)])
    inside, width = dict.fromkeys(ways, 0), dict.fromkeys(ways, 0.0)
    for _ in range(trials):
        truth = chance.normal(size=len(names)) * spreads
        exact = model.predict(names, truth).shown
        read = exact + chance.normal(size=exact.size) * model.noise()
        cycles = departments.cycles_of(names, truth, CYCLES, chance)
        for way, empty in ways.items():
            _, fit = bench_then_cycles(department, filled_in(empty, read), cycles)
            low, _, high = np.log(fit.interval(fit.after.names.index("pump head")))
            inside[way] += low <= truth[names.index("pump head")] <= high
            width[way] += (high - low) / trials
    print(f"{trials} synthetic departments, a bench whose gauge is the sensor of {CYCLES} cycles after it")
    for way, count in inside.items():
        print(f"  counted as {way}: pump head inside in {count / trials:.1%}, interval {width[way]:.2%} wide")


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
    coverage_of_few(trials)
    coverage_of_one_sensor(trials)
    alarms_without_drift(20 * trials)


if __name__ == "__main__":
    main()

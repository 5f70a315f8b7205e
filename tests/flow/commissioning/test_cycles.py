"""Kept cycles update a fit: exact derivatives, honest intervals, no precision from counting one error many times."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from patency.catalogue import Department, bench_fit_of, content_id, fit_in_force
from patency.errors import InputError
from patency.flow.commissioning.cycles import CyclesModel, KeptCycles
from patency.flow.commissioning.entry import entry_of_cycles
from patency.flow.commissioning.fitting import BenchFit, fit_readings
from patency.flow.commissioning.parameters import Factors, described_parameters, updated_by
from patency.flow.machine_code import Kernel
from tests.catalogue.test_fits import made
from tests.flow.commissioning.kept_cycles import STAGES, SmallDepartments, kept, planned
from tests.small_plan import LOAD, MORNING_LOAD, NOON_LOAD
from tests.small_site import small_department

PUMP = 0  # row of the pump's head
OWN_PA = 250.0  # standard deviation of the machine's sensor, 5 mbar at k = 2


def steady(share: float, count: int, department: Department, seed: int = 1) -> KeptCycles:
    """Cycles that show a share of what is described, with a little scatter."""
    own = planned(department)
    return kept(own * share * (1.0 + 2e-3 * np.random.default_rng(seed).normal(size=(count, own.size))))


def fitted(department: Department, *cycles: KeptCycles) -> tuple[BenchFit, Factors]:
    """The fit to some cycles, and what was known before."""
    model = CyclesModel(department, cycles)
    described = described_parameters(list(model.benches.values()), department.limits.flow)
    before = updated_by(described, bench_fit_of(department, "Wren", "front_loader"))
    return fit_readings(model, before), before


@pytest.mark.parametrize("kernel", list(Kernel))
def test_derivatives_of_every_reading_are_those_of_finite_differences(kernel: Kernel) -> None:
    department = small_department()
    model = CyclesModel(department, [steady(1.0, 5, department)])
    names = described_parameters(list(model.benches.values()), department.limits.flow).names
    values = np.linspace(-0.1, 0.1, len(names))
    exact = model.predict(names, values, kernel).jacobian
    moved = [
        (model.predict(names, values + step).shown - model.predict(names, values - step).shown) / 2e-4
        for step in 1e-4 * np.eye(len(names))
    ]
    assert np.abs(exact - np.transpose(moved)).max() < 1e-6 * np.abs(exact).max()


def test_a_weak_pump_is_found_out_and_what_the_cycles_do_not_show_stays_in_doubt() -> None:
    department = small_department()
    fit, before = fitted(department, steady(0.96, 20, department))
    low, factor, high = fit.interval(PUMP)
    assert low < 0.96 < high or low < 0.97 < high
    assert factor < 0.98
    assert fit.after.spread[PUMP] < 0.5 * before.spread[PUMP]
    nozzles = fit.after.names.index("nozzle ports of 4 mm")
    assert fit.after.spread[nozzles] > 0.99 * before.spread[nozzles]
    assert not any(one.stands_out for one in fit.readings)


def test_a_hundred_cycles_know_no_more_than_their_one_sensor_lets_them() -> None:
    """Its error is the same in all of them, so the pump's head stays in doubt by at least the sensor's share."""
    department = small_department()
    spreads = [fitted(department, steady(0.97, count, department))[0].after.spread[PUMP] for count in (10, 1000)]
    assert 0.9 * spreads[0] < spreads[1] < spreads[0]  # independent errors would leave a tenth
    assert min(spreads) > OWN_PA / float(planned(department).max())


def test_what_a_sensor_shows_too_much_is_the_same_in_every_load_of_the_machine() -> None:
    department = small_department()
    loads = (MORNING_LOAD, NOON_LOAD)
    cycles = [kept(np.tile(planned(department, load), (5, 1)), load, first=9 * k) for k, load in enumerate(loads)]
    shared = CyclesModel(department, cycles).common()
    assert shared.shape == (8, 8)
    assert shared.min() >= 0.99 * OWN_PA**2
    assert np.linalg.eigvalsh(shared)[-1] > 7.9 * OWN_PA**2


@pytest.mark.parametrize("loads", [(LOAD,), (MORNING_LOAD, NOON_LOAD)])
def test_known_truth_lies_as_far_from_the_fit_as_its_covariance_says(loads: tuple[object, ...]) -> None:
    """The squared distance of 30 truths, over the covariance, is chi-square of as many numbers as there are factors."""
    departments = SmallDepartments(loads)  # type: ignore[arg-type]
    chance = np.random.default_rng(11)
    squares, pump = [], 0
    for _ in range(30):
        truth, cycles = departments.draw(40, chance)
        fit = fit_readings(CyclesModel(departments.department, cycles), departments.before)
        off = fit.after.mean - truth
        squares.append(off @ np.linalg.solve(fit.after.covariance, off) / off.size)
        pump += abs(off[PUMP]) <= 1.96 * fit.after.spread[PUMP]
    assert np.mean(squares) == pytest.approx(1.0, abs=4.0 * np.sqrt(2.0 / (30 * len(departments.before.names))))
    assert pump >= 25  # of 30, less than that by chance in one of 300


def test_an_update_starts_from_the_bench_and_never_from_another_update() -> None:
    department = small_department()
    cycles = [steady(0.97, 12, department)]
    first, _ = fitted(department, *cycles)
    entry = entry_of_cycles(department, cycles, first, "J. Miller", date(2026, 4, 1))
    assert entry.id == content_id(entry)
    assert (entry.number, entry.readings) == (1, [])
    assert entry.cycles is not None
    assert (entry.cycles.machine, entry.cycles.on_top_of) == ("Alpha", 0)
    assert tuple(entry.cycles.records) == cycles[0].baseline.records
    assert entry.source == "12 cycles of one load in Alpha of 2026-03-02 to 2026-03-13, on top of the description alone"
    again = department.model_copy(update={"commissioned": {"one": entry}})
    assert fit_in_force(again, "Wren", "front_loader") is entry
    assert bench_fit_of(again, "Wren", "front_loader") is None
    second, _ = fitted(again, *cycles)
    assert second.after.mean == pytest.approx(first.after.mean, abs=1e-9)
    assert second.after.covariance == pytest.approx(first.after.covariance, abs=1e-12)
    assert entry_of_cycles(again, cycles, second, "J. Miller", date(2026, 4, 2)).number == 2


def test_a_fit_to_bench_readings_is_what_an_update_stands_on() -> None:
    bench = made(factors={"pump head": {"factor": 0.97, "low": 0.96, "high": 0.98}}, covariance=[[2.5e-5]])
    department = small_department().model_copy(update={"commissioned": {"fit 1": bench}})
    fit, before = fitted(department, steady(0.97, 12, department))
    assert before.spread[PUMP] == pytest.approx(5e-3)
    assert fit.after.spread[PUMP] < 5e-3
    entry = entry_of_cycles(department, [steady(0.97, 12, department)], fit, "J. Miller", date(2026, 4, 1))
    assert entry.cycles is not None
    assert (entry.number, entry.cycles.on_top_of) == (2, 1)


def test_cycles_that_do_not_belong_together_are_refused_in_one_line() -> None:
    department = small_department()
    good = steady(1.0, 5, department)
    elsewhere = replace(good, baseline=replace(good.baseline, machine="Beta", records=tuple("abcde")))
    few = kept(good.baseline.readings[:4])
    unknown = replace(good.baseline, columns=tuple((stage, "P9") for stage in STAGES))
    stage = replace(good.baseline, columns=tuple((name, "P1") for name in ("soak", *STAGES[1:])))
    for cycles, fault in (
        ([], "cycles: none (expected: a baseline of at least one load)"),
        ([good, elsewhere], "cycles: of several machines: Alpha, Beta (expected: of one; machines differ)"),
        ([good, good], "cycles: a record stands in two baselines (expected: each record once)"),
        ([few], "cycles: 4 cycles of load L1 (expected: at least 5, which show how readings scatter)"),
        (
            [replace(good, baseline=unknown)],
            "sensor P9: its place or uncertainty is not described (expected: both in the catalogue)",
        ),
        (
            [replace(good, baseline=stage)],
            "load L1: no wet stage 'soak' (expected: first rinse, cleaning, rinse, disinfection)",
        ),
    ):
        with pytest.raises(InputError) as found:
            CyclesModel(department, cycles)
        assert found.value.line == fault


def test_cycles_of_a_load_of_which_something_is_not_stated_are_refused() -> None:
    department = small_department()
    nothing = department.limits.model_copy(
        update={"flow": department.limits.flow.model_copy(update={"bore_tolerance": None, "loss_tolerance": None})}
    )
    unstated = department.model_copy(update={"limits": nothing})
    with pytest.raises(InputError, match="something on the way of the water is not stated"):
        CyclesModel(unstated, [steady(1.0, 5, department)])

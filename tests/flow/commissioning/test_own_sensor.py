"""The machine's own sensor as the gauge: one error on the bench and in kept cycles, counted once."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from patency.catalogue import CommissionedFit, Department, Measurements, bench_fit_of, read_described
from patency.errors import InputError, InputErrors
from patency.flow.commissioning.cycles import CyclesModel, KeptCycles
from patency.flow.commissioning.entry import entry_of
from patency.flow.commissioning.fitting import BenchFit, fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import described_parameters, updated_by
from tests.flow.commissioning.bench_cases import MEASURED
from tests.flow.commissioning.kept_cycles import kept, planned
from tests.flow.commissioning.test_fitting import filled
from tests.small_site import small_department

GAUGE = "gauge: {uncertainty: 5 mbar, source: invented}"
NAMED = "gauge: {uncertainty: 5 mbar, machine: Alpha, sensor: P1, source: invented}"
DEVIATION_PA = 250.0  # 5 mbar, k = 2
SHARE = DEVIATION_PA / 65e3  # of what it shows
PUMP = 0


def bench(text: str) -> Measurements:
    """Measurements of the small department."""
    return read_described(Measurements, text, "bench.yaml")


def on_the_bench(text: str) -> tuple[BenchModel, BenchFit, Department]:
    """The model, the fit, and the department with the fit in it."""
    department, measurements = small_department(), bench(text)
    model = BenchModel(department, measurements)
    before = described_parameters(list(model.benches.values()), department.limits.flow, model.sensors)
    fit = fit_readings(model, before)
    entry: CommissionedFit = entry_of(department, measurements, fit, "J. Miller", date(2026, 3, 2))
    return model, fit, department.model_copy(update={"commissioned": {"fit 1": entry}})


def in_cycles(department: Department, cycles: KeptCycles) -> BenchFit:
    """The fit to cycles on top of that to the bench."""
    model = CyclesModel(department, [cycles])
    described = described_parameters(list(model.benches.values()), department.limits.flow)
    return fit_readings(model, updated_by(described, bench_fit_of(department, "Wren", "front_loader")))


def sound_cycles(count: int = 40) -> KeptCycles:
    """Cycles as described, with a little scatter."""
    own = planned(small_department())
    return kept(own * (1.0 + 2e-3 * np.random.default_rng(3).normal(size=(count, own.size))))


def test_what_the_sensor_shows_too_much_is_a_parameter_with_its_exact_derivative() -> None:
    model, fit, _ = on_the_bench(filled({}).replace(GAUGE, NAMED))
    names = fit.after.names
    column = names.index("sensor P1 of Alpha")
    values = np.zeros(len(names))
    values[column] = 0.01
    shown = model.predict(names, values)
    moved = [model.predict(names, values + step * np.eye(len(names))[column]).shown for step in (1e-4, -1e-4)]
    assert shown.jacobian[:, column] == pytest.approx((moved[0] - moved[1]) / 2e-4, rel=1e-6)
    gauges = [row for row, one in enumerate(model.readings) if (one.instrument, one.at) == ("gauge", "circulation")]
    assert [row for row in range(len(model.readings)) if shown.jacobian[row, column] != 0.0] == gauges
    assert fit.before.spread[column] * shown.jacobian[gauges[0], column] == pytest.approx(DEVIATION_PA, rel=0.02)


def test_readings_of_one_sensor_on_the_bench_and_then_in_cycles_know_no_more_than_its_error_lets_them() -> None:
    readings = filled({})
    several = readings + "".join(
        line.replace("2026-03-02", f"2026-03-{day:02d}") + "\n"
        for day in range(3, 23)
        for line in readings.splitlines()
        if "at: circulation" in line
    )
    doubts = {}
    for gauge in (GAUGE, NAMED):
        _, fit, department = on_the_bench(several.replace(GAUGE, gauge))
        doubts[gauge] = fit.after.spread[PUMP], in_cycles(department, sound_cycles()).after.spread[PUMP]
    assert max(doubts[GAUGE]) < 0.75 * SHARE
    assert min(doubts[NAMED]) > 0.88 * SHARE


def test_cycles_of_the_same_sensor_add_what_a_common_fit_of_both_adds() -> None:
    """Against one linear fit of bench and cycles together, whose covariance has the sensor's error in both."""
    model, fit, department = on_the_bench(filled({}).replace(GAUGE, NAMED))
    cycles = sound_cycles()
    found = in_cycles(department, cycles)
    names, values = found.after.names, found.after.mean
    alone = CyclesModel(small_department(), [cycles])
    described = described_parameters(list(alone.benches.values()), department.limits.flow)
    prior = np.zeros((len(names), len(names)))
    for names_of, covariance in ((described.names, described.covariance), (fit.before.names, fit.before.covariance)):
        rows = [names.index(name) for name in names_of]
        prior[np.ix_(rows, rows)] = covariance
    kept_model = CyclesModel(department, [cycles])
    slopes = np.vstack((model.predict(names, values).jacobian, alone.predict(names, values).jacobian))
    count = len(model.readings)
    slopes[:, names.index("sensor P1 of Alpha")] = 0.0
    own = np.array([float(one.at == "circulation") for one in model.readings] + [1.0] * len(alone.readings))
    noise = np.zeros((own.size, own.size))
    noise[:count, :count] = model.covariance()
    noise[count:, count:] = kept_model.covariance()
    noise += DEVIATION_PA**2 * np.outer(own, own)
    together = np.linalg.inv(np.linalg.inv(prior) + slopes.T @ np.linalg.solve(noise, slopes))
    keep = [row for row, name in enumerate(names) if not name.startswith("sensor")]
    assert found.after.spread[keep] == pytest.approx(np.sqrt(np.diag(together))[keep], rel=0.03)


@pytest.mark.parametrize(
    ("gauge", "line"),
    [
        ("machine: Gamma, sensor: P1", "instruments.gauge.machine: no front_loader 'Gamma' (expected: Alpha)"),
        ("machine: Alpha, sensor: T1", "instruments.gauge.sensor: no sensor of pressure 'T1' (expected: P1)"),
    ],
)
def test_a_sensor_that_is_not_there_is_refused(gauge: str, line: str) -> None:
    text = MEASURED.replace(GAUGE, f"gauge: {{uncertainty: 5 mbar, {gauge}, source: invented}}")
    with pytest.raises(InputError) as found:
        BenchModel(small_department(), bench(text))
    assert found.value.line == line


def test_a_gauge_more_certain_than_the_sensor_it_is_said_to_be_is_refused() -> None:
    with pytest.raises(InputError) as found:
        BenchModel(small_department(), bench(MEASURED.replace(GAUGE, NAMED.replace("5 mbar", "2 mbar"))))
    assert found.value.line.startswith(
        "instruments.gauge.uncertainty: 2 mbar, of P1 the description states 5 mbar (expected: the same in both; "
    )


def test_a_sensor_without_its_machine_is_refused() -> None:
    with pytest.raises(InputErrors, match="one of machine and sensor alone"):
        bench(MEASURED.replace(GAUGE, "gauge: {uncertainty: 5 mbar, sensor: P1, source: invented}"))

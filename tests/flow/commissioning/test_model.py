"""What the instruments should show on the bench, its exact derivatives, and set-ups that cannot be."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.catalogue import Measurements, read_described
from patency.errors import InputError
from patency.flow import Orifice
from patency.flow.commissioning.bench import draw_bench
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import Factors, described_parameters, updated_by
from patency.flow.machine_code import Kernel
from patency.flow.solver import solve_compiled
from tests.catalogue.test_fits import made
from tests.flow.commissioning.bench_cases import MEASURED, small_bench
from tests.small_site import SMALL_SITE, changed, small_department


def model_and_factors() -> tuple[BenchModel, Factors]:
    department, measured = small_bench()
    model = BenchModel(department, measured)
    return model, described_parameters(list(model.benches.values()), department.limits.flow)


def test_derivatives_are_those_of_finite_differences_by_every_parameter_of_every_reading() -> None:
    model, factors = model_and_factors()
    values = np.random.default_rng(1).normal(size=len(factors.names)) * factors.spread
    exact = model.predict(factors.names, values).jacobian
    step = 1e-5
    for column in range(values.size):
        move = np.zeros(values.size)
        move[column] = step
        up, down = (model.predict(factors.names, values + sign * move).shown for sign in (1.0, -1.0))
        size = np.abs(exact).max(axis=1)
        assert np.all(np.abs((up - down) / (2.0 * step) - exact[:, column]) < 1e-8 * size), factors.names[column]


def test_the_interpreted_kernel_predicts_the_same() -> None:
    model, factors = model_and_factors()
    values = 0.5 * factors.spread
    compiled = model.predict(factors.names, values)
    interpreted = model.predict(factors.names, values, Kernel.INTERPRETED)
    assert interpreted.shown == pytest.approx(compiled.shown, rel=1e-9)
    assert interpreted.jacobian == pytest.approx(compiled.jacobian, abs=1e-6 * float(np.abs(compiled.jacobian).max()))


def test_a_bucket_a_meter_and_a_gauge_show_flow_and_pressure_of_the_solution() -> None:
    department, measured = small_bench()
    model = BenchModel(department, measured)
    shown = model.predict((), np.empty(0)).shown
    bench = draw_bench(department, "Wren", "front_loader", measured.setups["A"])
    flow = solve_compiled(bench.compiled)
    row = bench.compiled.chain_names.index("port H1")
    assert math.exp(shown[0]) == pytest.approx(flow.flow_m3_s[row])
    assert math.exp(shown[3]) == pytest.approx(flow.flow_m3_s[0])
    head = flow.head_m[bench.compiled.node_names.index("machine")] + 0.150  # the sump's level is -150 mm
    weight = bench.compiled.water.density_kg_m3 * bench.compiled.gravity_m_s2
    assert shown[1] == pytest.approx(weight * head)


def test_a_gauge_shows_less_where_it_sits_higher() -> None:
    text = MEASURED.replace("gauge: {uncertainty: 5 mbar,", "gauge: {uncertainty: 5 mbar, height: 0.85 m,")
    high = BenchModel(small_department(), read_described(Measurements, text, "bench.yaml"))
    low, _ = model_and_factors()
    difference = low.predict((), np.empty(0)).shown[1] - high.predict((), np.empty(0)).shown[1]
    assert difference == pytest.approx(9.80665 * 998.2 * 1.0, rel=1e-3)  # from -150 mm to 850 mm


def test_ports_not_named_are_closed_and_an_accessory_stands_on_its_port() -> None:
    department, measured = small_bench()
    alone = draw_bench(department, "Wren", "front_loader", measured.setups["C"])
    open_now = [
        name
        for name, is_open in zip(alone.compiled.chain_names[-8:], alone.compiled.outlets.is_open, strict=True)
        if is_open
    ]
    assert open_now == ["arm lower", "arm upper", "port N1"]
    tags = [stretch.fitted_as for stretch in alone.stretches[alone.compiled.rows("port N1")]]
    assert tags == [("nozzle ports of 4 mm", "port N1"), ("injector nozzle 6 mm",), ("injector nozzle 6 mm",)]


def test_the_stated_tolerance_over_the_root_of_three_is_the_spread_before_anything_is_measured() -> None:
    _, factors = model_and_factors()
    spread = dict(zip(factors.names, factors.spread, strict=True))
    root = math.sqrt(3.0)  # JCGM 100:2008, 4.3.7: a rectangular distribution between the tolerance's ends
    assert spread["pump head"] == pytest.approx(0.05 / root)  # pump_tolerance: 5 %
    assert spread["dock"] == pytest.approx(math.hypot(0.3, 5 * 0.02) / root)  # loss_tolerance 30 %, bore_tolerance 2 %
    assert spread["port H1"] == pytest.approx(5 * 0.02 / root)
    opening = 0.30 * (1 / 0.8**2 - 1) * 0.8**2  # of 1/C²: what it loses beyond the jet's own head is in doubt
    assert spread["arm lower"] == pytest.approx(math.hypot(opening, 4 * 0.02) / root)
    assert "injector nozzle 6 mm" in factors.names
    assert "port H2" in factors.names


def test_a_loss_nobody_states_is_as_doubtful_as_its_default() -> None:
    site = changed(
        SMALL_SITE, "default_loss: {value: 0, source: invented}", "default_loss: {value: 4, source: invented}"
    )
    department = small_department(site)
    model = BenchModel(department, small_bench()[1])
    factors = described_parameters(list(model.benches.values()), department.limits.flow)
    spread = dict(zip(factors.names, factors.spread, strict=True))
    stretch = next(one for one in model.benches["A"].stretches if "hose ports of 3 mm" in one.fitted_as)
    assert not isinstance(stretch.segment, Orifice)
    share = stretch.loss_doubt / stretch.segment.minor_loss
    assert share > 0.4
    assert spread["hose ports of 3 mm"] == pytest.approx(math.hypot(share, 5 * 0.02) / math.sqrt(3.0))


def test_where_no_tolerance_is_stated_a_factor_of_e_counts_as_possible() -> None:
    site = changed(SMALL_SITE, "    loss_tolerance: {value: 30 %, source: common practice}\n", "")
    site = changed(site, "    pump_tolerance: {value: 5 %, source: common practice}\n", "")
    site = changed(site, "    bore_tolerance: {value: 2 %, source: common practice}\n", "")
    department = small_department(site)
    _, measured = small_bench()
    model = BenchModel(department, measured)
    factors = described_parameters(list(model.benches.values()), department.limits.flow)
    assert min(factors.spread) >= 0.5


def test_an_earlier_fit_takes_the_place_of_the_description() -> None:
    _, factors = model_and_factors()
    fit = made(
        factors={
            "dock": {"factor": 1.2, "low": 1.1, "high": 1.31},
            "something gone": {"factor": 0.9, "low": 0.8, "high": 1},
        },
        covariance=[[0.002, 0.0005], [0.0005, 0.003]],
    )
    updated = updated_by(factors, fit)
    dock, gone = updated.names.index("dock"), updated.names.index("something gone")
    assert updated.mean[dock] == pytest.approx(math.log(1.2))
    assert updated.covariance[dock, dock] == 0.002
    assert updated.covariance[dock, gone] == 0.0005
    assert updated.mean[updated.names.index("discharge")] == 0.0
    assert updated_by(factors, None) is factors


@pytest.mark.parametrize(
    ("was", "now", "says"),
    [
        ("carrier: Wren", "carrier: Heron", "setups.A.carrier: no carrier 'Heron' (expected: Wren)"),
        ("machine_kind: front_loader", "machine_kind: x", "no kind of machine 'x'"),
        ("open: [H1]", "open: [H9]", "setups.B.open: no port 'H9'"),
        ("fitted: {N1: nozzle_6}", "fitted: {N2: nozzle_6}", "setups.C.fitted: port 'N2' is not open"),
        ("fitted: {N1: nozzle_6}", "fitted: {N1: hose_cap}", "setups.C.fitted: 'hose_cap'"),
        ("open: [N1], fitted: {N1: nozzle_6}", "open: [H1], fitted: {H1: nozzle_6}", "does not go on the hose port"),
        ("{setup: B, instrument: bucket, at: H1}", "{setup: D, instrument: bucket, at: H1}", "no set-up 'D'"),
        ("{setup: B, instrument: bucket, at: H1}", "{setup: B, instrument: bucket, at: H2}", "port 'H2' is closed"),
        ("instrument: meter, at: pump", "instrument: meter, at: dock", "readings[3].at: 'dock' (expected: pump)"),
        ("instrument: gauge, at: hoses", "instrument: gauge, at: attic", "readings[2].at: no place 'attic' for it"),
        ("  meter: {uncertainty: 2 %, source: invented}\n", "", "no meter is described"),
    ],
)
def test_a_bench_that_cannot_be_is_refused_in_one_line(was: str, now: str, says: str) -> None:
    assert was in MEASURED
    with pytest.raises(InputError) as refused:
        BenchModel(small_department(), read_described(Measurements, MEASURED.replace(was, now, 1), "bench.yaml"))
    assert says in refused.value.line

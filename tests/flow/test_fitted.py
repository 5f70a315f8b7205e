"""A fit in force changes what is computed for loads: factors on resistances and pump, and narrower doubts."""

from __future__ import annotations

import math

import pytest

from patency.catalogue import CommissionedFit, read_department
from patency.flow import Bore, Orifice, PumpPoints
from patency.flow.commissioning.bench import draw_bench
from patency.flow.fitted import fitted_pump, fitted_pump_doubt, fitted_stretch
from patency.flow.from_load import network_of_load
from patency.flow.stretches import Stretch
from tests.catalogue.test_fits import made, site_with
from tests.flow.commissioning.bench_cases import small_bench
from tests.small_plan import SMALL_PLAN
from tests.small_site import small_department

FIT = made(
    factors={
        "dock": {"factor": 1.5, "low": 1.4, "high": 1.607},
        "port H1": {"factor": 2, "low": 1.8, "high": 2.222},
        "pump head": {"factor": 0.9, "low": 0.88, "high": 0.92},
        "pump flow": {"factor": 1.1, "low": 1.0, "high": 1.21},
        "injector nozzle 6 mm": {"factor": 1.21, "low": 1.2, "high": 1.22},
    },
    covariance=[[0.001 if row == column else 0.0 for column in range(5)] for row in range(5)],
)
BORE = Bore(diameter_m=0.004, length_m=0.02, roughness_m=0.0, minor_loss=1.0)


def test_a_factor_multiplies_losses_and_friction_and_narrows_their_doubt() -> None:
    found = fitted_stretch(Stretch(BORE, 1e-5, 0.0, 0.3, fitted_as=("dock", "elsewhere")), FIT)
    assert isinstance(found.segment, Bore)
    assert found.segment.minor_loss == pytest.approx(1.5)
    assert found.segment.length_m == pytest.approx(0.03)
    assert found.loss_doubt == pytest.approx(1.5 * math.log(1.607 / 1.4) / 2.0)
    assert found.diameter_doubt_m == 1e-5


def test_a_fit_that_taught_little_makes_nothing_more_doubtful_than_described() -> None:
    found = fitted_stretch(Stretch(BORE, 0.0, 0.0, 0.01, fitted_as=("dock",)), FIT)
    assert found.loss_doubt == pytest.approx(0.015)
    assert fitted_stretch(Stretch(BORE, 0.0, 0.0, 0.0, fitted_as=("dock",)), FIT).loss_doubt > 0.09
    assert fitted_pump_doubt(0.01, FIT) == 0.01
    assert fitted_pump_doubt(0.05, FIT) == FIT.pump_head_share
    assert fitted_pump_doubt(0.0, FIT) == FIT.pump_head_share
    assert fitted_pump_doubt(0.05, None) == 0.05


def test_factors_of_kind_and_of_one_port_multiply_each_other() -> None:
    found = fitted_stretch(Stretch(BORE, 0.0, 0.0, 0.3, fitted_as=("dock", "port H1")), FIT)
    assert isinstance(found.segment, Bore)
    assert found.segment.minor_loss == pytest.approx(3.0)


def test_an_opening_lets_less_through_by_the_root_of_its_factor() -> None:
    opening = Orifice(diameter_m=0.003, discharge_coefficient=0.8)
    found = fitted_stretch(Stretch(opening, 0.0, 0.0, 0.2, fitted_as=("injector nozzle 6 mm",)), FIT)
    assert isinstance(found.segment, Orifice)
    assert found.segment.discharge_coefficient == pytest.approx(0.8 / 1.1)


@pytest.mark.parametrize("fit", [FIT, None])
def test_what_was_not_fitted_stays_as_described(fit: CommissionedFit | None) -> None:
    stretch = Stretch(BORE, 1e-5, 0.0, 0.3, fitted_as=("elsewhere",) if fit else ("dock",))
    assert fitted_stretch(stretch, fit) is stretch


def test_a_pump_gets_its_heads_and_flows_times_their_factors() -> None:
    pump = PumpPoints(points=((0.0, 6.0), (0.01, 1.0)), relative_speed=0.9, sump_level_m=-0.1)
    assert fitted_pump(pump, None) is pump
    found = fitted_pump(pump, FIT)
    assert [number for point in found.points for number in point] == pytest.approx([0.0, 5.4, 0.011, 0.9])
    assert (found.relative_speed, found.sump_level_m) == (0.9, -0.1)


def test_the_network_of_a_load_stands_on_the_fit_in_force_and_that_of_a_bench_on_the_description() -> None:
    load = SMALL_PLAN.loads[0]
    described, commissioned = small_department(), read_department(site_with(FIT))
    stage = described.programmes[load.programme].stages[0]
    before, after = (network_of_load(one, load, stage) for one in (described, commissioned))
    assert isinstance(before.network.pump, PumpPoints)
    assert isinstance(after.network.pump, PumpPoints)
    assert after.network.pump.points[0][1] == pytest.approx(0.9 * before.network.pump.points[0][1])
    dock = [next(link for link in one.network.links if link.id == "dock") for one in (before, after)]
    losses = [getattr(one.segments[0], "minor_loss") for one in dock]  # noqa: B009 - segments differ in kind
    assert losses[1] == pytest.approx(1.5 * losses[0])
    assert after.pump_doubt == FIT.pump_head_share
    bench = draw_bench(commissioned, "Wren", "front_loader", small_bench()[1].setups["A"])
    plain = draw_bench(described, "Wren", "front_loader", small_bench()[1].setups["A"])
    assert bench.compiled.pump == plain.compiled.pump
    assert (bench.compiled.geometry.minor_loss == plain.compiled.geometry.minor_loss).all()

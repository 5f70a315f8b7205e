"""What differs between scenarios is taken as given, checked, and refused with its place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.errors import InputError
from patency.flow import PumpLaw, PumpPoints, Scenarios, Water, compile_network, solve_many
from patency.flow.batch import SolveState, scenario_network, solve_one_by_one
from patency.flow.compiled_network import water_state
from patency.flow.machine_code import Kernel
from patency.flow.solver import solve_compiled
from tests.flow.batch.many_scenarios import varied
from tests.flow.random_networks import random_network
from tests.flow.small_networks import LUMEN, under_head

WARM = Water(temperature_c=45.0)
SMALL = compile_network(under_head(2.0, [LUMEN], WARM))


def test_what_is_not_given_stays_as_compiled() -> None:
    flows = solve_many(SMALL, Scenarios(count=2))
    np.testing.assert_allclose(flows.flow_m3_s, [solve_compiled(SMALL).flow_m3_s] * 2, rtol=1e-12)
    assert flows.solved.all()


def test_one_scenario_s_network_holds_what_it_changes() -> None:
    compiled = compile_network(random_network(np.random.default_rng(1), nodes=5, outlets=8))
    scenarios = varied(compiled, np.random.default_rng(2), 3)
    one = scenario_network(compiled, scenarios, 1)
    assert scenarios.diameter_m is not None
    assert scenarios.temperature_c is not None
    assert scenarios.is_open is not None
    np.testing.assert_array_equal(one.geometry.diameter_m, scenarios.diameter_m[1])
    np.testing.assert_array_equal(one.outlets.is_open, scenarios.is_open[1])
    assert one.water == water_state(Water(temperature_c=float(scenarios.temperature_c[1])))


def test_a_given_viscosity_goes_before_the_temperature_s() -> None:
    hot = Scenarios(count=1, temperature_c=np.array([80.0]), kinematic_viscosity_m2_s=np.array([1e-6]))
    assert scenario_network(SMALL, hot, 0).water.kinematic_viscosity_m2_s == 1e-6
    assert scenario_network(SMALL, hot, 0).water.density_kg_m3 == pytest.approx(971.8, abs=0.1)
    given = Scenarios(count=1, density_kg_m3=np.array([1000.0]))
    assert scenario_network(SMALL, given, 0).water == SMALL.water._replace(density_kg_m3=1000.0)


@pytest.mark.parametrize(
    "pump",
    [PumpLaw(shutoff_head_m=4.0, coefficient=1e5, exponent=1.5), PumpPoints(points=((0.0, 4.0), (1e-2, 1.0)))],
)
def test_a_factor_on_the_head_holds_at_every_flow(pump: PumpLaw | PumpPoints) -> None:
    compiled = compile_network(replace(under_head(2.0, [LUMEN], WARM), pump=pump))
    weak = scenario_network(compiled, Scenarios(count=1, pump_head_factor=np.array([0.8])), 0)
    if isinstance(pump, PumpLaw):
        assert weak.pump == replace(pump, shutoff_head_m=3.2, coefficient=8e4)
    else:
        assert weak.pump == replace(pump, points=((0.0, 3.2), (1e-2, 0.8)))
    slow = scenario_network(compiled, Scenarios(count=1, relative_speed=np.array([0.5])), 0)
    assert slow.pump == replace(pump, relative_speed=0.5)


@pytest.mark.parametrize(
    ("wrong", "line"),
    [
        (Scenarios(count=0), r"^scenarios, count: 0 \(expected: 1 or more\)"),
        (Scenarios(count=2, diameter_m=np.ones((2, 9))), r"^scenarios, diameter_m: shape \(2, 9\) .* \(2, 2\)"),
        (Scenarios(count=2, is_open=np.ones((1, 1))), r"^scenarios, is_open: shape \(1, 1\) .* \(2, 1\)"),
        (Scenarios(count=2, temperature_c=np.ones(3)), r"^scenarios, temperature_c: shape \(3,\) .* \(2,\)"),
        (Scenarios(count=2, temperature_c=np.array([20.0, 120.0])), r"^scenario 1, .*temperature.*120"),
        (Scenarios(count=2, relative_speed=np.array([1.0, 0.0])), r"^scenario 1, relative_speed: 0 "),
        (Scenarios(count=2, pump_head_factor=np.array([1.0, np.nan])), r"^scenario 1, pump_head_factor: nan "),
        (Scenarios(count=2, kinematic_viscosity_m2_s=np.array([1e-6, -1.0])), r"^scenario 1, kinematic_viscosity"),
        (Scenarios(count=2, diameter_m=np.array([[1e-3, 1e-3], [1e-3, -1.0]])), r"^scenario 1, diameter_m, row 1: -1 "),
        (Scenarios(count=2, length_m=np.array([[1.0, 1.0], [1.0, np.nan]])), r"^scenario 1, length_m, row 1: nan "),
        (Scenarios(count=2, exit_loss=np.array([[1.0], [-1.0]])), r"^scenario 1, exit_loss, row 0: -1 "),
        (Scenarios(count=2, elevation_m=np.array([[1.0], [np.inf]])), r"^scenario 1, elevation_m, row 0: inf "),
        (
            Scenarios(count=2, minor_loss=np.array([[0.0, 0.0], [1e90, 0.0]])),
            r"^scenario 1, network: a size .* extreme",
        ),
    ],
)
@pytest.mark.parametrize("solve", [solve_many, solve_one_by_one])
def test_what_cannot_be_used_is_refused_with_field_and_scenario(solve: object, wrong: Scenarios, line: str) -> None:
    assert callable(solve)
    with pytest.raises(InputError, match=line):
        solve(SMALL, wrong)


def test_a_scenario_without_a_solution_is_a_state_and_the_others_are_solved() -> None:
    drain = replace(LUMEN, diameter_m=0.05, length_m=0.1)
    pump = PumpPoints(points=((0.0, 4.0), (1e-3, 1.0)))
    compiled = compile_network(replace(under_head(2.0, [drain], WARM), pump=pump))
    width = compiled.geometry.diameter_m.copy()
    width[-1] = 2e-3
    scenarios = Scenarios(count=3, diameter_m=np.stack([width, compiled.geometry.diameter_m, width]))
    for flows in (solve_many(compiled, scenarios, start=None), solve_one_by_one(compiled, scenarios)):
        assert flows.state.tolist() == [SolveState.SOLVED, SolveState.BEYOND_RUN_OUT, SolveState.SOLVED]
        assert np.isnan(flows.flow_m3_s[1]).all()
        assert np.isnan(flows.head_m[1]).all()
        assert np.isfinite(flows.flow_m3_s[::2]).all()


def test_both_kernels_agree_scenario_by_scenario() -> None:
    compiled = compile_network(random_network(np.random.default_rng(4), nodes=4, outlets=6, loops=1))
    scenarios = varied(compiled, np.random.default_rng(5), 5)
    fast, plain = (solve_one_by_one(compiled, scenarios, kernel=kernel) for kernel in Kernel)
    np.testing.assert_array_equal(fast.state, plain.state)
    np.testing.assert_allclose(fast.flow_m3_s, plain.flow_m3_s, rtol=1e-9, atol=1e-15)

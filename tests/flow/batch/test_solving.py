"""Many solves at once give what one solve after the other gives, whatever differs and however many threads work."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.errors import InputError
from patency.flow import Annulus, PumpLaw, Scenarios, compile_network, machine_code, solve_many
from patency.flow.batch import (
    compiled_lanes,
    compiled_looped,
    lane_curves,
    lane_losses,
    lane_sizes,
    lanes,
    near_one,
    scenario_network,
    solve_one_by_one,
)
from patency.flow.batch.nominal import twist
from patency.flow.kernels import friction_factor_and_slope
from patency.flow.machine_code import Kernel
from patency.flow.solver import CompiledFlow, flow_balance, segment_table, solve_compiled
from tests.flow.batch.many_scenarios import varied
from tests.flow.random_networks import random_network, random_networks

if TYPE_CHECKING:
    from patency.flow import CompiledNetwork, ManyFlows


def agree(one: ManyFlows, other: ManyFlows) -> None:
    np.testing.assert_array_equal(one.state, other.state)
    np.testing.assert_allclose(one.flow_m3_s, other.flow_m3_s, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(one.head_m, other.head_m, rtol=0, atol=1e-9)


def tree(seed: int, nodes: int = 22, outlets: int = 70, dry_share: float = 0.1) -> CompiledNetwork:
    return compile_network(
        random_network(np.random.default_rng(seed), nodes=nodes, outlets=outlets, dry_share=dry_share)
    )


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("width", [0.02, 0.3])
def test_whatever_differs_the_answers_are_those_of_single_solves(seed: int, width: float) -> None:
    compiled = tree(seed, dry_share=0.3 if seed % 3 == 0 else 0.0)
    scenarios = varied(compiled, np.random.default_rng(seed + 100), 70, width)
    agree(solve_many(compiled, scenarios), solve_one_by_one(compiled, scenarios))


@pytest.mark.parametrize("seed", range(6))
def test_the_interpreted_lanes_give_the_same(seed: int) -> None:
    compiled = tree(seed, nodes=3, outlets=4)
    scenarios = varied(compiled, np.random.default_rng(seed), 3, width=0.3 if seed % 2 else 0.02)
    agree(
        solve_many(compiled, scenarios, kernel=Kernel.INTERPRETED),
        solve_one_by_one(compiled, scenarios, kernel=Kernel.INTERPRETED),
    )


@pytest.mark.parametrize("kernel", list(Kernel))
def test_narrow_gaps_and_sizes_far_from_the_compiled_ones_are_found_too(kernel: Kernel) -> None:
    compiled = tree(5, nodes=2, outlets=4)
    geometry = compiled.geometry
    annulus = geometry.rod_diameter_m > 0.0
    assert annulus.any()
    narrow = np.where(annulus, 0.995 * geometry.diameter_m, 0.0)
    far = np.stack([geometry.diameter_m, 0.5 * geometry.diameter_m + narrow, 3.0 * geometry.diameter_m])
    rods = np.stack([narrow, narrow, geometry.rod_diameter_m])
    roughness = np.zeros_like(far)
    scenarios = Scenarios(count=3, diameter_m=far, rod_diameter_m=rods, roughness_m=roughness)
    agree(solve_many(compiled, scenarios, kernel=kernel), solve_one_by_one(compiled, scenarios, kernel=kernel))


def looped(seed: int) -> CompiledNetwork:
    return compile_network(random_network(np.random.default_rng(seed), nodes=8, outlets=20, loops=2))


@pytest.mark.parametrize("seed", range(8))
def test_loops_are_solved_too(seed: int) -> None:
    compiled = looped(seed)
    scenarios = varied(compiled, np.random.default_rng(seed + 9), 20, width=0.3 if seed % 2 else 0.02)
    agree(solve_many(compiled, scenarios), solve_one_by_one(compiled, scenarios))


def test_loops_are_solved_by_the_interpreter_too() -> None:
    compiled = looped(8)
    scenarios = varied(compiled, np.random.default_rng(9), 2)
    agree(solve_many(compiled, scenarios, kernel=Kernel.INTERPRETED), solve_one_by_one(compiled, scenarios))


def test_the_number_of_threads_changes_nothing_of_loops() -> None:
    compiled = looped(8)
    scenarios = varied(compiled, np.random.default_rng(9), 1200)
    one = solve_many(compiled, scenarios, threads=1)
    many = solve_many(compiled, scenarios, threads=2)
    np.testing.assert_array_equal(many.flow_m3_s, one.flow_m3_s)
    np.testing.assert_array_equal(many.head_m, one.head_m)


def test_a_size_of_no_sense_is_refused_with_its_place_in_loops_too() -> None:
    compiled = looped(8)
    wide = np.repeat(compiled.geometry.diameter_m[np.newaxis], 3, axis=0)
    wide[1, 4] = -1e-3
    with pytest.raises(InputError, match=r"scenario 1, diameter_m, row 4"):
        solve_many(compiled, Scenarios(count=3, diameter_m=wide))


def test_a_loop_whose_equation_has_no_answer_is_tried_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    def singular(*_: object) -> None:
        raise np.linalg.LinAlgError

    compiled = looped(8)
    scenarios = varied(compiled, np.random.default_rng(9), 3)
    expected = solve_one_by_one(compiled, scenarios)
    monkeypatch.setattr(compiled_looped, "solve_looped", lambda _: singular)
    agree(solve_many(compiled, scenarios), expected)


@pytest.mark.parametrize("reynolds", [5e3, 2e4, 1e5])
@pytest.mark.parametrize("roughness", [1e-6, 1e-3, 2e-2])
def test_the_bend_of_the_turbulent_law_is_half_its_second_derivative(reynolds: float, roughness: float) -> None:
    off, term = 1e-4, 5.74 * reynolds**-0.9
    inside = roughness / 3.7 + term
    (_, low), (factor, steep), (_, high) = (
        friction_factor_and_slope(reynolds * share, roughness) for share in (1.0 - off, 1.0, 1.0 + off)
    )
    half = 0.5 * ((high - low) / (2.0 * off) - steep)  # Re² f'' = Re d(Re f')/dRe - Re f'
    found = twist(*(np.array([number]) for number in (inside, np.log(inside), term)))
    assert found[0] == pytest.approx(half, rel=1e-6)
    assert lane_losses.bend_of_power(factor, steep) == pytest.approx(factor + 2.0 * steep + half, abs=0.05 * factor)


def test_ports_open_and_close() -> None:
    compiled = tree(3)
    is_open = np.random.default_rng(4).random((200, 70)) < 0.5
    is_open[0], is_open[1] = False, True
    scenarios = Scenarios(count=200, is_open=is_open)
    flows = solve_many(compiled, scenarios)
    agree(flows, solve_one_by_one(compiled, scenarios))
    assert (flows.flow_m3_s[0] == 0.0).all()
    assert (flows.flow_m3_s[:, -70:][~is_open] == 0.0).all()


def test_the_number_of_threads_and_the_start_change_nothing() -> None:
    compiled = tree(3)
    scenarios = varied(compiled, np.random.default_rng(1), 3000)
    one = solve_many(compiled, scenarios, threads=1)
    for threads in (2, 3, None):
        many = solve_many(compiled, scenarios, threads=threads)
        np.testing.assert_array_equal(many.flow_m3_s, one.flow_m3_s)
        np.testing.assert_array_equal(many.head_m, one.head_m)
    elsewhere = CompiledFlow(solve_compiled(compiled).flow_m3_s * 3.0, np.zeros(len(compiled.node_names)), 0)
    agree(solve_many(compiled, scenarios, start=elsewhere), one)


def test_a_scenario_s_answer_does_not_depend_on_its_neighbours_beyond_the_last_digits() -> None:
    compiled = tree(3)
    scenarios = varied(compiled, np.random.default_rng(1), 50)
    assert scenarios.diameter_m is not None
    alone = Scenarios(count=1, diameter_m=scenarios.diameter_m[7:8])
    among = Scenarios(count=50, diameter_m=scenarios.diameter_m)
    np.testing.assert_allclose(
        solve_many(compiled, alone).flow_m3_s[0], solve_many(compiled, among).flow_m3_s[7], rtol=1e-9, atol=1e-15
    )


def test_the_balances_close_in_every_scenario() -> None:
    for compiled in (tree(3), tree(12)):
        scenarios = varied(compiled, np.random.default_rng(1), 100)
        flows = solve_many(compiled, scenarios)
        assert flows.solved.all()
        for k in range(scenarios.count):
            network = scenario_network(compiled, scenarios, k)
            flow = CompiledFlow(flows.flow_m3_s[k], flows.head_m[k], 0)
            mass, energy = flow_balance(network, flow, segment_table(network, flow))
            assert mass < 1e-12
            assert energy < 1e-9


def test_scenarios_start_where_the_compiled_network_has_no_solution() -> None:
    strong = replace(
        random_network(np.random.default_rng(3), nodes=4, outlets=20),
        pump=PumpLaw(shutoff_head_m=5.0, coefficient=5.0 / 2e-5**2, exponent=2.0),
    )
    compiled = compile_network(strong)
    raised = np.broadcast_to(compiled.outlets.elevation_m - 40.0, (2, 20)).copy()
    raised[1] = compiled.outlets.elevation_m
    drained = compiled.with_changes(outlets=compiled.outlets._replace(elevation_m=raised[0]))
    scenarios = Scenarios(count=2, elevation_m=raised)
    agree(solve_many(drained, scenarios), solve_one_by_one(drained, scenarios))


def test_arrays_of_any_kind_are_taken() -> None:
    compiled = tree(3)
    wide = np.asfortranarray(np.broadcast_to(compiled.geometry.diameter_m, (40, compiled.geometry.diameter_m.size)))
    thin = np.broadcast_to(compiled.geometry.diameter_m, wide.shape)
    opened = compiled.outlets.is_open.astype(bool)
    results = [
        solve_many(compiled, Scenarios(count=40, diameter_m=d, is_open=np.broadcast_to(o, (40, 70))))
        for d, o in ((wide, opened), (thin, opened.astype(int)), (thin, opened.astype(np.uint8)))
    ]
    for other in results[1:]:
        np.testing.assert_array_equal(other.flow_m3_s, results[0].flow_m3_s)


@pytest.mark.slow
def test_many_invented_networks_agree() -> None:
    for place, network in enumerate(random_networks(77, 60, dry_share=0.2)):
        compiled = compile_network(network)
        scenarios = varied(compiled, np.random.default_rng(place), 33, width=0.1)
        agree(solve_many(compiled, scenarios), solve_one_by_one(compiled, scenarios))


def test_few_scenarios_near_the_nominal_agree_where_a_gap_is_narrow() -> None:
    compiled = compile_network(random_networks(77, 23, dry_share=0.2)[-1])
    assert (compiled.geometry.rod_diameter_m / compiled.geometry.diameter_m).max() > 0.85
    scenarios = varied(compiled, np.random.default_rng(22), 3, width=0.1)
    agree(solve_many(compiled, scenarios), solve_one_by_one(compiled, scenarios))


def test_the_networks_meant_here_hold_annuli() -> None:
    assert any(isinstance(s, Annulus) for n in random_networks(77, 5) for o in n.outlets for s in o.segments)


def test_the_compiler_works_once_whatever_arrays_come() -> None:
    solve_many(tree(3, nodes=3, outlets=4), Scenarios(count=1))
    assert len(vars(compiled_lanes.solve_lanes(Kernel.MACHINE_CODE))["overloads"]) == 1


def test_every_function_the_lanes_call_is_handed_to_the_compiler() -> None:
    modules = (lanes, lane_curves, lane_losses, lane_sizes, near_one)
    called = {name for function in compiled_lanes._INNER for name in function.__code__.co_names}
    own = {
        function
        for module in modules
        for name, function in vars(module).items()
        if name in called and getattr(function, "__module__", "").startswith("patency.flow.batch")
    }
    assert own | {lanes.solve_lanes} == set(compiled_lanes._INNER)


def test_another_function_makes_another_stamp() -> None:
    one = machine_code.stamp(lanes)
    assert one == machine_code.stamp(lanes)
    assert one != machine_code.stamp(lane_losses)


def test_a_stamp_is_the_same_in_another_process() -> None:
    # Else the compiler's cache is of no use: every process would compile anew, for most of a minute.
    program = (
        "from patency.flow import machine_code; from patency.flow.batch import lane_losses, lanes, near_one; "
        "print(machine_code.stamp(near_one, lane_losses, lanes))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert int(done.stdout) == machine_code.stamp(near_one, lane_losses, lanes)

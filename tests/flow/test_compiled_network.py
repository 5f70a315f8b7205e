"""Networks as arrays: the order of rows, what may change, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.errors import InputError
from patency.flow import CompiledNetwork, PumpLaw, PumpPoints, compile_network, solve
from patency.flow.compiled_network import WaterState
from patency.flow.machine_code import Kernel
from patency.flow.solver import segment_table, solve_compiled
from tests.flow.random_networks import random_network, random_networks
from tests.flow.small_networks import LUMEN, under_pressure


def some_network() -> CompiledNetwork:
    return compile_network(random_network(np.random.default_rng(4), nodes=8, outlets=20, loops=2))


def test_rows_of_a_chain_hold_its_segments_in_flow_order() -> None:
    network = random_network(np.random.default_rng(4), nodes=8, outlets=20, loops=2)
    compiled = compile_network(network)
    for outlet in network.outlets:
        rows = compiled.rows(outlet.id)
        widths = [s.outer_diameter_m if s.shape == "annulus" else s.diameter_m for s in outlet.segments]
        np.testing.assert_array_equal(compiled.geometry.diameter_m[rows], widths)
    assert compiled.rows(compiled.chain_names[0]) == slice(0, 1)
    with pytest.raises(InputError, match=r"^link or outlet: 'P99' \(expected: a name of the network\)"):
        compiled.rows("P99")


def test_every_node_comes_after_the_one_above_it() -> None:
    for network in random_networks(21, 20):
        compiled = compile_network(network)
        assert compiled.tree.parent[0] == -1
        assert (compiled.tree.parent[1:] >= 0).all()
        assert (compiled.tree.parent < np.arange(compiled.tree.parent.size)).all()
        chains = len(network.links) + len(network.outlets)
        assert len(compiled.chain_names) == len(set(compiled.chain_names)) == chains
        assert compiled.tree.chord_from.size == len(network.links) - len(compiled.node_names)


def test_changed_arrays_give_what_a_changed_network_gives() -> None:
    network = under_pressure(20e3, [LUMEN, LUMEN], 45.0, exit_loss=1.0)
    wider = replace(LUMEN, diameter_m=1.2e-3, roughness_m=2e-6, minor_loss=1.0)
    compiled = compile_network(network)
    row = compiled.rows("P1")
    geometry = compiled.geometry._replace(
        diameter_m=compiled.geometry.diameter_m.copy(),
        roughness_m=compiled.geometry.roughness_m.copy(),
        minor_loss=compiled.geometry.minor_loss.copy(),
    )
    geometry.diameter_m[row], geometry.roughness_m[row], geometry.minor_loss[row] = 1.2e-3, 2e-6, 1.0
    flows = solve_compiled(compiled.with_changes(geometry=geometry)).flow_m3_s
    expected = solve(replace(network, outlets=(network.outlets[0], replace(network.outlets[1], segments=(wider,)))))
    assert flows.tolist() == pytest.approx([expected.flows_m3_s[name] for name in compiled.chain_names], rel=1e-12)
    assert compiled.geometry.diameter_m[row].tolist() == [1e-3]  # the network changed from stays as it was


def test_outlets_pump_and_water_can_change_too() -> None:
    compiled = some_network()
    before = solve_compiled(compiled)
    closed = compiled.with_changes(outlets=compiled.outlets._replace(is_open=np.zeros(20, dtype=np.uint8)))
    assert not solve_compiled(closed).flow_m3_s.any()
    weak = compiled.with_changes(pump=PumpLaw(shutoff_head_m=0.5, coefficient=1e3, exponent=2.0))
    assert solve_compiled(weak).flow_m3_s[0] < before.flow_m3_s[0]
    points = compiled.with_changes(pump=PumpPoints(points=((0.0, 0.5), (1.0, 0.0))))
    assert solve_compiled(points).flow_m3_s[0] < before.flow_m3_s[0]
    thick = compiled.with_changes(water=WaterState(1000.0, 1e-5))
    assert solve_compiled(thick).flow_m3_s[0] < before.flow_m3_s[0]


def test_the_answer_does_not_depend_on_the_start() -> None:
    compiled = some_network()
    cold = solve_compiled(compiled)
    warm = solve_compiled(compiled, cold)
    assert warm.iterations < cold.iterations
    np.testing.assert_allclose(warm.flow_m3_s, cold.flow_m3_s, rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize("kernel", list(Kernel))
def test_the_segment_table_says_what_the_named_result_says(kernel: Kernel) -> None:
    network = random_network(np.random.default_rng(4), nodes=8, outlets=20, loops=2)
    compiled = compile_network(network)
    table = segment_table(compiled, solve_compiled(compiled, kernel=kernel), kernel)
    result = solve(network, kernel)
    for outlet in network.outlets:
        rows = compiled.rows(outlet.id)
        segments = result.segments[outlet.id]
        assert table.velocity_m_s[rows].tolist() == [row.velocity_m_s for row in segments]
        assert table.reynolds[rows].tolist() == [row.reynolds for row in segments]
        assert table.pressure_drop_pa[rows].tolist() == [row.pressure_drop_pa for row in segments]
        shear = [np.nan if row.wall_shear_pa is None else row.wall_shear_pa for row in segments]
        np.testing.assert_array_equal(table.wall_shear_pa[rows], shear)


@pytest.mark.parametrize("name", ["diameter_m", "length_m", "roughness_m", "minor_loss", "rod_diameter_m"])
@pytest.mark.parametrize("value", [-1.0, np.nan])
def test_a_size_that_makes_no_sense_is_refused_with_its_row(name: str, value: float) -> None:
    compiled = compile_network(under_pressure(20e3, [LUMEN, LUMEN], 45.0))
    column = getattr(compiled.geometry, name).copy()
    column[2] = value
    with pytest.raises(InputError, match=r"_m?.*, row 2: (-1|nan) \(expected: "):
        compiled.with_changes(geometry=compiled.geometry._replace(**{name: column}))


def test_arrays_of_another_shape_are_refused() -> None:
    compiled = some_network()
    with pytest.raises(InputError, match=r"^geometry: arrays of another shape"):
        compiled.with_changes(geometry=compiled.geometry._replace(length_m=np.ones(3)))
    with pytest.raises(InputError, match=r"^outlets: arrays of another shape"):
        compiled.with_changes(outlets=compiled.outlets._replace(exit_loss=np.ones(3)))
    with pytest.raises(InputError, match=r"too extreme"):
        compiled.with_changes(water=WaterState(1000.0, 1e-300))
    height = compiled.outlets.elevation_m.copy()
    height[1] = np.inf
    with pytest.raises(InputError, match=r"elevation_m, row 1"):
        compiled.with_changes(outlets=compiled.outlets._replace(elevation_m=height))

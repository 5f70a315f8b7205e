"""Port faults by tables give what single solves give, inside the tables and out of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.errors import InputError
from patency.flow import CompiledNetwork, PortFaults, PumpPoints, Scenarios, compile_network, solve_many
from patency.flow.batch.port_faults import _kernels
from patency.flow.machine_code import Kernel
from tests.flow.random_networks import random_network


def carrier(seed: int, nodes: int = 22, outlets: int = 70, loops: int = 0, dry_share: float = 0.0) -> CompiledNetwork:
    network = random_network(
        np.random.default_rng(seed), nodes=nodes, outlets=outlets, loops=loops, dry_share=dry_share
    )
    strong = PumpPoints(points=((0.0, 12.0), (2e-2, 8.0), (5e-2, 0.5)))
    compiled = compile_network(replace(network, pump=strong))
    low = np.minimum(compiled.outlets.elevation_m, 0.0) - 1.0  # none stays dry
    return compiled.with_changes(outlets=compiled.outlets._replace(elevation_m=low))


def changed(compiled: CompiledNetwork, count: int, most: int = 3) -> np.ndarray:
    chance, outlets = np.random.default_rng(1), compiled.outlets.is_open.size
    is_open = np.repeat(compiled.outlets.is_open[np.newaxis], count, axis=0)
    for row in is_open:
        some = chance.choice(outlets, chance.integers(0, most + 1), replace=False)
        row[some] = 1 - row[some]
    return is_open


def deviation(compiled: CompiledNetwork, faults: PortFaults, is_open: np.ndarray, kernel: Kernel) -> np.ndarray:
    found = faults.solve(is_open)
    exact = solve_many(compiled, Scenarios(count=len(is_open), is_open=is_open), kernel=kernel)
    np.testing.assert_array_equal(found.state, exact.state)
    np.testing.assert_allclose(found.head_m, exact.head_m, rtol=0, atol=1e-7)
    runs = exact.flow_m3_s > 0.0
    assert (found.flow_m3_s[exact.flow_m3_s == 0.0] == 0.0).all()
    return np.asarray(np.abs(found.flow_m3_s[runs] / exact.flow_m3_s[runs] - 1.0))


@pytest.mark.parametrize("seed", range(5))
def test_none_to_three_ports_changed_are_found_in_the_tables(seed: int) -> None:
    compiled = carrier(seed)
    faults = PortFaults(compiled)
    assert faults.tabulated
    off = deviation(compiled, faults, changed(compiled, 400), Kernel.MACHINE_CODE)
    assert off.max() < 1e-6
    assert np.quantile(off, 0.999) < 1e-9


def test_the_interpreted_tables_give_the_same() -> None:
    compiled = carrier(3, nodes=3, outlets=4)
    faults = PortFaults(compiled, Kernel.INTERPRETED)
    off = deviation(compiled, faults, changed(compiled, 6), Kernel.INTERPRETED)
    assert faults.tabulated
    assert off.max() < 1e-6


def test_what_leaves_the_tables_is_solved_otherwise() -> None:
    compiled = carrier(3)
    is_open = changed(compiled, 20)
    is_open[3:6] = 0
    is_open[7] = 1
    is_open[8, 5:] = 0
    assert deviation(compiled, PortFaults(compiled), is_open, Kernel.MACHINE_CODE).max() < 1e-6


@pytest.mark.parametrize(("loops", "dry_share"), [(2, 0.0), (0, 0.4)])
def test_loops_and_dry_outlets_are_solved_without_tables(loops: int, dry_share: float) -> None:
    network = random_network(np.random.default_rng(4), nodes=8, outlets=20, loops=loops, dry_share=dry_share)
    compiled = compile_network(network)
    faults = PortFaults(compiled)
    assert not faults.tabulated
    assert deviation(compiled, faults, changed(compiled, 30), Kernel.MACHINE_CODE).max() < 1e-9


def test_beyond_the_run_out_is_a_state_too() -> None:
    compiled = carrier(3)
    weak = PumpPoints(points=((0.0, 12.0), (float(np.nan_to_num(total(compiled)) * 1.001), 11.0)))
    faulty = compiled.with_changes(pump=weak)
    is_open = changed(faulty, 200)
    states = PortFaults(faulty).solve(is_open).state
    np.testing.assert_array_equal(states, solve_many(faulty, Scenarios(count=200, is_open=is_open)).state)
    assert set(states.tolist()) == {0, 1}


def total(compiled: CompiledNetwork) -> float:
    return float(solve_many(compiled, Scenarios(count=1)).flow_m3_s[0, 0])


def test_the_number_of_threads_changes_nothing_and_bools_are_taken() -> None:
    compiled = carrier(3)
    faults, is_open = PortFaults(compiled), changed(compiled, 5000)
    one = faults.solve(is_open, threads=1)
    two = faults.solve(is_open.astype(bool), threads=2)
    np.testing.assert_array_equal(one.flow_m3_s, two.flow_m3_s)


def test_another_shape_is_refused() -> None:
    with pytest.raises(InputError, match=r"^scenarios, is_open: shape \(2, 3\) .*shape \(2, 70\)"):
        PortFaults(carrier(3)).solve(np.ones((2, 3)))


def test_the_compiler_works_once() -> None:
    PortFaults(carrier(3)).solve(np.ones((2, 70)))
    assert [len(vars(kernel)["overloads"]) for kernel in _kernels(Kernel.MACHINE_CODE)] == [1, 1]

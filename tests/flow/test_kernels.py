"""The numbers under the solver: the loss of a chain and its slope, the pump's head, and the compiler's part."""

from __future__ import annotations

import importlib
import subprocess
import sys

import numpy as np
import pytest

from patency.flow import PumpPoints, compile_network, machine_code
from patency.flow.kernels import chain_loss, friction_factors, pump_head
from patency.flow.machine_code import Kernel
from patency.flow.newton_kernels import eliminate, newton
from tests.flow.random_networks import random_networks

NETWORKS = random_networks(31, 12)


@pytest.mark.parametrize("place", range(len(NETWORKS)))
def test_the_slope_of_a_chain_is_that_of_its_loss(place: int) -> None:
    chains = compile_network(NETWORKS[place]).chains
    for chain in range(chains.fixed.size):
        for flow in (chains.usual_flow[chain], -0.3 * chains.usual_flow[chain], 1e-3 * chains.usual_flow[chain]):
            step = 1e-6 * abs(flow)
            ahead, behind = chain_loss(chains, chain, flow + step)[0], chain_loss(chains, chain, flow - step)[0]
            assert chain_loss(chains, chain, flow)[1] == pytest.approx((ahead - behind) / (2 * step), rel=1e-5)


def test_a_chain_at_rest_loses_nothing_and_turned_round_loses_the_same() -> None:
    chains = compile_network(NETWORKS[0]).chains
    for chain in range(chains.fixed.size):
        assert chain_loss(chains, chain, 0.0)[0] == 0.0
        assert chain_loss(chains, chain, -1e-6)[0] == -chain_loss(chains, chain, 1e-6)[0]


@pytest.mark.parametrize("place", range(len(NETWORKS)))
def test_the_pump_s_slope_is_that_of_its_head(place: int) -> None:
    compiled = compile_network(NETWORKS[place])
    pump, ends = compiled.pump, compiled.ends
    last = pump.points[-1][0] if isinstance(pump, PumpPoints) else (pump.shutoff_head_m / pump.coefficient) ** 0.5
    for flow in (0.1 * last, 0.55 * last, 1.4 * last):
        head, slope = pump_head(ends, flow)
        assert slope < 0
        assert (pump_head(ends, flow * (1 + 1e-7))[0] - head) / (flow * 1e-7) == pytest.approx(slope, rel=1e-4)
    assert pump_head(ends, 0.0)[0] > head


def test_friction_factors_are_unknown_only_where_nothing_flows_or_rubs() -> None:
    compiled = compile_network(NETWORKS[0])
    chains = compiled.chains
    nothing = friction_factors(chains, np.zeros(chains.fixed.size))
    assert np.isnan(nothing).all()
    flowing = friction_factors(chains, chains.usual_flow)
    np.testing.assert_array_equal(np.isnan(flowing), compiled.geometry.discharge_coefficient > 0)


def test_the_interpreted_kernel_is_the_source_itself() -> None:
    assert machine_code.newton(Kernel.INTERPRETED) is newton
    assert machine_code.friction_factors(Kernel.INTERPRETED) is friction_factors


def test_importing_the_room_does_not_wake_the_compiler() -> None:
    script = "import sys, patency.flow; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0


def test_with_the_compiler_switched_off_machine_code_is_the_source(monkeypatch: pytest.MonkeyPatch) -> None:
    script = (
        "from patency.flow import solve\n"
        "from patency.flow.machine_code import Kernel\n"
        "from tests.flow.random_networks import random_networks\n"
        "n = random_networks(31, 1)[0]\n"
        "assert solve(n).flows_m3_s == solve(n, Kernel.INTERPRETED).flows_m3_s\n"
    )
    monkeypatch.setenv("NUMBA_DISABLE_JIT", "1")
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0


@pytest.mark.parametrize("seed", range(6))
def test_loops_equations_are_solved_as_by_numpy(seed: int) -> None:
    chance = np.random.default_rng(seed)
    matrix, right = chance.normal(size=(seed + 1, seed + 1)), chance.normal(size=seed + 1)
    if seed:
        matrix[0, 0] = 0.0  # no pivot without an exchange of rows
    expected = np.linalg.solve(matrix, right)
    eliminate(matrix, right)
    np.testing.assert_allclose(right, expected, rtol=1e-10)


def test_every_function_a_kernel_calls_is_handed_to_the_compiler() -> None:
    modules = [importlib.import_module(f"patency.flow.{name}") for name in ("kernels", "newton_kernels")]
    called = {name for entry in (*machine_code._INNER, friction_factors) for name in entry.__code__.co_names}
    functions = {
        name
        for name in called
        for module in modules
        if callable(getattr(module, name, None)) and not isinstance(getattr(module, name), type)
    }
    # Called by the kernels of readings and of many scenarios, and by what is compiled for one solve.
    from_elsewhere = {"laminar_constant", "run_out", "newton", "room_of"}
    assert functions | from_elsewhere == {function.__name__ for function in machine_code._INNER}

"""Solve many scenarios of one network."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.errors import PhysicsError
from patency.flow.batch.many_flows import ManyFlows, SolveState
from patency.flow.batch.scenarios import check_shapes, scenario_network
from patency.flow.machine_code import Kernel
from patency.flow.solver import RunOut, solve_compiled

if TYPE_CHECKING:
    from patency.flow.batch.scenarios import Scenarios
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.solver import CompiledFlow


def solve_many(
    compiled: CompiledNetwork,
    scenarios: Scenarios,
    *,
    start: CompiledFlow | None = None,
    threads: int | None = None,
) -> ManyFlows:
    """Find the flows of many scenarios of one network.

    The answers depend neither on the start nor on the number of threads.

    Parameters
    ----------
    compiled
        The network.
    scenarios
        What differs.
    start
        Flows of the network or one like it, to begin from; None solves the network as compiled for that.
    threads
        How many threads work; None for as many as the machine has cores.

    Returns
    -------
    ManyFlows
        Flows, heads and a state for each scenario; a scenario without a solution is a state, not an error.

    Raises
    ------
    InputError
        If an array has the wrong shape or holds a size that cannot be computed with; field and scenario are named.
    """
    del threads
    return solve_one_by_one(compiled, scenarios, start=start)


def solve_one_by_one(
    compiled: CompiledNetwork,
    scenarios: Scenarios,
    *,
    start: CompiledFlow | None = None,
    kernel: Kernel = Kernel.MACHINE_CODE,
) -> ManyFlows:
    """Find the same with one solve after the other: slow and plain, what `solve_many` is held against.

    Parameters
    ----------
    compiled
        The network.
    scenarios
        What differs.
    start
        Flows to begin from; None begins each scenario from nothing.
    kernel
        How the numbers are worked out.

    Returns
    -------
    ManyFlows
        As of `solve_many`.

    Raises
    ------
    InputError
        As of `solve_many`.
    """
    check_shapes(compiled, scenarios)
    answer = ManyFlows(
        np.full((scenarios.count, len(compiled.chain_names)), np.nan),
        np.full((scenarios.count, len(compiled.node_names)), np.nan),
        np.full(scenarios.count, SolveState.SOLVED, dtype=np.uint8),
    )
    for scenario in range(scenarios.count):
        network = scenario_network(compiled, scenarios, scenario)
        try:
            flow = solve_compiled(network, start, kernel)
        except RunOut:
            answer.state[scenario] = SolveState.BEYOND_RUN_OUT
        except PhysicsError:
            answer.state[scenario] = SolveState.NO_BALANCE
        else:
            answer.flow_m3_s[scenario], answer.head_m[scenario] = flow.flow_m3_s, flow.head_m
    return answer

"""Solve many scenarios of one network."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.errors import PhysicsError
from patency.flow.batch import compiled_lanes, compiled_looped
from patency.flow.batch.lane_layout import Block, Differs, Nominal, Sizes, new_block
from patency.flow.batch.lanes import UNUSABLE
from patency.flow.batch.many_flows import ManyFlows, SolveState
from patency.flow.batch.nominal import nominal_of
from patency.flow.batch.scenarios import (
    SEGMENT_FIELDS,
    check_shapes,
    scenario_network,
    water_of,
)
from patency.flow.machine_code import Kernel
from patency.flow.solver import CompiledFlow, RunOut, solve_compiled

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.flow.batch.scenarios import Scenarios
    from patency.flow.compiled_network import CompiledNetwork

    Floats = NDArray[np.float64]

_PIECE = 512  # scenarios that one thread takes at a time


def solve_many(
    compiled: CompiledNetwork,
    scenarios: Scenarios,
    *,
    start: CompiledFlow | None = None,
    threads: int | None = None,
    kernel: Kernel = Kernel.MACHINE_CODE,
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
        How many threads work; None leaves it to the machine's number of cores.
    kernel
        How the numbers are worked out.

    Returns
    -------
    ManyFlows
        Flows, heads and a state for each scenario; a scenario without a solution is a state, not an error.

    Raises
    ------
    InputError
        If an array has the wrong shape or holds a size that cannot be computed with; field and scenario are named.
    """
    start = _nominal_flow(compiled, kernel) if start is None else start
    return solve_from(begin_from(compiled, start, kernel), compiled, scenarios, threads=threads, kernel=kernel)


class Beginning(NamedTuple):
    """What many solves of one network begin from: worked out once where they are asked for again and again.

    Parameters
    ----------
    start
        Flows of the network or one like it.
    nominal
        What lanes expand around; None for a network with loops.
    """

    start: CompiledFlow
    nominal: Nominal | None


def begin_from(compiled: CompiledNetwork, start: CompiledFlow, kernel: Kernel = Kernel.MACHINE_CODE) -> Beginning:
    """Make ready what many solves of a network begin from.

    Parameters
    ----------
    compiled
        The network.
    start
        Flows of the network or one like it.
    kernel
        How the numbers are worked out.

    Returns
    -------
    Beginning
        For `solve_from`.
    """
    return Beginning(start, None if compiled.tree.chord_from.size else nominal_of(compiled, start, kernel))


def solve_from(
    beginning: Beginning,
    compiled: CompiledNetwork,
    scenarios: Scenarios,
    *,
    threads: int | None = None,
    kernel: Kernel = Kernel.MACHINE_CODE,
) -> ManyFlows:
    """Find the same as `solve_many` from what was made ready for this network.

    Parameters
    ----------
    beginning
        What to begin from.
    compiled
        The network it was made for.
    scenarios
        What differs.
    threads
        How many threads work; None leaves it to the machine's number of cores.
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
    answer = _empty(compiled, scenarios.count)
    sizes = _sizes(compiled, scenarios)
    if beginning.nominal is None:
        solve_piece = _in_turn(answer, compiled, sizes, beginning.start, kernel)
    else:
        solve_piece = _in_lanes(answer, compiled, sizes, _differs(scenarios), beginning.nominal, kernel)
    _share_out(solve_piece, scenarios.count, threads)
    _settle(compiled, scenarios, answer, kernel)
    return _blank(answer)


def _blank(answer: ManyFlows) -> ManyFlows:
    """Leave no numbers where there is no solution."""
    unsolved = np.flatnonzero(~answer.solved)
    answer.flow_m3_s[unsolved] = np.nan
    answer.head_m[unsolved] = np.nan
    return answer


def _differs(scenarios: Scenarios) -> Differs:
    given = set(scenarios.given((*SEGMENT_FIELDS, "exit_loss", "temperature_c", "kinematic_viscosity_m2_s")))
    return Differs(bool(given), given == {"diameter_m"})


def _in_lanes(
    answer: ManyFlows, compiled: CompiledNetwork, sizes: Sizes, differs: Differs, nominal: Nominal, kernel: Kernel
) -> Callable[[slice], None]:
    """Make what solves some scenarios of a tree, side by side in lanes."""
    find = compiled_lanes.solve_lanes(kernel)
    spare: list[Block] = []  # rooms in memory are used again: fresh ones cost time where they are first touched

    def solve_piece(rows: slice) -> None:
        block = spare.pop() if spare else new_block(nominal)
        flows, heads, states = answer.flow_m3_s[rows], answer.head_m[rows], answer.state[rows]
        find(nominal, compiled.ends, _piece(sizes, rows), block, differs, flows, heads, states)
        spare.append(block)

    return solve_piece


def _in_turn(
    answer: ManyFlows, compiled: CompiledNetwork, sizes: Sizes, start: CompiledFlow, kernel: Kernel
) -> Callable[[slice], None]:
    """Make what solves some scenarios of a network with loops, one after the other."""
    find = compiled_looped.solve_looped(kernel)
    begin, most = start.flow_m3_s[compiled.tree.parent.size :], compiled.run_out_m3_s

    def solve_piece(rows: slice) -> None:
        found = answer.flow_m3_s[rows], answer.head_m[rows], answer.state[rows]
        try:
            find(
                compiled.chains.start,
                compiled.tree,
                compiled.ends,
                _piece(sizes, rows),
                compiled.gravity_m_s2,
                begin,
                most,
                *found,
            )
        except (ArithmeticError, ValueError):  # a loop's equation without an answer: each is tried by itself
            answer.state[rows] = UNUSABLE

    return solve_piece


def _share_out(solve_piece: Callable[[slice], None], count: int, threads: int | None) -> None:
    """Solve all scenarios piece by piece."""
    pieces = [slice(first, min(first + _PIECE, count)) for first in range(0, count, _PIECE)]
    with np.errstate(all="ignore"):
        if len(pieces) == 1 or threads == 1:
            for piece in pieces:
                solve_piece(piece)
        else:
            with ThreadPoolExecutor(threads) as pool:
                list(pool.map(solve_piece, pieces))


def _piece(sizes: Sizes, rows: slice) -> Sizes:
    return Sizes(*(_rows(values, rows) for values in sizes))


def _nominal_flow(compiled: CompiledNetwork, kernel: Kernel) -> CompiledFlow:
    """Solve the network as compiled; where it has no solution the scenarios begin from the usual flows."""
    try:
        return solve_compiled(compiled, kernel=kernel)
    except PhysicsError:
        return CompiledFlow(np.zeros(len(compiled.chain_names)), np.zeros(len(compiled.node_names)), 0)


def _settle(compiled: CompiledNetwork, scenarios: Scenarios, answer: ManyFlows, kernel: Kernel) -> None:
    """Solve by itself what the lanes could not use; what makes no sense is refused here, with its place."""
    for scenario in np.flatnonzero(answer.state >= UNUSABLE):
        _solve_one(scenario_network(compiled, scenarios, int(scenario)), answer, int(scenario), None, kernel)


def _sizes(compiled: CompiledNetwork, scenarios: Scenarios) -> Sizes:
    """Put scenarios and network together: one row where all are as compiled."""

    def rows(name: str, as_compiled: NDArray[Any]) -> NDArray[Any]:
        given = getattr(scenarios, name)
        return as_compiled[np.newaxis] if given is None else np.asarray(given)

    def factor(given: Floats | None, over: float) -> Floats:
        return np.ones(scenarios.count) if given is None else np.asarray(given, dtype=float) / over

    geometry, outlets = compiled.geometry, compiled.outlets
    return Sizes(
        diameter=rows("diameter_m", geometry.diameter_m),
        rod=rows("rod_diameter_m", geometry.rod_diameter_m),
        length=rows("length_m", geometry.length_m),
        wall=rows("roughness_m", geometry.roughness_m),
        single_loss=rows("minor_loss", geometry.minor_loss),
        coefficient=rows("discharge_coefficient", geometry.discharge_coefficient),
        is_open=rows("is_open", outlets.is_open) != 0,
        elevation=rows("elevation_m", outlets.elevation_m),
        exit_loss=rows("exit_loss", outlets.exit_loss),
        speed=factor(scenarios.relative_speed, compiled.pump.relative_speed),
        head_factor=factor(scenarios.pump_head_factor, 1.0),
        viscosity=water_of(compiled, scenarios)[1],
    )


def _rows(values: NDArray[Any], rows: slice) -> NDArray[Any]:
    """Take the rows of a piece as numbers in one block of memory, of one type for the compiler whatever was given."""
    kind = np.uint8 if values.dtype == np.bool_ else np.float64
    return np.require(values if values.shape[0] == 1 else values[rows], dtype=kind, requirements=["C", "W"])


def _empty(compiled: CompiledNetwork, count: int) -> ManyFlows:
    return ManyFlows(
        np.empty((count, len(compiled.chain_names))),
        np.empty((count, len(compiled.node_names))),
        np.full(count, SolveState.SOLVED, dtype=np.uint8),
    )


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
    answer = _empty(compiled, scenarios.count)
    for scenario in range(scenarios.count):
        _solve_one(scenario_network(compiled, scenarios, scenario), answer, scenario, start, kernel)
    return _blank(answer)


def _solve_one(
    network: CompiledNetwork, answer: ManyFlows, scenario: int, start: CompiledFlow | None, kernel: Kernel
) -> None:
    """Solve one scenario's network and write down what became of it."""
    try:
        flow = solve_compiled(network, start, kernel)
    except RunOut:
        answer.state[scenario] = SolveState.BEYOND_RUN_OUT
    except PhysicsError:
        answer.state[scenario] = SolveState.NO_BALANCE
    else:
        answer.state[scenario] = SolveState.SOLVED
        answer.flow_m3_s[scenario], answer.head_m[scenario] = flow.flow_m3_s, flow.head_m

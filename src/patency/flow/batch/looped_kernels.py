"""Scenarios of a network with loops, one after the other by the kernels of one solve.

Plain Python over arrays, like the other kernels; machine code of it lets other threads run.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.kernels import Chains, Ends, Tree, chain_losses, laminar_constant, pump_head
from patency.flow.newton_kernels import newton, room_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.batch.lane_layout import Sizes

    Floats = NDArray[np.float64]
    Bytes = NDArray[np.uint8]
    Integers = NDArray[np.int64]

SOLVED, BEYOND_RUN_OUT, UNUSABLE = 0, 1, 254
_HUGE = 1e60  # as of a compiled network: sizes beyond, or below its inverse, cannot be computed with


class Scenario(NamedTuple):
    """The sizes of one scenario, one number a segment."""

    diameter: Floats
    rod: Floats
    length: Floats
    wall: Floats
    single_loss: Floats
    coefficient: Floats


def row_of(values: Floats, scenario: int) -> Floats:
    """Take a scenario's row; of arrays with one row that one."""
    row: Floats = values[scenario] if values.shape[0] > 1 else values[0]
    return row


def reduce_one(sizes: Scenario, exit_loss: Floats, viscosity: float, gravity: float, chains: Chains) -> bool:
    """Fill the chains from the sizes of their segments; False where a size makes no sense."""
    fine, outlets = True, chains.fixed.size - exit_loss.size
    for chain in range(chains.fixed.size):
        fixed, narrowest, per_head = 0.0, np.inf, 0.0
        for k in range(chains.start[chain], chains.start[chain + 1]):
            wide, rod = sizes.diameter[k], sizes.rod[k]
            gap = wide - rod
            area = 0.25 * math.pi * gap * (wide + rod)
            per_head = 1.0 / (2.0 * gravity * area * area)
            narrowest = min(narrowest, area)
            jet = sizes.coefficient[k] > 0.0
            loss = 1.0 / (sizes.coefficient[k] * sizes.coefficient[k]) if jet else sizes.single_loss[k]
            gain = 64.0 / laminar_constant(rod / wide) if 0.0 < rod < wide else 1.0
            fixed += loss * per_head
            per_flow = gap * gain / (area * viscosity)
            friction = 0.0 if jet else sizes.length[k] / gap * per_head
            chains.reynolds_per_flow[k] = per_flow
            chains.reynolds_power[k] = per_flow**-0.9
            chains.friction[k] = friction
            chains.roughness[k] = sizes.wall[k] / gap
            fine = (
                fine and gap > 0.0 and rod >= 0.0 and 0.0 <= sizes.wall[k] < 0.5 * gap and sizes.single_loss[k] >= 0.0
            )
            fine = fine and (jet or sizes.length[k] > 0.0) and sizes.coefficient[k] >= 0.0
            fine = fine and 1.0 / _HUGE < per_flow < _HUGE and friction < _HUGE
        if chain >= outlets:
            loss = exit_loss[chain - outlets]
            fixed += 0.0 if sizes.coefficient[chains.start[chain + 1] - 1] > 0.0 else loss * per_head
            fine = fine and loss >= 0.0
        chains.fixed[chain], chains.usual_flow[chain] = fixed, narrowest
        fine = fine and fixed < _HUGE and narrowest < _HUGE
    return fine


def ends_of(ends: Ends, speed: float, head_factor: float, elevation: Floats, is_open: Bytes) -> Ends:
    """Return the ends of one scenario: speed over the compiled one by the affinity laws, and the outlets."""
    height, law = speed * speed * head_factor, ends.pump_law.copy()
    law[0] *= height
    law[1] *= head_factor * speed ** (2.0 - law[2])
    return Ends(ends.sump_level, law, ends.pump_flow * speed, ends.pump_head * height, elevation, is_open)


def tolerance_of(ends: Ends) -> float:
    """Return the head that may be left over, as of a single solve."""
    deepest = 0.0
    for outlet in range(ends.elevation.size):
        if ends.is_open[outlet]:
            deepest = max(deepest, -ends.elevation[outlet])
    shutoff, _ = pump_head(ends, 0.0)
    return max(1e-11, 1e-13 * (shutoff + abs(ends.sump_level) + deepest))


def solve_looped(
    start: Integers,
    tree: Tree,
    ends: Ends,
    sizes: Sizes,
    gravity: float,
    begin: Floats,
    most: float,
    flows: Floats,
    heads: Floats,
    states: Bytes,
) -> None:
    """Solve scenarios and fill flows, heads and states of shape (scenarios, ...)."""
    segments, rows = sizes.diameter.shape[1], start.size - 1
    chains = Chains(
        start,
        np.empty(segments),
        np.empty(segments),
        np.empty(segments),
        np.empty(segments),
        np.empty(rows),
        np.empty(rows),
        np.empty(rows),
    )
    slopes, room = np.empty(rows), np.empty(room_of(tree))
    for scenario in range(flows.shape[0]):
        own = Scenario(
            row_of(sizes.diameter, scenario),
            row_of(sizes.rod, scenario),
            row_of(sizes.length, scenario),
            row_of(sizes.wall, scenario),
            row_of(sizes.single_loss, scenario),
            row_of(sizes.coefficient, scenario),
        )
        states[scenario] = UNUSABLE
        if not reduce_one(own, row_of(sizes.exit_loss, scenario), sizes.viscosity[scenario], gravity, chains):
            continue
        chain_losses(chains, chains.usual_flow, chains.usual_slope, slopes)
        chains.usual_slope[:] /= chains.usual_flow
        is_open, elevation = sizes.is_open, row_of(sizes.elevation, scenario)
        opened = is_open[scenario] if is_open.shape[0] > 1 else is_open[0]
        at = ends_of(ends, sizes.speed[scenario], sizes.head_factor[scenario], elevation, opened)
        tolerance = tolerance_of(at)
        flow = flows[scenario]
        _, worst = newton(chains, tree, at, begin, tolerance, flow, heads[scenario], room)
        if worst <= tolerance and abs(flow[0]) < _HUGE:
            states[scenario] = BEYOND_RUN_OUT if flow[0] > most * sizes.speed[scenario] else SOLVED

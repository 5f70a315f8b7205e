"""Newton's method on a tree for a block of scenarios.

These modules are plain Python over arrays, like the kernels of one solve, and ``compiled_lanes.py`` compiles the same
functions. The first step takes losses and slopes linearised at the nominal network, the following ones the law itself.
A lane that does not come to rest in a few steps is left to the solution of one network, which always does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_curves import losses_by_curve
from patency.flow.batch.lane_layout import (
    BAD,
    BEND,
    CHAIN_LOSS,
    CHAIN_ROW,
    ELEVATION,
    FLOW,
    GIVES,
    HEAD,
    INSIDE,
    INVERSE,
    IS_OPEN,
    LANES,
    MOVING,
    NODE_ROW,
    NONE,
    OFF,
    ONE,
    OUTLET_ROW,
    RESIDUAL,
    RISE,
    SCRATCH_ROW,
    SHARE,
    SLOPE,
    USUAL_FLOW,
    USUAL_SLOPE,
    YIELDS,
)
from patency.flow.batch.lane_losses import losses
from patency.flow.batch.lane_sizes import HUGE, find_active, read_block, reduce_block
from patency.flow.kernels import pump_curve, run_out

if TYPE_CHECKING:
    from patency.flow.batch.lane_layout import Block, Bytes, Differs, Floats, Nominal, Sizes
    from patency.flow.kernels import Ends

SOLVED, BEYOND_RUN_OUT, UNUSABLE, UNSETTLED = 0, 1, 254, 255
_SCRATCHES = SCRATCH_ROW // LANES
_BY_CURVE = 2  # steps that go by the curves
_MOST_STEPS = 14
_BENT = 0.3  # of a step: more is not straightened
_SETTLED = 5e-6  # relative move of a flow whose square is below the digits that count


def begin_block(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Put the outlets of a block to where they begin."""
    chain, outlet, warm = block.chain, block.outlet, nominal.warm
    outlets = np.uint64(nominal.outlet_node.size)
    before = np.uint64(nominal.of_chain.shape[0]) - outlets
    for k in range(outlets):
        to, of = (before + np.uint64(k)) * CHAIN_ROW + FLOW, np.uint64(k) * OUTLET_ROW + IS_OPEN
        start = warm[np.uint64(k)]
        for lane in range(lanes):
            chain[to + lane] = start if outlet[of + lane] > 0.0 else 0.0


def copy_row(of: Floats, first: np.uint64, scratch: Floats, lanes: np.uint64) -> None:
    """Copy a row to the scratch, so that the compiler need not fear that it is the one being written."""
    for lane in range(lanes):
        scratch[OFF + lane] = of[first + lane]


def add_row(rows: Floats, of: np.uint64, to: np.uint64, scratch: Floats, lanes: np.uint64) -> None:
    """Add a row to another of the same array."""
    copy_row(rows, of, scratch, lanes)
    for lane in range(lanes):
        rows[to + lane] += scratch[OFF + lane]


def spread_lanes(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Sum the outlets' flows up to the sump."""
    chain, scratch, active, parent = block.chain, block.scratch, block.active, nominal.parent
    outlet_node = nominal.outlet_node
    nodes = np.uint64(parent.size)
    for k in range(nodes):
        to = np.uint64(k) * CHAIN_ROW + FLOW
        for lane in range(lanes):
            chain[to + lane] = 0.0
    for k in range(np.uint64(outlet_node.size)):
        if active[nodes + np.uint64(k)] == 0:
            continue
        to, of = outlet_node[np.uint64(k)] * CHAIN_ROW + FLOW, (nodes + np.uint64(k)) * CHAIN_ROW + FLOW
        add_row(chain, of, to, scratch, lanes)
    for k in range(nodes - ONE):
        node = nodes - ONE - np.uint64(k)
        to, of = parent[node] * CHAIN_ROW + FLOW, node * CHAIN_ROW + FLOW
        add_row(chain, of, to, scratch, lanes)


def add_pump(ends: Ends, sizes: Sizes, block: Block, first: np.uint64, lanes: np.uint64) -> None:
    """Take the pump's head off the first chain; speed and head factor by the affinity laws."""
    chain, speeds, factors = block.chain, sizes.speed, sizes.head_factor
    law, flows, heads = ends.pump_law, ends.pump_flow, ends.pump_head
    last = np.uint64(speeds.size) - ONE
    for lane in range(lanes):
        at = min(last, first + np.uint64(lane))
        speed = speeds[at]
        height = speed * speed * factors[at]
        head, slope = pump_curve(law, flows, heads, chain[FLOW + np.uint64(lane)] / speed)
        chain[CHAIN_LOSS + np.uint64(lane)] -= height * head
        chain[SLOPE + np.uint64(lane)] -= height / speed * slope


def take_heads(nominal: Nominal, block: Block, sump_level: float, lanes: np.uint64) -> None:
    """Take the heads down the tree, and begin each node's line: change of flow = gives + yields times rise."""
    chain, node, scratch, parent = block.chain, block.node, block.scratch, nominal.parent
    for lane in range(lanes):
        node[HEAD + lane] = sump_level - chain[CHAIN_LOSS + lane]
        node[GIVES + lane] = 0.0
        node[YIELDS + lane] = 0.0
    for k in range(ONE, np.uint64(parent.size)):
        at, of, along = np.uint64(k) * NODE_ROW, parent[np.uint64(k)] * NODE_ROW + HEAD, np.uint64(k) * CHAIN_ROW
        copy_row(node, of, scratch, lanes)
        for lane in range(lanes):
            node[at + HEAD + lane] = scratch[OFF + lane] - chain[along + CHAIN_LOSS + lane]
            node[at + GIVES + lane] = 0.0
            node[at + YIELDS + lane] = 0.0


def fold_lanes(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Fold what is left over at the outlets up the tree."""
    chain, node, outlet, scratch, active = block.chain, block.node, block.outlet, block.scratch, block.active
    parent, outlet_node, of_chain = nominal.parent, nominal.outlet_node, nominal.of_chain
    nodes = np.uint64(parent.size)
    for k in range(np.uint64(outlet_node.size)):
        if active[nodes + np.uint64(k)] == 0:
            continue
        row, of, along = (
            np.uint64(k) * OUTLET_ROW,
            outlet_node[np.uint64(k)] * NODE_ROW,
            (nodes + np.uint64(k)) * CHAIN_ROW,
        )
        usual = of_chain[nodes + np.uint64(k), USUAL_SLOPE]  # the slope at rest would throw a jet far out
        for lane in range(lanes):
            flow = chain[along + FLOW + lane]
            left = node[of + HEAD + lane] - outlet[row + ELEVATION + lane] - chain[along + CHAIN_LOSS + lane]
            runs = outlet[row + IS_OPEN + lane] if (flow > 0.0) | (left > 0.0) else 0.0
            inverse = runs / (chain[along + SLOPE + lane] if flow > 0.0 else usual)
            outlet[row + RESIDUAL + lane] = left
            outlet[row + INVERSE + lane] = inverse
            node[of + GIVES + lane] += left * inverse
            node[of + YIELDS + lane] += inverse
    for k in range(nodes):
        at = nodes - ONE - np.uint64(k)
        row, of, along = at * NODE_ROW, parent[at] * NODE_ROW, at * CHAIN_ROW + SLOPE
        for lane in range(lanes):
            scratch[OFF + lane] = 1.0 / (1.0 + node[row + YIELDS + lane] * chain[along + lane])
        for lane in range(lanes):
            node[row + SHARE + lane] = scratch[OFF + lane]
        if at == NONE:
            continue
        for lane in range(lanes):
            scratch[INSIDE + lane] = node[row + GIVES + lane] * scratch[OFF + lane]
            scratch[OFF + lane] *= node[row + YIELDS + lane]
        for lane in range(lanes):
            node[of + GIVES + lane] += scratch[INSIDE + lane]
            node[of + YIELDS + lane] += scratch[OFF + lane]


def move_lanes(nominal: Nominal, block: Block, lanes: np.uint64) -> bool:
    """Go the whole step; whether all usable lanes have moved so little that this was the last."""
    chain, node, outlet, scratch, active = block.chain, block.node, block.outlet, block.scratch, block.active
    parent, outlet_node, of_chain = nominal.parent, nominal.outlet_node, nominal.of_chain
    nodes = np.uint64(parent.size)
    for lane in range(lanes):
        scratch[MOVING + lane] = 0.0
    for k in range(nodes):
        at = np.uint64(k)
        row, of, along = at * NODE_ROW, parent[at] * NODE_ROW + RISE, at * CHAIN_ROW + SLOPE
        copy_row(node, of, scratch, lanes)
        passed = 1.0 if at > NONE else 0.0
        for lane in range(lanes):
            above = passed * scratch[OFF + lane]
            rise = (above - chain[along + lane] * node[row + GIVES + lane]) * node[row + SHARE + lane]
            node[row + RISE + lane] = rise
            node[row + HEAD + lane] += rise
    for k in range(np.uint64(outlet_node.size)):
        if active[nodes + np.uint64(k)] == 0:
            continue
        row, of = np.uint64(k) * OUTLET_ROW, outlet_node[np.uint64(k)] * NODE_ROW + RISE
        to, floor = (nodes + np.uint64(k)) * CHAIN_ROW, 1e-6 * of_chain[nodes + np.uint64(k), USUAL_FLOW]
        for lane in range(lanes):
            flow, inverse = chain[to + FLOW + lane], outlet[row + INVERSE + lane]
            step = (node[of + lane] + outlet[row + RESIDUAL + lane]) * inverse
            bend = step * inverse * chain[to + BEND + lane]
            target = flow + (step - step * bend if (flow > 0.0) & (abs(bend) < _BENT) else step)
            target = max(0.0, target)
            chain[to + FLOW + lane] = target
            far = abs(target - flow) - _SETTLED * (target + floor)
            scratch[MOVING + lane] = max(scratch[MOVING + lane], far)
    moving = 0
    for lane in range(lanes):
        moving += 1 if (scratch[MOVING + lane] > 0.0) & (scratch[BAD + lane] == 0.0) else 0
    return moving == 0


def solve_block(nominal: Nominal, ends: Ends, sizes: Sizes, block: Block, first: np.uint64, lanes: np.uint64) -> None:
    """Take the steps of one block."""
    for step in range(_MOST_STEPS):
        spread_lanes(nominal, block, lanes)
        if step < _BY_CURVE:
            losses_by_curve(nominal, block, lanes)
        else:
            losses(nominal, block, lanes, step > _BY_CURVE)
        add_pump(ends, sizes, block, first, lanes)
        take_heads(nominal, block, ends.sump_level, lanes)
        fold_lanes(nominal, block, lanes)
        if move_lanes(nominal, block, lanes) and step >= _BY_CURVE:
            break
    spread_lanes(nominal, block, lanes)


def solve_lanes(
    nominal: Nominal,
    ends: Ends,
    sizes: Sizes,
    block: Block,
    differs: Differs,
    flows: Floats,
    heads: Floats,
    states: Bytes,
) -> None:
    """Solve scenarios block by block and fill flows, heads and states of shape (scenarios, ...)."""
    chain, node, scratch, speeds = block.chain, block.node, block.scratch, sizes.speed
    chains, nodes, lanes = np.uint64(flows.shape[1]), np.uint64(heads.shape[1]), np.uint64(scratch.size) // _SCRATCHES
    count, most = np.uint64(flows.shape[0]), run_out(ends) * (1.0 + 1e-12)
    for each in range((count + lanes - ONE) // lanes):
        first = np.uint64(each) * lanes
        read_block(sizes, block, first, lanes)
        find_active(nominal, block, lanes)
        if first == NONE or differs.anything:
            reduce_block(nominal, block, differs, lanes)
        begin_block(nominal, block, lanes)
        solve_block(nominal, ends, sizes, block, first, lanes)
        for lane in range(min(count - first, lanes)):
            scenario = first + np.uint64(lane)
            for k in range(chains):
                flows[scenario, np.uint64(k)] = chain[np.uint64(k) * CHAIN_ROW + FLOW + np.uint64(lane)]
            for k in range(nodes):
                heads[scenario, np.uint64(k)] = node[np.uint64(k) * NODE_ROW + HEAD + np.uint64(lane)]
            if scratch[BAD + np.uint64(lane)] > 0.0:
                states[scenario] = UNUSABLE
            elif not (scratch[MOVING + np.uint64(lane)] <= 0.0 and flows[scenario, NONE] < HUGE):
                states[scenario] = UNSETTLED
            elif flows[scenario, NONE] > most * speeds[scenario]:
                states[scenario] = BEYOND_RUN_OUT
            else:
                states[scenario] = SOLVED

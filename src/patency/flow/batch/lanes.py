"""Newton's method on a tree for a block of scenarios.

These modules are plain Python over arrays, like the kernels of one solve, and ``compiled_lanes.py`` compiles the same
functions. The first step takes losses and slopes linearised at the nominal network, the following ones the law itself.
A lane that does not come to rest in a few steps is left to the solution of one network, which always does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_layout import (
    BAD,
    CHAIN_LOSS,
    CHAIN_ROW,
    ELEVATION,
    FLOW,
    GIVES,
    HEAD,
    INVERSE,
    IS_OPEN,
    LANES,
    MOVING,
    NODE_ROW,
    NONE,
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
from patency.flow.batch.lane_losses import losses, losses_nearby
from patency.flow.batch.lane_sizes import HUGE, read_block, reduce_block
from patency.flow.kernels import bent, pump_head

if TYPE_CHECKING:
    from patency.flow.batch.lane_layout import Block, Bytes, Floats, Nominal, Sizes
    from patency.flow.kernels import Ends

SOLVED, BEYOND_RUN_OUT, UNUSABLE, UNSETTLED = 0, 1, 254, 255
_SCRATCHES = SCRATCH_ROW // LANES
_MOST_STEPS = 12
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


def spread_lanes(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Sum the outlets' flows up to the sump."""
    chain, parent, outlet_node = block.chain, nominal.parent, nominal.outlet_node
    nodes = np.uint64(parent.size)
    for k in range(nodes):
        to = np.uint64(k) * CHAIN_ROW + FLOW
        for lane in range(lanes):
            chain[to + lane] = 0.0
    for k in range(np.uint64(outlet_node.size)):
        to, of = outlet_node[np.uint64(k)] * CHAIN_ROW + FLOW, (nodes + np.uint64(k)) * CHAIN_ROW + FLOW
        for lane in range(lanes):
            chain[to + lane] += chain[of + lane]
    for k in range(nodes - ONE):
        node = nodes - ONE - np.uint64(k)
        to, of = parent[node] * CHAIN_ROW + FLOW, node * CHAIN_ROW + FLOW
        for lane in range(lanes):
            chain[to + lane] += chain[of + lane]


def add_pump(ends: Ends, sizes: Sizes, block: Block, first: np.uint64, lanes: np.uint64) -> None:
    """Take the pump's head off the first chain; speed and head factor by the affinity laws."""
    chain, speeds, factors = block.chain, sizes.speed, sizes.head_factor
    last = np.uint64(speeds.size) - ONE
    for lane in range(lanes):
        at = min(last, first + np.uint64(lane))
        speed = speeds[at]
        height = speed * speed * factors[at]
        head, slope = pump_head(ends, chain[FLOW + np.uint64(lane)] / speed)
        chain[CHAIN_LOSS + np.uint64(lane)] -= height * head
        chain[SLOPE + np.uint64(lane)] -= height / speed * slope


def take_heads(nominal: Nominal, block: Block, sump_level: float, lanes: np.uint64) -> None:
    """Take the heads down the tree, and begin each node's line: change of flow = gives + yields times rise."""
    chain, node, parent = block.chain, block.node, nominal.parent
    for lane in range(lanes):
        node[HEAD + lane] = sump_level - chain[CHAIN_LOSS + lane]
        node[GIVES + lane] = 0.0
        node[YIELDS + lane] = 0.0
    for k in range(ONE, np.uint64(parent.size)):
        at, of, along = np.uint64(k) * NODE_ROW, parent[np.uint64(k)] * NODE_ROW + HEAD, np.uint64(k) * CHAIN_ROW
        for lane in range(lanes):
            node[at + HEAD + lane] = node[of + lane] - chain[along + CHAIN_LOSS + lane]
            node[at + GIVES + lane] = 0.0
            node[at + YIELDS + lane] = 0.0


def fold_lanes(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Fold what is left over at the outlets up the tree."""
    chain, node, outlet = block.chain, block.node, block.outlet
    parent, outlet_node, of_chain = nominal.parent, nominal.outlet_node, nominal.of_chain
    nodes = np.uint64(parent.size)
    for k in range(np.uint64(outlet_node.size)):
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
        passed = 1.0 if at > NONE else 0.0
        for lane in range(lanes):
            share = 1.0 / (1.0 + node[row + YIELDS + lane] * chain[along + lane])
            node[row + SHARE + lane] = share
            share *= passed
            node[of + GIVES + lane] += node[row + GIVES + lane] * share
            node[of + YIELDS + lane] += node[row + YIELDS + lane] * share


def move_lanes(nominal: Nominal, block: Block, lanes: np.uint64) -> bool:
    """Go the whole step; whether all usable lanes have moved so little that this was the last."""
    chain, node, outlet, scratch = block.chain, block.node, block.outlet, block.scratch
    parent, outlet_node, of_chain = nominal.parent, nominal.outlet_node, nominal.of_chain
    nodes = np.uint64(parent.size)
    for lane in range(lanes):
        scratch[MOVING + lane] = 0.0
    for k in range(nodes):
        at = np.uint64(k)
        row, of, along = at * NODE_ROW, parent[at] * NODE_ROW + RISE, at * CHAIN_ROW + SLOPE
        passed = 1.0 if at > NONE else 0.0
        for lane in range(lanes):
            above = passed * node[of + lane]
            rise = (above - chain[along + lane] * node[row + GIVES + lane]) * node[row + SHARE + lane]
            node[row + RISE + lane] = rise
            node[row + HEAD + lane] += rise
    for k in range(np.uint64(outlet_node.size)):
        row, of = np.uint64(k) * OUTLET_ROW, outlet_node[np.uint64(k)] * NODE_ROW + RISE
        to, floor = (nodes + np.uint64(k)) * CHAIN_ROW, 1e-6 * of_chain[nodes + np.uint64(k), USUAL_FLOW]
        for lane in range(lanes):
            flow, loss = chain[to + FLOW + lane], chain[to + CHAIN_LOSS + lane]
            step = (node[of + lane] + outlet[row + RESIDUAL + lane]) * outlet[row + INVERSE + lane]
            step = bent(step, flow, loss, chain[to + SLOPE + lane])
            target = flow + step
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
        if step == 0:
            losses_nearby(nominal, block, lanes)
        else:
            losses(nominal, block, lanes)
        add_pump(ends, sizes, block, first, lanes)
        take_heads(nominal, block, ends.sump_level, lanes)
        fold_lanes(nominal, block, lanes)
        if move_lanes(nominal, block, lanes) and step > 0:
            break
    spread_lanes(nominal, block, lanes)


def run_out(ends: Ends) -> float:
    """Find the flow at which the pump's curve ends."""
    if ends.pump_flow.size:
        return float(ends.pump_flow[-1])
    if ends.pump_law[1] == 0.0:
        return np.inf
    return float((ends.pump_law[0] / ends.pump_law[1]) ** (1.0 / ends.pump_law[2]))


def solve_lanes(
    nominal: Nominal,
    ends: Ends,
    sizes: Sizes,
    block: Block,
    alike: bool,  # noqa: FBT001 - whether all scenarios have the same segments and water
    flows: Floats,
    heads: Floats,
    states: Bytes,
) -> None:
    """Solve scenarios block by block and fill flows, heads and states of shape (scenarios, ...)."""
    chain, node, scratch = block.chain, block.node, block.scratch
    chains, nodes, lanes = np.uint64(flows.shape[1]), np.uint64(heads.shape[1]), np.uint64(scratch.size) // _SCRATCHES
    count, most = np.uint64(flows.shape[0]), run_out(ends) * (1.0 + 1e-12)
    for each in range((count + lanes - ONE) // lanes):
        first = np.uint64(each) * lanes
        read_block(sizes, block, first, lanes)
        if first == NONE or not alike:
            reduce_block(nominal, block, lanes)
        begin_block(nominal, block, lanes)
        solve_block(nominal, ends, sizes, block, first, lanes)
        for lane in range(min(count - first, lanes)):
            scenario, total = first + np.uint64(lane), 0.0
            for k in range(chains):
                flow = chain[np.uint64(k) * CHAIN_ROW + FLOW + np.uint64(lane)]
                flows[scenario, np.uint64(k)] = flow
                total += flow
            for k in range(nodes):
                heads[scenario, np.uint64(k)] = node[np.uint64(k) * NODE_ROW + HEAD + np.uint64(lane)]
            if scratch[BAD + np.uint64(lane)] > 0.0:
                states[scenario] = UNUSABLE
            elif not (scratch[MOVING + np.uint64(lane)] <= 0.0 and total < HUGE):
                states[scenario] = UNSETTLED
            elif flows[scenario, NONE] > most * sizes.speed[scenario]:
                states[scenario] = BEYOND_RUN_OUT
            else:
                states[scenario] = SOLVED

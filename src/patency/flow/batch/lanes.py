"""Newton's method on a tree for a block of scenarios.

These modules are plain Python over arrays, like the kernels of one solve, and ``compiled_lanes.py`` compiles the same
functions. The first step takes losses and slopes linearised at the nominal network, the following ones the law itself.
A lane that does not come to rest in a few steps is left to the solution of one network, which always does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.lane_curves import SMALLEST_SLOPE, by_curve, loss_by_curve
from patency.flow.batch.lane_layout import (
    ABOVE,
    BAD,
    BEND,
    CHAIN_LOSS,
    CHAIN_ROW,
    CURVE_0,
    CURVE_1,
    CURVE_2,
    CURVE_3,
    ELEVATION,
    FIXED,
    FLOW,
    GIVES,
    HEAD,
    INSIDE,
    INVERSE,
    IS_OPEN,
    LANES,
    LEFT,
    LINEAR,
    MOVING,
    NEAR_FLOW,
    NODE_ROW,
    NONE,
    OFF,
    ONE,
    OUTLET_ROW,
    RISE,
    SCRATCH_ROW,
    SLOPE,
    TAKES,
    USUAL_FLOW,
    USUAL_SLOPE,
    YIELDS,
)
from patency.flow.batch.lane_losses import follow_bend, loss_by_law
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
    """Put outlets and heads of a block to where they begin, and what nodes sum up to nothing."""
    chain, node, outlet, warm, heads = block.chain, block.node, block.outlet, nominal.warm, nominal.heads
    outlets = np.uint64(nominal.outlet_node.size)
    before = np.uint64(nominal.of_chain.shape[0]) - outlets
    for k in range(outlets):
        to, of = (before + np.uint64(k)) * CHAIN_ROW, np.uint64(k) * OUTLET_ROW + IS_OPEN
        start = warm[np.uint64(k)]
        for lane in range(lanes):
            chain[to + FLOW + lane] = start if outlet[of + lane] > 0.0 else 0.0
            chain[to + LEFT + lane] = 0.0
            chain[to + INVERSE + lane] = 0.0
    for k in range(np.uint64(heads.size)):
        row, head = np.uint64(k) * NODE_ROW, heads[np.uint64(k)]
        for lane in range(lanes):
            node[row + HEAD + lane] = head
            node[row + RISE + lane] = 0.0
            node[row + TAKES + lane] = 0.0
            node[row + GIVES + lane] = 0.0
            node[row + YIELDS + lane] = 0.0


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


def lose(nominal: Nominal, block: Block, k: np.uint64, step: int, lanes: np.uint64) -> None:
    """Work out a chain's loss, slope and bend; the pump's head is taken off the first's, so that one is never known."""
    if step < _BY_CURVE:
        loss_by_curve(nominal, block, k, lanes)
    elif step == _BY_CURVE or k == NONE or not follow_bend(block.chain, k * CHAIN_ROW, lanes):
        loss_by_law(nominal, block, k, lanes)


def fold_outlet(block: Block, to: np.uint64, of: np.uint64, row: np.uint64, usual: float, lanes: np.uint64) -> None:
    """Add an outlet to its node: its flow, and the line by which it changes as the node's head rises.

    The slope at rest would throw a jet far out, so the usual one stands for it.
    """
    chain, node, outlet = block.chain, block.node, block.outlet
    for lane in range(lanes):
        flow = chain[to + FLOW + lane]
        left = node[of + HEAD + lane] - outlet[row + ELEVATION + lane] - chain[to + CHAIN_LOSS + lane]
        runs = outlet[row + IS_OPEN + lane] if (flow > 0.0) | (left > 0.0) else 0.0
        inverse = runs / (chain[to + SLOPE + lane] if flow > 0.0 else usual)
        chain[to + LEFT + lane] = left
        chain[to + INVERSE + lane] = inverse
        node[of + TAKES + lane] += flow
        node[of + GIVES + lane] += left * inverse
        node[of + YIELDS + lane] += inverse


def moved(flow: float, step: float, bend: float) -> float:
    """Take a step of a flow, bent where it bends little; water never runs backwards."""
    return max(0.0, flow + (step - step * bend if (flow > 0.0) & (abs(bend) < _BENT) else step))


def move_outlet(block: Block, to: np.uint64, of: np.uint64, floor: float, lanes: np.uint64) -> None:
    """Let an outlet's flow follow its node's head along its line, bent as its loss bends."""
    chain, node, scratch = block.chain, block.node, block.scratch
    for lane in range(lanes):
        flow, inverse = chain[to + FLOW + lane], chain[to + INVERSE + lane]
        step = (node[of + RISE + lane] + chain[to + LEFT + lane]) * inverse
        target = moved(flow, step, step * inverse * chain[to + BEND + lane])
        chain[to + FLOW + lane] = target
        far = abs(target - flow) - _SETTLED * (target + floor)
        scratch[MOVING + lane] = max(scratch[MOVING + lane], far)


def go_by_curves(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Move all outlets, work out their losses by the curves and fold them, each lane in one go."""
    chain, node, outlet, active = block.chain, block.node, block.outlet, block.active
    outlet_node, near_chain = nominal.outlet_node, nominal.of_chain
    nodes = np.uint64(nominal.parent.size)
    for each in range(np.uint64(outlet_node.size)):
        k = nodes + np.uint64(each)
        if active[k] == 0:
            continue
        to, of, row = k * CHAIN_ROW, outlet_node[np.uint64(each)] * NODE_ROW, np.uint64(each) * OUTLET_ROW
        usual, over = near_chain[k, USUAL_SLOPE], 1.0 / near_chain[k, NEAR_FLOW]
        for lane in range(lanes):
            flow, inverse = chain[to + FLOW + lane], chain[to + INVERSE + lane]
            step = (node[of + RISE + lane] + chain[to + LEFT + lane]) * inverse
            flow = moved(flow, step, step * inverse * chain[to + BEND + lane])
            linear, c0 = chain[to + LINEAR + lane], chain[to + FIXED + lane] + chain[to + CURVE_0 + lane]
            c1, c2, c3 = chain[to + CURVE_1 + lane], chain[to + CURVE_2 + lane], chain[to + CURVE_3 + lane]
            loss, slope, bend = by_curve(flow, flow * over, linear, c0, c1, c2, c3)
            slope = max(SMALLEST_SLOPE * usual, slope)
            left = node[of + HEAD + lane] - outlet[row + ELEVATION + lane] - loss
            runs = outlet[row + IS_OPEN + lane] if (flow > 0.0) | (left > 0.0) else 0.0
            inverse = runs / (slope if flow > 0.0 else usual)
            chain[to + FLOW + lane] = flow
            chain[to + LEFT + lane] = left
            chain[to + INVERSE + lane] = inverse
            chain[to + BEND + lane] = bend
            node[of + TAKES + lane] += flow
            node[of + GIVES + lane] += left * inverse
            node[of + YIELDS + lane] += inverse


def go_by_law(nominal: Nominal, block: Block, step: int, lanes: np.uint64) -> bool:
    """Move all outlets, and fold them where that was not the last move; whether it was."""
    active, outlet_node, of_chain = block.active, nominal.outlet_node, nominal.of_chain
    nodes, outlets = np.uint64(nominal.parent.size), np.uint64(outlet_node.size)
    for lane in range(lanes):
        block.scratch[MOVING + lane] = 0.0
    for each in range(outlets):
        k = nodes + np.uint64(each)
        if active[k] != 0:
            of = outlet_node[np.uint64(each)] * NODE_ROW
            move_outlet(block, k * CHAIN_ROW, of, 1e-6 * of_chain[k, USUAL_FLOW], lanes)
    if step > _BY_CURVE and all_settled(block.scratch, lanes):
        return True
    for each in range(outlets):
        k = nodes + np.uint64(each)
        if active[k] != 0:
            lose(nominal, block, k, step, lanes)
            fold_outlet(
                block,
                k * CHAIN_ROW,
                outlet_node[np.uint64(each)] * NODE_ROW,
                np.uint64(each) * OUTLET_ROW,
                of_chain[k, USUAL_SLOPE],
                lanes,
            )
    return False


def all_settled(scratch: Floats, lanes: np.uint64) -> bool:
    """Tell whether all usable lanes have moved so little that this was the last step."""
    moving = 0
    for lane in range(lanes):
        moving += 1 if (scratch[MOVING + lane] > 0.0) & (scratch[BAD + lane] == 0.0) else 0
    return moving == 0


def fold_links(
    nominal: Nominal, ends: Ends, sizes: Sizes, block: Block, first: np.uint64, step: int, lanes: np.uint64
) -> None:
    """Fold the nodes up the tree, each with the link that feeds it."""
    chain, node, scratch, active, parent = block.chain, block.node, block.scratch, block.active, nominal.parent
    nodes = np.uint64(parent.size)
    for each in range(nodes):
        k = nodes - ONE - np.uint64(each)
        if active[k] == 0:
            continue
        row, of, to = k * NODE_ROW, parent[k] * NODE_ROW, k * CHAIN_ROW
        for lane in range(lanes):
            chain[to + FLOW + lane] = node[row + TAKES + lane]
            scratch[ABOVE + lane] = node[of + HEAD + lane]
        lose(nominal, block, k, step, lanes)
        if k == NONE:
            add_pump(ends, sizes, block, first, lanes)
            for lane in range(lanes):
                scratch[ABOVE + lane] = ends.sump_level
        for lane in range(lanes):
            gives, yields = node[row + GIVES + lane], node[row + YIELDS + lane]
            left = scratch[ABOVE + lane] - node[row + HEAD + lane] - chain[to + CHAIN_LOSS + lane]
            share = 1.0 / (1.0 + yields * chain[to + SLOPE + lane])
            chain[to + LEFT + lane] = left
            chain[to + INVERSE + lane] = share
            scratch[OFF + lane] = share * (gives + yields * left)
            scratch[INSIDE + lane] = share * yields
        if k > NONE:
            for lane in range(lanes):
                node[of + TAKES + lane] += chain[to + FLOW + lane]
                node[of + GIVES + lane] += scratch[OFF + lane]
                node[of + YIELDS + lane] += scratch[INSIDE + lane]


def raise_heads(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Raise the heads down the tree, and begin anew what nodes sum up."""
    chain, node, scratch, active, parent = block.chain, block.node, block.scratch, block.active, nominal.parent
    for each in range(np.uint64(parent.size)):
        k = np.uint64(each)
        if active[k] == 0:
            continue
        row, of, to = k * NODE_ROW, parent[k] * NODE_ROW, k * CHAIN_ROW
        passed = 1.0 if k > NONE else 0.0
        for lane in range(lanes):
            scratch[ABOVE + lane] = passed * node[of + RISE + lane]
        for lane in range(lanes):
            rise = scratch[ABOVE + lane] + chain[to + LEFT + lane] - chain[to + SLOPE + lane] * node[row + GIVES + lane]
            rise *= chain[to + INVERSE + lane]
            node[row + RISE + lane] = rise
            node[row + HEAD + lane] += rise
            node[row + TAKES + lane] = 0.0
            node[row + GIVES + lane] = 0.0
            node[row + YIELDS + lane] = 0.0


def end_block(nominal: Nominal, block: Block, lanes: np.uint64) -> None:
    """Sum the outlets' flows up to the sump, and give nodes without water the head of the node above."""
    chain, node, scratch, active, parent = block.chain, block.node, block.scratch, block.active, nominal.parent
    outlet_node = nominal.outlet_node
    nodes = np.uint64(parent.size)
    for each in range(np.uint64(outlet_node.size)):
        k = np.uint64(each)
        if active[nodes + k] != 0:
            of, to = outlet_node[k] * NODE_ROW, (nodes + k) * CHAIN_ROW
            for lane in range(lanes):
                node[of + TAKES + lane] += chain[to + FLOW + lane]
    for each in range(nodes):
        k = nodes - ONE - np.uint64(each)
        row, of, to = k * NODE_ROW, parent[k] * NODE_ROW, k * CHAIN_ROW
        for lane in range(lanes):
            chain[to + FLOW + lane] = node[row + TAKES + lane]
        if k > NONE:
            for lane in range(lanes):
                node[of + TAKES + lane] += chain[to + FLOW + lane]
    for each in range(nodes):
        k = np.uint64(each)
        if active[k] == 0:
            row, of = k * NODE_ROW, parent[k] * NODE_ROW
            for lane in range(lanes):
                scratch[ABOVE + lane] = node[of + HEAD + lane]
            for lane in range(lanes):
                node[row + HEAD + lane] = scratch[ABOVE + lane]


def solve_block(nominal: Nominal, ends: Ends, sizes: Sizes, block: Block, first: np.uint64, lanes: np.uint64) -> None:
    """Take the steps of one block.

    Each goes over the outlets, up the links and down again. Heads of nodes are not summed up from the losses: what a
    link's loss misses of the heads at its ends is folded like anything left over, and shrinks with it.
    """
    begin_block(nominal, block, lanes)
    for step in range(_MOST_STEPS):
        if step < _BY_CURVE:
            go_by_curves(nominal, block, lanes)
        elif go_by_law(nominal, block, step, lanes):
            break
        fold_links(nominal, ends, sizes, block, first, step, lanes)
        raise_heads(nominal, block, lanes)
    end_block(nominal, block, lanes)


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

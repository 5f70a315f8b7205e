"""Newton's method on a network: the numbers behind one solve.

Plain Python over arrays, like `kernels`, whose words it uses; ``machine_code.py`` compiles the same functions. None of
them makes an array: room comes from outside, because counting who uses which array would take a third of the time.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from patency.flow.kernels import bent, chain_losses, pump_head

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.flow.kernels import Chains, Ends, Tree

    Floats = NDArray[np.float64]

_SMALLEST_FLOW_M3_S = 1e-13  # far below a microlitre per minute: what counts as no change of a flow
_SMALLEST_SLOPE = 1e-9  # of a chain's slope at 1 m/s: keeps a step finite where nothing flows
_MOST_STEPS = 200
_PUMP_ROUNDS = 4  # of Newton's method for the pump's flow, to begin from
# A step that moves every flow by less than this is taken without asking whether it leads downhill. Where thin gaps make
# such steps go round in a circle, none is taken unasked any more.
_UNASKED, _PATIENT_STEPS = 1e-2, 20


class State(NamedTuple):
    """Where the iteration stands; arrays that are filled in place."""

    flow: Floats  # [chain]
    loss: Floats  # [chain] head lost from end to end, the pump's head taken off in chain 0
    slope: Floats  # [chain] its derivative, with a floor
    head: Floats  # [node]
    residual: Floats  # [free] head left over along each free chain


class Work(NamedTuple):
    """What a step needs room for."""

    target: Floats  # [free] flows that the step goes towards
    before: Floats  # [free] flows before it
    pull: Floats  # [free] residuals before it
    demand: Floats  # [node] change of what leaves there
    rise: Floats  # [node] change of head
    answer: Floats  # [node] the same for a flow through one chord
    gives: Floats  # [node] of each subtree's line
    yields: Floats  # [node]
    change: Floats  # [chord] change of flow
    matrix: Floats  # [chord, chord] of the loops' equations


def spread(tree: Tree, flow: Floats) -> None:
    """Sum the free flows up to the sump, which gives the flow of every tree link."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    flow[:nodes] = 0.0
    for chord in range(chords):
        flow[tree.chord_from[chord]] += flow[nodes + chord]
        flow[tree.chord_to[chord]] -= flow[nodes + chord]
    for outlet in range(tree.outlet_node.size):
        flow[tree.outlet_node[outlet]] += flow[nodes + chords + outlet]
    for node in range(nodes - 1, 0, -1):
        flow[tree.parent[node]] += flow[node]


def evaluate(chains: Chains, tree: Tree, ends: Ends, state: State) -> float:
    """Fill the state from its free flows; the largest head left over where water runs or should run."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    spread(tree, state.flow)
    chain_losses(chains, state.flow, state.loss, state.slope)
    for chain in range(state.slope.size):
        state.slope[chain] = max(state.slope[chain], _SMALLEST_SLOPE * chains.usual_slope[chain])
    head, slope = pump_head(ends, state.flow[0])
    state.loss[0] -= head
    state.slope[0] -= slope
    for node in range(nodes):
        above = state.head[tree.parent[node]] if node else ends.sump_level
        state.head[node] = above - state.loss[node]
    worst = 0.0
    for chord in range(chords):
        left = state.head[tree.chord_from[chord]] - state.head[tree.chord_to[chord]] - state.loss[nodes + chord]
        state.residual[chord] = left
        worst = max(worst, abs(left))
    for outlet in range(tree.outlet_node.size):
        chain = nodes + chords + outlet
        left = 0.0
        if ends.is_open[outlet]:
            left = state.head[tree.outlet_node[outlet]] - ends.elevation[outlet] - state.loss[chain]
            worst = max(worst, abs(left) if state.flow[chain] > 0.0 else left)
            if state.flow[chain] == 0.0:
                state.slope[chain] = chains.usual_slope[chain]  # the slope at rest would throw a jet far out
        state.residual[chords + outlet] = left
    return worst


def fold(tree: Tree, ends: Ends, state: State, work: Work, demand: Floats, rise: Floats) -> None:
    """Solve the linearised tree for the rise of its heads, with a change of demand at each node.

    From the leaves to the sump each subtree becomes one line, change of flow = a + b rise; back down the rises
    follow. Working with changes keeps digits where a jet of nearly no loss hangs on a lumen of nearly all.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    a, b = work.gives, work.yields
    for node in range(nodes):
        a[node], b[node] = demand[node], 0.0
    for outlet in range(tree.outlet_node.size):
        free = chords + outlet
        if ends.is_open[outlet] and (state.flow[nodes + free] > 0.0 or state.residual[free] > 0.0):
            a[tree.outlet_node[outlet]] += state.residual[free] / state.slope[nodes + free]
            b[tree.outlet_node[outlet]] += 1.0 / state.slope[nodes + free]
    for node in range(nodes - 1, 0, -1):
        share = 1.0 / (1.0 + b[node] * state.slope[node])
        a[tree.parent[node]] += a[node] * share
        b[tree.parent[node]] += b[node] * share
    for node in range(nodes):
        above = rise[tree.parent[node]] if node else 0.0
        rise[node] = (above - state.slope[node] * a[node]) / (1.0 + b[node] * state.slope[node])


def aim(chains: Chains, tree: Tree, ends: Ends, state: State, work: Work) -> None:
    """Find the free flows that would solve the linearised network."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    rise, demand, target = work.rise, work.demand, work.target
    demand[:] = 0.0
    fold(tree, ends, state, work, demand, rise)
    if chords > 0:
        change_chords(chains, tree, ends, state, work)
        for chord in range(chords):
            demand[tree.chord_from[chord]] += work.change[chord]
            demand[tree.chord_to[chord]] -= work.change[chord]
            target[chord] = state.flow[nodes + chord] + work.change[chord]
        fold(tree, ends, state, work, demand, rise)
    for outlet in range(tree.outlet_node.size):
        free = chords + outlet
        target[free] = state.flow[nodes + free]
        if ends.is_open[outlet] and (state.flow[nodes + free] > 0.0 or state.residual[free] > 0.0):
            move = (rise[tree.outlet_node[outlet]] + state.residual[free]) / state.slope[nodes + free]
            if state.flow[nodes + free] > 0.0:
                move = bent(move, state.flow[nodes + free], state.loss[nodes + free], state.slope[nodes + free])
            target[free] += move


def change_chords(chains: Chains, tree: Tree, ends: Ends, state: State, work: Work) -> None:
    """Find how the chords' flows change: one equation a loop, from what a flow through each does to all heads."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    matrix, right, answer, demand, rise = work.matrix, work.change, work.answer, work.demand, work.rise
    for chord in range(chords):
        size = chains.usual_flow[nodes + chord]
        demand[tree.chord_from[chord]] += size
        demand[tree.chord_to[chord]] -= size
        fold(tree, ends, state, work, demand, answer)
        demand[:] = 0.0
        for node in range(nodes):
            answer[node] -= rise[node]
        for loop in range(chords):
            matrix[loop, chord] = (answer[tree.chord_to[loop]] - answer[tree.chord_from[loop]]) / size
        matrix[chord, chord] += state.slope[nodes + chord]
        right[chord] = rise[tree.chord_from[chord]] - rise[tree.chord_to[chord]] + state.residual[chord]
    eliminate(matrix, right)


def eliminate(matrix: Floats, right: Floats) -> None:
    """Solve linear equations in place by elimination with the largest pivot of each column (C. F. Gauss)."""
    size = right.size
    for k in range(size):
        best = k
        for row in range(k + 1, size):
            best = row if abs(matrix[row, k]) > abs(matrix[best, k]) else best
        for column in range(k, size):
            matrix[k, column], matrix[best, column] = matrix[best, column], matrix[k, column]
        right[k], right[best] = right[best], right[k]
        for row in range(k + 1, size):
            share = matrix[row, k] / matrix[k, k]
            for column in range(k + 1, size):
                matrix[row, column] -= share * matrix[k, column]
            right[row] -= share * right[k]
    for k in range(size - 1, -1, -1):
        for column in range(k + 1, size):
            right[k] -= matrix[k, column] * right[column]
        right[k] /= matrix[k, k]


def begin(chains: Chains, tree: Tree, ends: Ends, work: Work, head: Floats) -> None:
    """Aim where the water would run if no chord carried any and each loss went with the square of its flow.

    The square is that at 1 m/s. What hangs on a node is then about one opening at one level, whose flow is ``gives``
    times the root of the head above it, and with the link that feeds the node ``series`` times.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    gives, level, series, target = work.gives, work.yields, work.rise, work.target
    gives[:], level[:], target[:] = 0.0, 0.0, 0.0
    for outlet in range(tree.outlet_node.size):
        if ends.is_open[outlet]:
            node, chain = tree.outlet_node[outlet], nodes + chords + outlet
            opening = math.sqrt(chains.usual_flow[chain] / chains.usual_slope[chain])
            target[chords + outlet] = opening
            gives[node] += opening
            level[node] += opening * ends.elevation[outlet]
    for node in range(nodes - 1, -1, -1):
        if gives[node] > 0.0:
            level[node] /= gives[node]
            resistance = chains.usual_slope[node] / chains.usual_flow[node]
            series[node] = gives[node] / math.sqrt(1.0 + gives[node] * gives[node] * resistance)
            if node > 0:
                gives[tree.parent[node]] += series[node]
                level[tree.parent[node]] += series[node] * level[node]
    for node in range(nodes):
        if gives[node] > 0.0:
            share = series[node] / gives[node]
            above = head[tree.parent[node]] - level[node] if node else height_above(ends, level[0], series[0])
            head[node] = level[node] + max(above, 0.0) * share * share
    for outlet in range(tree.outlet_node.size):
        if ends.is_open[outlet]:
            above = head[tree.outlet_node[outlet]] - ends.elevation[outlet]
            target[chords + outlet] *= math.sqrt(max(above, 0.0))


def height_above(ends: Ends, level: float, opening: float) -> float:
    """Find about the head above a level that the pump holds if all that hangs on it is one opening there."""
    above = max(ends.sump_level + pump_head(ends, 0.0)[0] - level, 0.0)
    flow = opening * math.sqrt(above)
    for _ in range(_PUMP_ROUNDS if flow > 0.0 else 0):
        lift, steep = pump_head(ends, flow)
        left = ends.sump_level + lift - level - (flow / opening) * (flow / opening)
        flow = max(flow - left / (steep - 2.0 * flow / (opening * opening)), 0.0)
    return (flow / opening) * (flow / opening) if flow > 0.0 else 0.0


def step(chains: Chains, tree: Tree, ends: Ends, state: State, work: Work, unasked: float) -> tuple[float, float]:
    """Go towards the target, as far as is downhill; what is left over, and the largest move.

    The sum over all chains of the integral of loss over flow, less what the pump gives, is convex and
    smallest where the network balances; the residuals are its downhill slopes. A step that ends on the
    far side of the valley, more than half as steep as it began, is cut back, unless it moves every flow by less
    than the share ``unasked`` of it. Outlets stop at zero.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    before, pull, target = work.before, work.pull, work.target
    for k in range(before.size):
        before[k], pull[k] = state.flow[nodes + k], state.residual[k]
    part = 1.0
    while True:
        change, moved, gained, ahead = 0.0, 0.0, 0.0, 0.0
        for k in range(before.size):
            to = before[k] + part * (target[k] - before[k])
            if k >= chords:
                to = max(to, 0.0)
            state.flow[nodes + k] = to
            move = abs(to - before[k])
            change = max(change, move / (abs(to) + 1e-3 * chains.usual_flow[nodes + k]))
            moved = max(moved, move / (1e-6 * abs(to) + _SMALLEST_FLOW_M3_S))
            gained += pull[k] * (to - before[k])
        worst = evaluate(chains, tree, ends, state)
        for k in range(before.size):
            ahead += state.residual[k] * (state.flow[nodes + k] - before[k])
        if change < unasked or part < 1e-6 or (gained > 0.0 and ahead >= -0.5 * gained):
            return worst, moved
        part *= min(0.5, max(0.1, gained / (gained - ahead))) if gained > 0.0 else 0.5


def room_of(tree: Tree) -> int:
    """Count the numbers that Newton's method needs room for."""
    nodes, chords, free = tree.parent.size, tree.chord_from.size, tree.chord_from.size + tree.outlet_node.size
    return 2 * (nodes + free) + 4 * free + 5 * nodes + chords * (chords + 1)


def newton(
    chains: Chains,
    tree: Tree,
    ends: Ends,
    start: Floats,
    tolerance_m: float,
    flow: Floats,
    head: Floats,
    room: Floats,
) -> tuple[int, float]:
    """Find the flows of all chains and the heads of all nodes; the steps taken, the largest head left over.

    ``start`` holds free flows to begin from, or nothing; ``room`` as many numbers as `room_of` says, of any value.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    free = chords + tree.outlet_node.size
    by_chain = room[: 2 * flow.size].reshape((2, flow.size))
    rest = room[2 * flow.size :]
    by_free, rest = rest[: 4 * free].reshape((4, free)), rest[4 * free :]
    by_node, rest = rest[: 5 * nodes].reshape((5, nodes)), rest[5 * nodes :]
    state = State(flow, by_chain[0], by_chain[1], head, by_free[0])
    matrix = rest[chords:].reshape((chords, chords))
    work = Work(
        by_free[1],
        by_free[2],
        by_free[3],
        by_node[0],
        by_node[1],
        by_node[2],
        by_node[3],
        by_node[4],
        rest[:chords],
        matrix,
    )
    target = work.target
    if start.size == 0:
        begin(chains, tree, ends, work, head)
    else:
        for k in range(free):
            target[k] = start[k]
    for k in range(free):
        runs = k < chords or (ends.is_open[k - chords] and target[k] > 0.0)
        state.flow[nodes + k] = target[k] if runs else 0.0
    worst = evaluate(chains, tree, ends, state)
    steps = 0
    moved = 2.0
    while steps < _MOST_STEPS and (worst > tolerance_m or moved > 1.0):
        aim(chains, tree, ends, state, work)
        worst, moved = step(chains, tree, ends, state, work, _UNASKED if steps < _PATIENT_STEPS else 0.0)
        steps += 1
    return steps, worst

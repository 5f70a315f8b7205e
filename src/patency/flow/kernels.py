"""The numbers behind the flow: the friction law, the loss of a chain, and Newton's method on a network.

Everything here is plain Python over scalars and numpy arrays. ``machine_code.py`` compiles the same
functions, so they keep to what the compiler understands, and all of them stand in this one file because
the compiler's cache watches only the file of the function it was asked for.

Words: a *chain* is a row of segments that carries one flow, a link's or an outlet's. The links that
join each node to the sump make a *tree*; node i is fed by tree link i. The links left over are *chords*,
each closing one loop. Chains are numbered tree links, chords, outlets. The *free* flows are those of chords
and outlets: they fix all others, so that every iterate balances at every node.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

LAMINAR_TO = 2000.0  # Reynolds numbers between which the law interpolates
TURBULENT_FROM = 4000.0
_TWO_OVER_LN10 = 2.0 / math.log(10.0)
TERM_AT_4000 = 5.74 * TURBULENT_FROM**-0.9
_SMALLEST_FLOW_M3_S = 1e-13  # far below a microlitre per minute: what counts as no change of a flow
_SMALLEST_SLOPE = 1e-9  # of a chain's slope at 1 m/s: keeps a step finite where nothing flows
_NARROW_GAP = 0.01  # of an annulus: below this 1 - k the closed form loses digits and its series takes over
_MOST_STEPS = 200
# A step that moves every flow by less than this is taken without asking whether it leads downhill. Where thin gaps make
# such steps go round in a circle, none is taken unasked any more.
_UNASKED, _PATIENT_STEPS = 1e-2, 20


class Chains(NamedTuple):
    """Segments in rows, reduced to what the head loss needs: sum of f R q|q| + M q|q|."""

    start: Integers  # [chain + 1] where the segments of each chain begin
    reynolds_per_flow: Floats  # [segment] laminar-equivalent Reynolds number over flow, s/m3
    reynolds_power: Floats  # [segment] the same^-0.9
    friction: Floats  # [segment] R, so that the friction head is f R q|q|, s2/m5
    roughness: Floats  # [segment] relative roughness
    fixed: Floats  # [chain] M, the sum of all losses that do not depend on the Reynolds number, s2/m5
    usual_flow: Floats  # [chain] flow at 1 m/s in the narrowest segment, m3/s
    usual_slope: Floats  # [chain] loss over flow at the usual flow, s/m2


class Tree(NamedTuple):
    """How chains hang together."""

    parent: Integers  # [node] upstream node, smaller than the node itself; -1 for the sump
    chord_from: Integers  # [chord] node where a chord's positive flow enters
    chord_to: Integers  # [chord] node where it leaves
    outlet_node: Integers  # [outlet] node that feeds an outlet


class Ends(NamedTuple):
    """Heads at the ends of the network and the pump between them."""

    sump_level: float  # m
    pump_law: Floats  # [3] head at no flow, coefficient, exponent, at the pump's speed; unused with points
    pump_flow: Floats  # [point] flows of the pump's curve, m3/s; empty for a pump by law
    pump_head: Floats  # [point] heads of the pump's curve, m
    elevation: Floats  # [outlet] m
    is_open: NDArray[np.uint8]  # [outlet] 1 open, 0 closed


class State(NamedTuple):
    """Where the iteration stands; arrays that are filled in place."""

    flow: Floats  # [chain]
    loss: Floats  # [chain] head lost from end to end, the pump's head taken off in chain 0
    slope: Floats  # [chain] its derivative, with a floor
    head: Floats  # [node]
    residual: Floats  # [free] head left over along each free chain


def friction_factor_and_slope(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """Darcy friction factor f and Re df/dRe, for Re > 0."""
    if reynolds <= LAMINAR_TO:
        laminar = 64.0 / reynolds
        return laminar, -laminar
    return rough_factor_and_slope(reynolds, reynolds**-0.9, relative_roughness)


def rough_factor_and_slope(reynolds: float, power: float, relative_roughness: float) -> tuple[float, float]:
    """The same above the laminar region, with the Reynolds number to the power of -0.9 known."""
    term = 5.74 * power if reynolds >= TURBULENT_FROM else TERM_AT_4000
    inside = relative_roughness / 3.7 + term
    factor, slope = swamee_jain(math.log(inside), inside, term)
    return (factor, slope) if reynolds >= TURBULENT_FROM else between_regimes(reynolds, factor, slope)


def swamee_jain(logarithm: float, inside: float, term: float) -> tuple[float, float]:
    """Friction factor f and Re df/dRe of turbulent flow, from what stands in the law's logarithm."""
    inverse = 1.0 / (-_TWO_OVER_LN10 * logarithm * inside)
    root = inverse * inside
    factor = root * root
    return factor, -1.8 * _TWO_OVER_LN10 * factor * term * inverse


def cubic_between(factor: float, slope: float) -> tuple[float, float, float, float]:
    """Friction factor between laminar and turbulent flow as a cubic of Re/2000, from f and Re df/dRe at 4000."""
    fb = 2.0 * factor + slope
    return (
        7.0 * factor - fb,
        0.128 - 17.0 * factor + 2.5 * fb,
        -0.128 + 13.0 * factor - 2.0 * fb,
        0.032 - 3.0 * factor + 0.5 * fb,
    )


def between_regimes(reynolds: float, factor: float, slope: float) -> tuple[float, float]:
    """Friction factor f and Re df/dRe between laminar and turbulent flow, from those at Reynolds 4000."""
    r = reynolds * (1.0 / LAMINAR_TO)
    x1, x2, x3, x4 = cubic_between(factor, slope)
    return x1 + r * (x2 + r * (x3 + r * x4)), r * (x2 + r * (2.0 * x3 + r * 3.0 * x4))


def laminar_constant(diameter_ratio: float) -> float:
    """Laminar f Re of a concentric annulus with its hydraulic diameter, for a rod over tube between 0 and 1."""
    gap = 1.0 - diameter_ratio
    if gap < _NARROW_GAP:
        return 96.0 * (1.0 - gap * gap / 60.0 * (1.0 + gap + 121.0 / 140.0 * gap * gap))
    square = diameter_ratio * diameter_ratio
    return 64.0 * gap * gap / (1.0 + square + (1.0 - square) / math.log(diameter_ratio))


def chain_loss(chains: Chains, chain: int, flow: float) -> tuple[float, float]:
    """Head lost along a chain, and its derivative with the flow."""
    rows, found = slice(chain, chain + 1), np.empty((2, 1))
    own = chains._replace(start=chains.start[chain : chain + 2], fixed=chains.fixed[rows])
    chain_losses(own, np.array([flow]), found[0], found[1])
    return found[0, 0], found[1, 0]


def chain_losses(chains: Chains, flows: Floats, losses: Floats, slopes: Floats) -> None:
    """Head lost along every chain, and its derivative with the flow."""
    start, per_flow, power = chains.start, chains.reynolds_per_flow, chains.reynolds_power
    friction, roughness, fixed = chains.friction, chains.roughness, chains.fixed
    for chain in range(flows.size):
        size = abs(flows[chain])
        loss = fixed[chain] * size
        slope = 2.0 * loss
        size_power = 0.0  # one power for all segments of the chain
        for segment in range(start[chain], start[chain + 1]):
            if friction[segment] == 0.0:
                continue
            reynolds = per_flow[segment] * size
            if reynolds <= LAMINAR_TO:
                linear = 64.0 * friction[segment] / per_flow[segment]
                loss += linear
                slope += linear
                continue
            if size_power == 0.0:
                size_power = math.exp(-0.9 * math.log(size))  # quicker than a power
            factor, steep = rough_factor_and_slope(reynolds, power[segment] * size_power, roughness[segment])
            loss += factor * friction[segment] * size
            slope += (2.0 * factor + steep) * friction[segment] * size
        losses[chain] = loss * flows[chain]
        slopes[chain] = slope


def bent(step: float, flow: float, loss: float, slope: float) -> float:
    """Bend a straight step as a loss bends that goes with a power of the flow: to the third order."""
    if flow * loss == 0.0:
        return step
    inverse = 1.0 / (flow * loss)
    share, power = step * inverse * loss, slope * flow * inverse * flow
    longer = 1.0 + 0.5 * share * (1.0 - power) * (1.0 + share * (1.0 - 2.0 * power) * (1.0 / 3.0))
    return step * longer if (abs(share) < 0.3) & (power < 4.0) else step


def pump_head(ends: Ends, flow: float) -> tuple[float, float]:
    """Head the pump gives at a flow, and its derivative; beyond the last point along the last line."""
    return pump_curve(ends.pump_law, ends.pump_flow, ends.pump_head, flow)


def pump_curve(law: Floats, flows: Floats, heads: Floats, flow: float) -> tuple[float, float]:
    """The same from a law or, if there are any, from points."""
    if flows.size == 0:
        power = law[2] - 1.0
        steep = law[1] * (max(flow, 0.0) if power == 1.0 else max(flow, 0.0) ** power)
        return law[0] - steep * flow, -law[2] * steep
    place = 1
    while place < flows.size - 1 and flow > flows[place]:
        place += 1
    slope = (heads[place] - heads[place - 1]) / (flows[place] - flows[place - 1])
    return heads[place] + slope * (flow - flows[place]), slope


def run_out(ends: Ends) -> float:
    """Find the flow at which the pump's curve ends."""
    if ends.pump_flow.size:
        return float(ends.pump_flow[-1])
    if ends.pump_law[1] == 0.0:
        return np.inf
    return float((ends.pump_law[0] / ends.pump_law[1]) ** (1.0 / ends.pump_law[2]))


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


def fold(tree: Tree, ends: Ends, state: State, demand: Floats, rise: Floats) -> None:
    """Solve the linearised tree for the rise of its heads, with a change of demand at each node.

    From the leaves to the sump each subtree becomes one line, change of flow = a + b rise; back down the rises
    follow. Working with changes keeps digits where a jet of nearly no loss hangs on a lumen of nearly all.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    a = demand.copy()
    b = np.zeros(nodes)
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


def aim(chains: Chains, tree: Tree, ends: Ends, state: State, target: Floats) -> None:
    """Find the free flows that would solve the linearised network."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    rise = np.empty(nodes)
    demand = np.zeros(nodes)
    fold(tree, ends, state, demand, rise)
    if chords > 0:
        change = chord_changes(chains, tree, ends, state, rise)
        for chord in range(chords):
            demand[tree.chord_from[chord]] += change[chord]
            demand[tree.chord_to[chord]] -= change[chord]
            target[chord] = state.flow[nodes + chord] + change[chord]
        fold(tree, ends, state, demand, rise)
    for outlet in range(tree.outlet_node.size):
        free = chords + outlet
        target[free] = state.flow[nodes + free]
        if ends.is_open[outlet] and (state.flow[nodes + free] > 0.0 or state.residual[free] > 0.0):
            move = (rise[tree.outlet_node[outlet]] + state.residual[free]) / state.slope[nodes + free]
            if state.flow[nodes + free] > 0.0:
                move = bent(move, state.flow[nodes + free], state.loss[nodes + free], state.slope[nodes + free])
            target[free] += move


def chord_changes(chains: Chains, tree: Tree, ends: Ends, state: State, rise: Floats) -> Floats:
    """Find how the chords' flows change: one equation a loop, from what a flow through each does to all heads."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    matrix = np.empty((chords, chords))
    right = np.empty(chords)
    answer = np.empty(nodes)
    for chord in range(chords):
        size = chains.usual_flow[nodes + chord]
        demand = np.zeros(nodes)
        demand[tree.chord_from[chord]] += size
        demand[tree.chord_to[chord]] -= size
        fold(tree, ends, state, demand, answer)
        answer -= rise
        for loop in range(chords):
            matrix[loop, chord] = (answer[tree.chord_to[loop]] - answer[tree.chord_from[loop]]) / size
        matrix[chord, chord] += state.slope[nodes + chord]
        right[chord] = rise[tree.chord_from[chord]] - rise[tree.chord_to[chord]] + state.residual[chord]
    return np.linalg.solve(matrix, right).astype(np.float64)


def begin(chains: Chains, tree: Tree, ends: Ends, state: State) -> None:
    """Prepare the first step: every chain as a straight line through rest and its flow at 1 m/s."""
    nodes, chords = tree.parent.size, tree.chord_from.size
    shutoff = pump_head(ends, 0.0)[0]
    total = 0.0
    for outlet in range(tree.outlet_node.size):
        state.residual[chords + outlet] = 0.0
        if ends.is_open[outlet]:
            state.residual[chords + outlet] = ends.sump_level + shutoff - ends.elevation[outlet]
            total += chains.usual_flow[nodes + chords + outlet]
    state.residual[:chords] = 0.0
    state.flow[:] = 0.0
    state.slope[:] = chains.usual_slope
    if total > 0.0:
        state.slope[0] += (shutoff - pump_head(ends, total)[0]) / total


def step(chains: Chains, tree: Tree, ends: Ends, state: State, target: Floats, unasked: float) -> tuple[float, float]:
    """Go towards the target, as far as is downhill; what is left over, and the largest move.

    The sum over all chains of the integral of loss over flow, less what the pump gives, is convex and
    smallest where the network balances; the residuals are its downhill slopes. A step that ends on the
    far side of the valley, more than half as steep as it began, is cut back, unless it moves every flow by less
    than the share ``unasked`` of it. Outlets stop at zero.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    before = state.flow[nodes:].copy()
    pull = state.residual.copy()
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


def newton(
    chains: Chains, tree: Tree, ends: Ends, start: Floats, tolerance_m: float
) -> tuple[Floats, Floats, int, float]:
    """Find flows and heads: of all chains, of all nodes, the steps taken, the largest head left over.

    ``start`` holds free flows to begin from, or nothing.
    """
    nodes, chords = tree.parent.size, tree.chord_from.size
    free = chords + tree.outlet_node.size
    rows = np.empty((3, nodes + free))
    state = State(rows[0], rows[1], rows[2], np.empty(nodes), np.empty(free))
    target = np.empty(free)
    if start.size == 0:
        begin(chains, tree, ends, state)
        aim(chains, tree, ends, state, target)
    else:
        target[:] = start
    for outlet in range(tree.outlet_node.size):
        target[chords + outlet] = max(target[chords + outlet], 0.0) if ends.is_open[outlet] else 0.0
    state.flow[nodes:] = target
    worst = evaluate(chains, tree, ends, state)
    steps = 0
    moved = 2.0
    while steps < _MOST_STEPS and (worst > tolerance_m or moved > 1.0):
        aim(chains, tree, ends, state, target)
        worst, moved = step(chains, tree, ends, state, target, _UNASKED if steps < _PATIENT_STEPS else 0.0)
        steps += 1
    return state.flow, state.head, steps, worst


def friction_factors(chains: Chains, flow: Floats) -> Floats:
    """Darcy friction factor of every segment; not-a-number where nothing flows or nothing rubs."""
    factors = np.full(chains.friction.size, np.nan)
    for chain in range(flow.size):
        for segment in range(chains.start[chain], chains.start[chain + 1]):
            reynolds = chains.reynolds_per_flow[segment] * abs(flow[chain])
            if reynolds > 0.0 and chains.friction[segment] > 0.0:
                factors[segment] = friction_factor_and_slope(reynolds, chains.roughness[segment])[0]
    return factors

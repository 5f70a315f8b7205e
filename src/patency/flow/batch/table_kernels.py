"""Port faults by tables: what a node's outlets give at a head, what a link loses at a flow, for one scenario at a time.

Plain Python over arrays, like the other kernels. A table holds value and slope (over one step) at even steps, with
cubics between them (Hermite); row by row in one array of shape (rows, knots, 2). Over a head the steps are even in the
root of what drives the node's outlets, over which flows are nearly straight lines.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.kernels import Chains, Ends, Tree, chain_losses, pump_head

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]
    Bytes = NDArray[np.uint8]

HEAD, FLOW, LOSS, SLOPE, GIVES, YIELDS, SHARE, RISE, PLACE, PER_HEAD = range(
    10
)  # rows of a scenario's numbers at the nodes
_MOST_STEPS = 20
_SETTLED = 3e-6  # relative move of a head whose square is below the digits that count


class Tables(NamedTuple):
    """All tables of a network."""

    outlet: Floats  # [outlet, knot, 2] flow over the head at its node
    node: Floats  # [node, knot, 2] the sum of those that are open as compiled
    link: Floats  # [node, knot, 2] loss over flow of the link that feeds the node
    level: Floats  # [node] what the roots are taken from: the elevation of its highest outlet, m
    lowest: Floats  # [node] root at the first knot
    per_root: Floats  # [node] knots over root
    per_flow: Floats  # [node] knots over the link's flow, s/m3
    usable: Bytes  # [outlet] 0 for one so high that it would stay dry


def interpolate(table: Floats, row: int, place: float) -> tuple[float, float]:
    """Read value and slope at a place counted in steps; the slope is one over steps, as in the table."""
    cell = min(max(int(place), 0), table.shape[1] - 2)
    t = place - cell
    a, da, b, db = table[row, cell, 0], table[row, cell, 1], table[row, cell + 1, 0], table[row, cell + 1, 1]
    rise = b - a
    c2, c3 = 3.0 * rise - 2.0 * da - db, da + db - 2.0 * rise
    return a + t * (da + t * (c2 + t * c3)), da + t * (2.0 * c2 + 3.0 * t * c3)


def fill_outlets(chains: Chains, tree: Tree, ends: Ends, tables: Tables, start: Floats) -> bool:
    """Fill the outlets' tables by Newton's method from knot to knot; whether every knot was found."""
    nodes, knots = tree.parent.size, tables.outlet.shape[1]
    for outlet in range(tree.outlet_node.size):
        if not tables.usable[outlet]:
            continue
        node, chain = tree.outlet_node[outlet], nodes + outlet
        own = Chains(
            chains.start[chain : chain + 2],
            chains.reynolds_per_flow,
            chains.reynolds_power,
            chains.friction,
            chains.roughness,
            chains.fixed[chain : chain + 1],
            chains.usual_flow[chain : chain + 1],
        )
        flow, loss, slope = start[outlet : outlet + 1].copy(), np.empty(1), np.empty(1)
        for knot in range(knots - 1, -1, -1):
            root = tables.lowest[node] + knot / tables.per_root[node]
            head = tables.level[node] + root * root - ends.elevation[outlet]
            steep = 2.0 * root / tables.per_root[node]  # of the head over one step
            for _ in range(60):
                chain_losses(own, flow, loss, slope)
                move = (head - loss[0]) / slope[0]
                flow[0] = max(flow[0] + move, 0.1 * flow[0])
                if abs(move) <= 1e-14 * flow[0] or abs(head - loss[0]) <= 1e-14 * abs(head):
                    break
            chain_losses(own, flow, loss, slope)
            if not abs(head - loss[0]) <= 1e-12 * abs(head):
                return False
            tables.outlet[outlet, knot, 0] = flow[0]
            tables.outlet[outlet, knot, 1] = steep / slope[0]
            if ends.is_open[outlet]:
                tables.node[node, knot, 0] += flow[0]
                tables.node[node, knot, 1] += steep / slope[0]
    return True


def fill_links(chains: Chains, tree: Tree, tables: Tables) -> None:
    """Fill the links' tables."""
    knots = tables.link.shape[1]
    for node in range(tree.parent.size):
        own = Chains(
            chains.start[node : node + 2],
            chains.reynolds_per_flow,
            chains.reynolds_power,
            chains.friction,
            chains.roughness,
            chains.fixed[node : node + 1],
            chains.usual_flow[node : node + 1],
        )
        flow, loss, slope = np.empty(1), np.empty(1), np.empty(1)
        for knot in range(knots):
            flow[0] = knot / tables.per_flow[node]
            chain_losses(own, flow, loss, slope)
            tables.link[node, knot, 0], tables.link[node, knot, 1] = loss[0], slope[0] / tables.per_flow[node]


def look_up(
    parent: Integers,
    outlet_node: Integers,
    tables: tuple[Floats, Floats, Floats],
    scales: tuple[Floats, Floats, Floats, Floats],
    is_open: Bytes,
    changed: Integers,
    at_nodes: Floats,
) -> bool:
    """Take flows and losses at the heads from the tables; False where one lies outside."""
    of_outlet, of_node, of_link = tables
    level, lowest, per_root, per_flow = scales
    last = of_node.shape[1] - 1.0
    inside = True
    for node in range(parent.size):
        drives = at_nodes[HEAD, node] - level[node]
        root = math.sqrt(drives) if drives > 0.0 else 0.0
        place = (root - lowest[node]) * per_root[node]
        inside = inside and root > 0.0 and 0.0 <= place <= last
        at_nodes[PLACE, node] = place
        at_nodes[FLOW, node], steep = interpolate(of_node, node, place)
        at_nodes[PER_HEAD, node] = 0.5 * per_root[node] / root if root > 0.0 else 0.0
        at_nodes[YIELDS, node] = steep * at_nodes[PER_HEAD, node]
        at_nodes[GIVES, node] = 0.0
    for outlet in changed:
        node = outlet_node[outlet]
        own, steep = interpolate(of_outlet, outlet, at_nodes[PLACE, node])
        sign = 1.0 if is_open[outlet] else -1.0
        at_nodes[FLOW, node] += sign * own
        at_nodes[YIELDS, node] += sign * steep * at_nodes[PER_HEAD, node]
    for node in range(parent.size - 1, 0, -1):
        at_nodes[FLOW, parent[node]] += at_nodes[FLOW, node]
    for node in range(parent.size):
        place = at_nodes[FLOW, node] * per_flow[node]
        inside = inside and -1e-6 <= place <= last
        at_nodes[LOSS, node], steep = interpolate(of_link, node, place)
        at_nodes[SLOPE, node] = steep * per_flow[node]
    return inside


def raise_heads(parent: Integers, sump_level: float, at_nodes: Floats) -> float:
    """Take one step of Newton's method; the largest relative move of a head."""
    nodes = parent.size
    for node in range(nodes - 1, -1, -1):
        above = at_nodes[HEAD, parent[node]] if node else sump_level
        left = above - at_nodes[LOSS, node] - at_nodes[HEAD, node]
        at_nodes[LOSS, node] = left
        share = 1.0 / (1.0 + at_nodes[YIELDS, node] * at_nodes[SLOPE, node])
        at_nodes[SHARE, node] = share
        if node:
            at_nodes[GIVES, parent[node]] += share * (at_nodes[GIVES, node] + at_nodes[YIELDS, node] * left)
            at_nodes[YIELDS, parent[node]] += share * at_nodes[YIELDS, node]
    largest = 0.0
    for node in range(nodes):
        above = at_nodes[RISE, parent[node]] if node else 0.0
        pull = above + at_nodes[LOSS, node] - at_nodes[SLOPE, node] * at_nodes[GIVES, node]
        rise = pull * at_nodes[SHARE, node]
        at_nodes[RISE, node] = rise
        at_nodes[HEAD, node] += rise
        largest = max(largest, abs(rise) / (abs(at_nodes[HEAD, node]) + 1.0))
    return largest


def solve_faults(
    tree: Tree,
    ends: Ends,
    tables: Tables,
    start: Floats,
    is_open: Bytes,
    flows: Floats,
    heads: Floats,
    states: Bytes,
) -> None:
    """Solve scenarios that differ in which outlets are open; what leaves the tables gets the state 255."""
    nodes, outlets = tree.parent.size, tree.outlet_node.size
    at_nodes = np.empty((10, nodes))
    changed = np.empty(outlets, dtype=np.int64)
    compiled_open, parent, outlet_node = ends.is_open, tree.parent, tree.outlet_node
    of_outlet, level, lowest, per_root = tables.outlet, tables.level, tables.lowest, tables.per_root
    can_run = tables.usable
    three, scales = (of_outlet, tables.node, tables.link), (level, lowest, per_root, tables.per_flow)
    for scenario in range(flows.shape[0]):
        count = 0
        usable = True
        for outlet in range(outlets):
            changed[count] = outlet  # kept if the count moves on
            count += 1 if is_open[scenario, outlet] != compiled_open[outlet] else 0
            usable = usable and (can_run[outlet] or not is_open[scenario, outlet])
        at_nodes[HEAD, :] = start
        states[scenario] = 255
        for _ in range(_MOST_STEPS if usable else 0):
            if not look_up(parent, outlet_node, three, scales, is_open[scenario], changed[:count], at_nodes):
                break
            lift, steep = pump_head(ends, at_nodes[FLOW, 0])
            at_nodes[LOSS, 0] -= lift
            at_nodes[SLOPE, 0] -= steep
            if raise_heads(parent, ends.sump_level, at_nodes) < _SETTLED:
                states[scenario] = 0
                break
        for node in range(nodes):
            heads[scenario, node] = at_nodes[HEAD, node]
            flows[scenario, node] = 0.0
            root = math.sqrt(max(at_nodes[HEAD, node] - level[node], 0.0))
            at_nodes[PLACE, node] = (root - lowest[node]) * per_root[node]
        for outlet in range(outlets):
            node, own = outlet_node[outlet], 0.0
            if is_open[scenario, outlet]:
                own, _ = interpolate(of_outlet, outlet, at_nodes[PLACE, node])
            flows[scenario, nodes + outlet] = own
            flows[scenario, node] += own
        for node in range(nodes - 1, 0, -1):
            flows[scenario, parent[node]] += flows[scenario, node]

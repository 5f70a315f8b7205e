"""Fill the tables of port faults, once for a network: outlets and links by the law, the tree from its leaves on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.flow.batch.table_kernels import interpolate
from patency.flow.kernels import Chains, chain_losses

if TYPE_CHECKING:
    from patency.flow.batch.table_kernels import Floats, Tables
    from patency.flow.kernels import Ends, Tree

_MOST_ROUNDS = 100


def carry_on(table: Floats, row: int, place: float) -> tuple[float, float]:
    """Read the same, beyond the ends along straight lines."""
    inside = min(max(place, 0.0), table.shape[1] - 1.0)
    value, slope = interpolate(table, row, inside)
    return value + slope * (place - inside), slope


def one_chain(chains: Chains, chain: int) -> Chains:
    """Take one chain alone."""
    return Chains(
        chains.start[chain : chain + 2],
        chains.reynolds_per_flow,
        chains.reynolds_power,
        chains.friction,
        chains.roughness,
        chains.fixed[chain : chain + 1],
        chains.usual_flow[chain : chain + 1],
        chains.usual_slope[chain : chain + 1],
    )


def fill_outlets(chains: Chains, tree: Tree, ends: Ends, tables: Tables, start: Floats) -> bool:
    """Fill the outlets' tables by Newton's method from knot to knot; whether every knot was found."""
    nodes, knots = tree.parent.size, tables.outlet.shape[1]
    for outlet in range(tree.outlet_node.size):
        if not tables.usable[outlet]:
            continue
        node = tree.outlet_node[outlet]
        own = one_chain(chains, nodes + outlet)
        flow, loss, slope = start[outlet : outlet + 1].copy(), np.empty(1), np.empty(1)
        for knot in range(knots - 1, -1, -1):
            root = tables.lowest[node] + knot * tables.per_place[node]
            head = tables.level[node] + root * root - ends.elevation[outlet]
            steep = 2.0 * root * tables.per_place[node]  # of the head over one step
            for _ in range(_MOST_ROUNDS):
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
                tables.whole[node, knot, 0] += flow[0]
                tables.whole[node, knot, 1] += steep / slope[0]
    return True


def fill_links(chains: Chains, tree: Tree, tables: Tables) -> None:
    """Fill the links' tables."""
    knots = tables.link.shape[1]
    for node in range(tree.parent.size):
        own = one_chain(chains, node)
        flow, loss, slope = np.empty(1), np.empty(1), np.empty(1)
        for knot in range(knots):
            flow[0] = knot / tables.per_flow[node]
            chain_losses(own, flow, loss, slope)
            tables.link[node, knot, 0], tables.link[node, knot, 1] = loss[0], slope[0] / tables.per_flow[node]


def fill_subtrees(chains: Chains, tree: Tree, tables: Tables) -> bool:
    """Fill, from the leaves on, what hangs on each node over the place of the node above; whether all was found."""
    knots = tables.link.shape[1]
    level, lowest, per_place = tables.level, tables.lowest, tables.per_place
    loss, slope, flow = np.empty(1), np.empty(1), np.empty(1)
    for node in range(tree.parent.size - 1, 0, -1):
        above = tree.parent[node]
        own = one_chain(chains, node)
        place = knots - 1.0
        for knot in range(knots - 1, -1, -1):
            root = lowest[above] + knot * per_place[above]
            head = level[above] + root * root
            found = False
            for _ in range(_MOST_ROUNDS):
                flow[0], steep = carry_on(tables.whole, node, place)
                chain_losses(own, flow, loss, slope)
                here = lowest[node] + place * per_place[node]  # beyond the table it may change its sign
                left = head - loss[0] - level[node] - here * abs(here)
                rises = 2.0 * max(abs(here), 1e-6) * per_place[node]  # of the head over one step
                move = left / (rises + slope[0] * steep)
                found = abs(left) <= 1e-14 * abs(head) or abs(move) <= 1e-11
                if found:
                    break
                place += move
            if not found:
                return False
            share = rises + slope[0] * steep
            per_step = 2.0 * root * per_place[above] / share  # steps of this node over one of the node above
            tables.below[node, knot, 0], tables.below[node, knot, 1] = place, per_step
            tables.taken[node, knot, 0], tables.taken[node, knot, 1] = flow[0], steep * per_step
            tables.whole[above, knot, 0] += flow[0]
            tables.whole[above, knot, 1] += steep * per_step
    return True


def fill_tables(chains: Chains, tree: Tree, ends: Ends, tables: Tables, start: Floats) -> bool:
    """Fill all tables; whether every knot was found."""
    fill_links(chains, tree, tables)
    return fill_outlets(chains, tree, ends, tables, start) and fill_subtrees(chains, tree, tables)

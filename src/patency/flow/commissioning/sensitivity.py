"""What flows and heads of a solved network do when a chain loses a little more head: exact, without another solution.

At the solution every chain is a straight line, loss = slope times flow, and a small loss e added to chain k changes
all flows by G e. G is symmetric: what a loss in k does to the flow of j, a loss in j does to the flow of k. So one
right-hand side for each *observed* flow or head gives its derivative by the losses of *all* chains (the adjoint way).
In a tree that costs one pass from the leaves to the sump and one back, O(chains); loops need the linear system of
their free flows. Holds where a small change opens and dries no outlet and the pump stays on its piece of curve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.kernels import chain_loss, pump_head

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.solver import CompiledFlow

    Floats = NDArray[np.float64]


class Tangent(NamedTuple):
    """A solved network as straight lines."""

    compiled: CompiledNetwork
    flow: CompiledFlow
    slope: Floats  # [chain] head over flow, that of the pump taken off in chain 0
    runs: NDArray[np.bool_]  # [outlet] open and giving water


def tangent(compiled: CompiledNetwork, flow: CompiledFlow) -> Tangent:
    """Take the slopes of all chains at the solution.

    Parameters
    ----------
    compiled
        The network.
    flow
        Its solution.

    Returns
    -------
    Tangent
        The straight lines.
    """
    first = flow.flow_m3_s.size - compiled.outlets.is_open.size
    runs = (compiled.outlets.is_open == 1) & (flow.flow_m3_s[first:] > 0.0)
    slope = np.zeros(flow.flow_m3_s.size)  # that of outlets which give nothing is never asked for
    for chain in [*range(first), *(first + np.flatnonzero(runs))]:
        slope[chain] = chain_loss(compiled.chains, int(chain), float(flow.flow_m3_s[chain]))[1]
    slope[0] -= pump_head(compiled.ends, float(flow.flow_m3_s[0]))[1]
    return Tangent(compiled, flow, slope, runs)


def flow_changes(lines: Tangent, losses: Floats) -> Floats:
    """Find how all flows change with small losses added to the chains.

    Parameters
    ----------
    lines
        The solved network as straight lines.
    losses
        Shape (chains, cases): head lost on top in each chain, away from the sump [m].

    Returns
    -------
    NDArray
        Shape (chains, cases): changes of the flows [m³/s]; 0 for outlets that are closed or dry.
    """
    if lines.compiled.tree.chord_from.size:
        return _through_loops(lines, losses)
    return _through_tree(lines, losses)


def _through_tree(lines: Tangent, losses: Floats) -> Floats:
    """Fold each subtree to one line, change of flow = a + b times rise of head, and unfold it from the sump."""
    tree, slope = lines.compiled.tree, lines.slope
    nodes = tree.parent.size
    a = np.zeros((nodes, losses.shape[1]))
    b = np.zeros(nodes)
    running = np.flatnonzero(lines.runs)
    for outlet in running:
        chain, node = nodes + outlet, tree.outlet_node[outlet]
        a[node] -= losses[chain] / slope[chain]
        b[node] += 1.0 / slope[chain]
    for node in range(nodes - 1, 0, -1):
        share = 1.0 / (1.0 + b[node] * slope[node])
        a[tree.parent[node]] += (a[node] - b[node] * losses[node]) * share
        b[tree.parent[node]] += b[node] * share
    changes = np.zeros_like(losses)
    rise = np.zeros_like(a)
    for node in range(nodes):
        above = rise[tree.parent[node]] if node else 0.0
        changes[node] = (a[node] + b[node] * (above - losses[node])) / (1.0 + b[node] * slope[node])
        rise[node] = above - slope[node] * changes[node] - losses[node]
    for outlet in running:
        chain = nodes + outlet
        changes[chain] = (rise[tree.outlet_node[outlet]] - losses[chain]) / slope[chain]
    return changes


def _through_loops(lines: Tangent, losses: Floats) -> Floats:
    """Solve for the free flows, those of chords and running outlets, which fix all others."""
    ways = free_ways(lines)
    matrix = ways.T @ (lines.slope[:, None] * ways)
    return np.asarray(-ways @ np.linalg.solve(matrix, ways.T @ losses))


def free_ways(lines: Tangent) -> Floats:
    """Say which chains a unit of each free flow runs through.

    Parameters
    ----------
    lines
        The solved network as straight lines.

    Returns
    -------
    NDArray
        Shape (chains, free flows): 1, -1 or 0; first the chords, then the outlets that give water.
    """
    tree = lines.compiled.tree
    nodes, chords = tree.parent.size, tree.chord_from.size
    running = np.flatnonzero(lines.runs)
    ways = np.zeros((lines.slope.size, chords + running.size))
    for chord in range(chords):
        ways[nodes + chord, chord] = 1.0
        ways[path_to(lines.compiled, int(tree.chord_from[chord])), chord] += 1.0
        ways[path_to(lines.compiled, int(tree.chord_to[chord])), chord] -= 1.0
    for column, outlet in enumerate(running, start=chords):
        ways[nodes + chords + outlet, column] = 1.0
        ways[path_to(lines.compiled, int(tree.outlet_node[outlet])), column] = 1.0
    return ways


def path_to(compiled: CompiledNetwork, node: int) -> list[int]:
    """List the tree's chains between the sump and a node.

    Parameters
    ----------
    compiled
        The network.
    node
        Row of the node.

    Returns
    -------
    list[int]
        Rows of the chains, from the node up.
    """
    path = []
    while node >= 0:
        path.append(node)
        node = int(compiled.tree.parent[node])
    return path


def loss_gradients(lines: Tangent, chains: list[int], nodes: list[int]) -> tuple[Floats, Floats]:
    """Find the derivatives of observed flows and heads by the losses of all chains.

    Parameters
    ----------
    lines
        The solved network as straight lines.
    chains
        Rows of the chains whose flow is observed.
    nodes
        Rows of the nodes whose head is observed.

    Returns
    -------
    tuple
        Of the flows, shape (observed chains, chains) [m³/s per m]; of the heads, shape (observed nodes, chains) [-].
    """
    seen = np.zeros((lines.slope.size, len(chains) + len(nodes)))
    seen[chains, range(len(chains))] = 1.0
    paths = [path_to(lines.compiled, node) for node in nodes]
    for column, path in enumerate(paths, start=len(chains)):
        seen[path, column] = -lines.slope[path]  # a head falls by what its path loses: slope times flow, and e itself
    gradients = flow_changes(lines, seen).T
    for row, path in enumerate(paths, start=len(chains)):
        gradients[row, path] -= 1.0
    return gradients[: len(chains)], gradients[len(chains) :]

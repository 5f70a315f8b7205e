"""Derivatives by the losses of all chains are those of finite differences, folded in a tree or solved for loops."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from patency.flow import Network, PumpLaw, compile_network
from patency.flow.commissioning.sensitivity import (
    _through_loops,
    _through_tree,
    flow_changes,
    loss_gradients,
    path_to,
    tangent,
)
from patency.flow.solver import solve_compiled
from tests.flow.random_networks import random_networks

NETWORKS = [network for network in random_networks(11, 60) if isinstance(network.pump, PumpLaw)]
TREES = [network for network in NETWORKS if compile_network(network).tree.chord_from.size == 0][:8]
LOOPED = [network for network in NETWORKS if compile_network(network).tree.chord_from.size > 0][:8]


def with_loss(network: Network, chain: int, head_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Flows and heads after a chain of the network lost a little more head, as a local loss at its flow."""
    compiled = compile_network(network)
    flow = solve_compiled(compiled)
    row = int(compiled.segment_start[chain])
    while compiled.geometry.discharge_coefficient[row] > 0.0:
        row += 1
    velocity = abs(flow.flow_m3_s[chain]) / compiled.area_m2[row]
    minor = compiled.geometry.minor_loss.copy()
    minor[row] += head_m * 2.0 * compiled.gravity_m_s2 / velocity**2
    changed = solve_compiled(compiled.with_changes(geometry=compiled.geometry._replace(minor_loss=minor)))
    return changed.flow_m3_s, changed.head_m


@pytest.mark.parametrize("network", [*TREES[:4], *LOOPED[:4]])
def test_flows_and_heads_change_as_a_second_solution_shows(network: Network) -> None:
    compiled = compile_network(network)
    flow = solve_compiled(compiled)
    lines = tangent(compiled, flow)
    widest = int(np.argmax(flow.flow_m3_s[1 : compiled.tree.parent.size])) + 1
    if np.any(compiled.geometry.discharge_coefficient[compiled.rows(compiled.chain_names[widest])] > 0.0):
        widest = 0
    step = 1e-5 * abs(float(lines.slope[widest] * flow.flow_m3_s[widest]))
    sign = float(np.sign(flow.flow_m3_s[widest]))
    losses = np.zeros((flow.flow_m3_s.size, 1))
    losses[widest] = sign
    predicted = flow_changes(lines, losses)[:, 0] * step
    flows, heads = with_loss(network, widest, step)
    size = np.abs(predicted).max()
    assert flows - flow.flow_m3_s == pytest.approx(predicted, abs=2e-4 * size)
    nodes = list(range(compiled.tree.parent.size))
    _, by_head = loss_gradients(lines, [], nodes)
    change = by_head[:, widest] * sign * step
    assert heads - flow.head_m == pytest.approx(change, abs=2e-4 * float(np.abs(change).max()))


@pytest.mark.parametrize("network", TREES)
def test_folding_a_tree_gives_what_its_linear_system_gives(network: Network) -> None:
    compiled = compile_network(network)
    lines = tangent(compiled, solve_compiled(compiled))
    losses = np.random.default_rng(3).normal(size=(lines.slope.size, 5))
    folded, solved = _through_tree(lines, losses), _through_loops(lines, losses)
    assert folded == pytest.approx(solved, abs=1e-9 * float(np.abs(solved).max()))


@pytest.mark.parametrize("network", [TREES[0], LOOPED[0]])
def test_what_a_loss_in_one_chain_does_to_another_the_other_does_to_it(network: Network) -> None:
    compiled = compile_network(network)
    lines = tangent(compiled, solve_compiled(compiled))
    response = flow_changes(lines, np.eye(lines.slope.size))
    assert response == pytest.approx(response.T, abs=1e-12 * float(np.abs(response).max()))
    assert np.all(np.diag(response) <= 0.0)


def test_closed_and_dry_outlets_do_not_change() -> None:
    compiled = compile_network(next(n for n in TREES if any(o.state == "closed" for o in n.outlets)))
    lines = tangent(compiled, solve_compiled(compiled))
    response = flow_changes(lines, np.eye(lines.slope.size))
    still = np.flatnonzero(~lines.runs) + lines.slope.size - lines.runs.size
    assert still.size > 0
    assert np.all(response[still] == 0.0)
    assert np.all(response[:, still] == 0.0)


def test_a_path_leads_from_a_node_to_the_sump() -> None:
    compiled = compile_network(TREES[0])
    path = path_to(compiled, compiled.tree.parent.size - 1)
    assert path[-1] == 0
    assert all(compiled.tree.parent[below] == above for below, above in pairwise(path))

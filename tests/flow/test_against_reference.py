"""The solver against the slow dense one that shares no code with it."""

from __future__ import annotations

import pytest

from patency.flow import Network, solve
from patency.flow.compiled_network import water_state
from patency.flow.machine_code import Kernel
from tests.flow.random_networks import random_networks
from tests.reference.water_paths import reference_flows

NETWORKS = random_networks(11, 40, dry_share=0.2)


@pytest.mark.parametrize("network", NETWORKS, ids=range(len(NETWORKS)))
def test_flows_heads_and_dry_outlets_agree(network: Network) -> None:
    flows, heads = reference_flows(network, water_state(network.water).kinematic_viscosity_m2_s)
    result = solve(network, Kernel.INTERPRETED)
    for outlet in network.outlets:
        assert (flows[outlet.id] == 0) == (result.flows_m3_s[outlet.id] == 0)
        assert result.flows_m3_s[outlet.id] == pytest.approx(flows[outlet.id], rel=1e-8, abs=1e-14)
    for link in network.links:
        assert result.flows_m3_s[link.id] == pytest.approx(flows[link.id], abs=1e-13)
    for node, head in result.heads_m.items():
        assert heads[node] == pytest.approx(head, abs=1e-10)

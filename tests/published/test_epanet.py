"""The solver against the EPANET 2.2 engine (US EPA, 2020), through the toolkit that the wntr package carries.

300 invented networks, half of them with one to four loops, 1 to 25 nodes, 1 to 70 outlets, lumens and gaps from
0.3 to 12 mm, nozzles to 8 mm, water from 5 to 95 °C, pumps by law and by points, some outlets capped, some too
high. How the two are made to solve the same equations stands in `epanet_engine.py`.

Agreement reached: every outlet above 1 mL/min within 2.3e-9 of its flow (7,766 outlets running; median of the
networks' worst 1e-11), every node's head within 2e-10 m. The worst are outlets with a few hundredths of a
millimetre of head to drive them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from patency.flow import solve
from tests.flow.random_networks import random_networks
from tests.published.epanet_engine import Engine, input_text, not_running

NETWORKS = random_networks(2024, 300)
ONE_ML_MIN = 1e-6 / 60


@pytest.mark.slow
def test_300_networks_agree_with_the_engine_at_every_outlet_above_1_ml_min(tmp_path: Path) -> None:
    compared = 0
    for place, network in enumerate(NETWORKS):
        ours = solve(network)
        without = not_running(network.outlets, ours.dry_outlets)
        engine = Engine(input_text(network, without), tmp_path)
        engine.solve()
        running = [o.id for o in network.outlets if o.id not in without and ours.flows_m3_s[o.id] > ONE_ML_MIN]
        theirs, heads = engine.flows_m3_s(running), engine.heads_m(ours.heads_m)
        engine.close()
        worst = max((abs(theirs[name] / ours.flows_m3_s[name] - 1) for name in running), default=0.0)
        assert worst < 1e-7, f"network {place}"
        for node, head in ours.heads_m.items():
            assert heads[node] == pytest.approx(head, abs=1e-8), f"network {place}, node {node}"
        for outlet in network.outlets:  # what we call dry, the engine's heads leave dry
            assert outlet.id not in ours.dry_outlets or heads[outlet.node] <= outlet.elevation_m + 1e-8
        compared += len(running)
    assert compared > 5000


def test_the_networks_hold_what_they_are_meant_to_hold() -> None:
    outlets = [outlet for network in NETWORKS for outlet in network.outlets]
    segments = [segment for outlet in outlets for segment in outlet.segments]
    bores = [segment.diameter_m for segment in segments if segment.shape == "bore"]
    assert len(NETWORKS) == 300
    assert sum(any(link.id.startswith("C") for link in network.links) for network in NETWORKS) > 120
    assert {segment.shape for segment in segments} == {"bore", "annulus", "orifice"}
    assert min(bores) < 0.31e-3
    assert max(bores) > 11.5e-3
    assert {outlet.state for outlet in outlets} == {"open", "closed"}
    assert {hasattr(network.pump, "points") for network in NETWORKS} == {True, False}

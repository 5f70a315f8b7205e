"""Networks of real size for the benchmarks of flow: loads of the demo's day side by side behind one stronger pump.

Every port of a load is there with its hose, its adapters and the lumens behind it, beside the machine's arms, nozzles
and rails: five to six segments for each port. What no water runs through is closed, for the engine lets the outside in
there, and annuli become bores of their gap's width, so that one diameter of ours is one of the engine's.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.flow import SUMP, Bore, Link, Network, Orifice, PumpLaw, network_of_load, solve
from tests.demo.larkmere import hand_made_load, larkmere

if TYPE_CHECKING:
    from patency.flow import Outlet, Pump, Segment

LOADS = {"70 ports": ("L1", "L2"), "150 ports": ("D1", "D1", "D1", "D1", "D1")}  # 35 ports each, 30 ports each
STAGE = "cleaning"
_ROUGH_M = 1e-9  # where there is none: the engine's usual reader takes no smooth pipes


def joined_loads(names: tuple[str, ...]) -> Network:
    """Return the networks of some loads in one stage, joined behind one pump, with names the engine reads."""
    header = Bore(diameter_m=0.06, length_m=0.2, roughness_m=1.5e-6, minor_loss=0.0)
    links = [Link(id="header", from_node=SUMP, to_node="header", segments=(header,))]
    outlets: list[Outlet] = []
    department = larkmere()
    for place, name in enumerate(names):
        load = hand_made_load(name)
        stages = department.programmes[load.programme].stages
        stage = next(stage for stage in stages if stage.name == STAGE)
        network = network_of_load(department, load, stage).network
        node = {SUMP: "header"}
        for link in network.links:
            for end in (link.from_node, link.to_node):
                node.setdefault(end, f"N{place}.{len(node)}")
        links.extend(
            Link(
                id=f"L{place}.{row}",
                from_node=node[link.from_node],
                to_node=node[link.to_node],
                segments=plain(link.segments),
            )
            for row, link in enumerate(network.links)
        )
        outlets.extend(
            replace(outlet, id=f"P{place}.{row}", node=node[outlet.node], segments=plain(outlet.segments))
            for row, outlet in enumerate(network.outlets)
        )
    joined = Network(
        water=network.water, pump=stronger(network.pump, len(names)), links=tuple(links), outlets=tuple(outlets)
    )
    dry = set(solve(joined).dry_outlets)
    return replace(joined, outlets=tuple(replace(o, state="closed") if o.id in dry else o for o in outlets))


def stronger(pump: Pump, times: int) -> Pump:
    """Return a pump that gives several times the flow at the same head."""
    if isinstance(pump, PumpLaw):
        return replace(pump, coefficient=pump.coefficient / times**pump.exponent)
    return replace(pump, points=tuple((flow * times, head) for flow, head in pump.points))


def plain(segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """Return segments with annuli as bores, and orifices only where they stand alone."""

    def bore(segment: Segment) -> Segment:
        if isinstance(segment, Orifice):
            return segment
        if isinstance(segment, Bore):
            return replace(segment, roughness_m=max(segment.roughness_m, _ROUGH_M))
        return Bore(
            diameter_m=segment.outer_diameter_m - segment.inner_diameter_m,
            length_m=segment.length_m,
            roughness_m=max(segment.roughness_m, _ROUGH_M),
            minor_loss=segment.minor_loss,
        )

    alone = len(segments) == 1
    return tuple(bore(segment) for segment in segments if alone or not isinstance(segment, Orifice))

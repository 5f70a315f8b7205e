"""Invented networks for tests: trees and loops, lumens from 0.3 to 12 mm, every kind of segment."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from patency.flow import (
    Annulus,
    Bore,
    Link,
    Network,
    Orifice,
    Outlet,
    Pump,
    PumpLaw,
    PumpPoints,
    Segment,
    Water,
)


def between(chance: np.random.Generator, low: float, high: float) -> float:
    """A number between two, even in its logarithm."""
    return float(np.exp(chance.uniform(np.log(low), np.log(high))))


def random_segment(chance: np.random.Generator) -> Segment:
    """A bore or annulus with a passage of 0.3 to 12 mm."""
    diameter = between(chance, 0.3e-3, 12e-3)
    length = between(chance, 0.01, 0.6)
    minor_loss = float(chance.choice([0.0, 0.5, 1.5]))
    if chance.random() < 0.2:
        wide = float(np.maximum(diameter, 1.5e-3))
        rod = wide * float(chance.uniform(0.2, 0.9))
        roughness = between(chance, 1e-7, 1e-6)
        return Annulus(
            outer_diameter_m=wide, inner_diameter_m=rod, length_m=length, roughness_m=roughness, minor_loss=minor_loss
        )
    roughness = float(chance.choice([0.0, 1.5e-6, 5e-6]))
    return Bore(diameter_m=diameter, length_m=length, roughness_m=roughness, minor_loss=minor_loss)


def random_orifice(chance: np.random.Generator) -> Orifice:
    """A nozzle or a side hole."""
    return Orifice(diameter_m=between(chance, 0.8e-3, 8e-3), discharge_coefficient=float(chance.uniform(0.5, 0.95)))


def random_outlet(chance: np.random.Generator, name: str, node: str, *, dry_share: float) -> Outlet:
    """An outlet: a nozzle, or a hose with one to four segments behind it; some of them capped or too high."""
    hose = Bore(diameter_m=between(chance, 2e-3, 6e-3), length_m=0.3, roughness_m=2e-6, minor_loss=0.8)
    nozzle = chance.random() < 0.25
    segments = (
        (random_orifice(chance),) if nozzle else (hose, *(random_segment(chance) for _ in range(chance.integers(1, 4))))
    )
    high = chance.random() < dry_share
    return Outlet(
        id=name,
        node=node,
        state="closed" if chance.random() < 0.1 else "open",
        elevation_m=float(chance.uniform(2.0, 9.0) if high else chance.uniform(-0.1, 0.6)),
        exit_loss=float(chance.choice([1.0, 1.0, 2.0])),
        segments=segments,
    )


def random_pump(chance: np.random.Generator) -> Pump:
    """A pump of about half a bar, by a law or by points on the same law."""
    head, most, exponent = chance.uniform(3.0, 8.0), between(chance, 1e-4, 1.2e-2), chance.uniform(1.4, 2.2)
    speed = float(chance.uniform(0.6, 1.1))
    if chance.random() < 0.2:
        points = tuple((float(most * x), float(head * (1 - x**exponent))) for x in np.linspace(0.0, 1.0, 7))
        return PumpPoints(points=points, relative_speed=speed)
    return PumpLaw(
        shutoff_head_m=float(head),
        coefficient=float(head / most**exponent),
        exponent=float(exponent),
        relative_speed=speed,
    )


def random_network(
    chance: np.random.Generator, *, nodes: int, outlets: int, loops: int = 0, dry_share: float = 0.1
) -> Network:
    """A manifold of pipes from 4 to 50 mm that feeds outlets; each loop is one link more between two nodes.

    Some links hold a restrictor or a rod.
    """

    def pipe(low: float, high: float) -> Bore:
        return Bore(
            diameter_m=between(chance, low, high),
            length_m=between(chance, 0.05, 0.8),
            roughness_m=float(chance.choice([1.5e-6, 2e-5])),
            minor_loss=float(chance.uniform(0.0, 2.0)),
        )

    def branch() -> tuple[Segment, ...]:
        kind = chance.random()
        if kind < 0.1:
            return pipe(8e-3, 40e-3), Orifice(diameter_m=between(chance, 4e-3, 8e-3), discharge_coefficient=0.61)
        if kind < 0.15:
            gap = Annulus(
                outer_diameter_m=20e-3,
                inner_diameter_m=float(chance.uniform(2e-3, 15e-3)),
                length_m=0.3,
                roughness_m=1.5e-6,
                minor_loss=0.5,
            )
            return gap, pipe(8e-3, 40e-3)
        return (pipe(4e-3, 40e-3),)

    links = [Link(id="L0", from_node="SUMP", to_node="N0", segments=(pipe(30e-3, 50e-3),))]
    for node in range(1, nodes):
        ends = [f"N{chance.integers(max(0, node - 6), node)}", f"N{node}"]
        if chance.random() < 0.3:
            ends.reverse()  # written against the flow
        links.append(Link(id=f"L{node}", from_node=ends[0], to_node=ends[1], segments=branch()))
    for loop in range(loops if nodes > 1 else 0):
        start, end = chance.choice(nodes, size=2, replace=False)
        links.append(Link(id=f"C{loop}", from_node=f"N{start}", to_node=f"N{end}", segments=branch()))
    feet = [
        random_outlet(chance, f"P{k}", f"N{chance.integers(0, nodes)}", dry_share=dry_share) for k in range(outlets)
    ]
    return Network(
        water=Water(temperature_c=float(chance.uniform(5.0, 95.0))),
        pump=random_pump(chance),
        links=tuple(links),
        outlets=tuple(feet),
    )


def network_of_thin_gaps(chance: np.random.Generator, narrowest_m: float, widest_m: float) -> Network:
    """A network no instrument has: a quarter of its links and some outlets begin with a gap so thin, many are jets."""

    def gap() -> Annulus:
        wide = between(chance, 1.5e-3, 20e-3)
        rod = wide - between(chance, narrowest_m, widest_m)
        length = between(chance, 0.01, 0.6)
        return Annulus(outer_diameter_m=wide, inner_diameter_m=rod, length_m=length, roughness_m=0.0, minor_loss=0.5)

    nodes, outlets, loops = int(chance.integers(1, 26)), int(chance.integers(1, 71)), int(chance.integers(0, 5))
    dry_share = float(chance.choice([0.0, 0.1, 0.3, 0.5]))
    network = random_network(chance, nodes=nodes, outlets=outlets, loops=loops, dry_share=dry_share)
    links = [
        replace(link, segments=(gap(), *link.segments)) if place and chance.random() < 0.25 else link
        for place, link in enumerate(network.links)
    ]
    feet = []
    for outlet in network.outlets:
        if chance.random() < 0.4:
            feet.append(replace(outlet, segments=(random_orifice(chance),)))
        else:
            thin = chance.random() < 0.2
            feet.append(replace(outlet, segments=(gap(), *outlet.segments)) if thin else outlet)
    return replace(network, links=tuple(links), outlets=tuple(feet))


def random_networks(seed: int, count: int, *, dry_share: float = 0.1) -> list[Network]:
    """Networks of all sizes up to 25 nodes and 70 outlets; every second one has loops."""
    chance = np.random.default_rng(seed)
    networks = []
    for k in range(count):
        nodes, outlets = int(chance.integers(1, 26)), int(chance.integers(1, 71))
        loops = int(chance.integers(1, 5)) if k % 2 else 0
        networks.append(random_network(chance, nodes=nodes, outlets=outlets, loops=loops, dry_share=dry_share))
    return networks

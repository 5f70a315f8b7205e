"""The slow, obvious way to a fault: write its network out by names, compile it anew, solve it from rest."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from patency.flow import Annulus, Network, Orifice, compile_network
from patency.flow.readings import Gauge, Readings
from patency.flow.solver import solve_compiled
from patency.flow.uncertainty import lying_rod_factor

if TYPE_CHECKING:
    from patency.flow import CompiledNetwork, Link, Outlet, Segment
    from patency.flow.faults.fault import NetworkChange
    from patency.flow.faults.listing import FaultList
    from patency.flow.solved_load import SolvedLoad
    from patency.flow.solver import CompiledFlow
    from patency.flow.stage_solution import StageSolution


def faulty_network(faults: FaultList, stage: StageSolution, change: NetworkChange) -> Network:
    """Write out the network of one fault, with what developing flow costs and side holes see as planned."""
    developed = {
        name: stage.compiled.geometry.minor_loss[stage.compiled.rows(name)] for name in stage.compiled.chain_names
    }
    first = len(stage.compiled.chain_names) - stage.compiled.outlets.is_open.size
    heights = dict(zip(stage.compiled.chain_names[first:], stage.compiled.outlets.elevation_m, strict=True))
    paths: tuple[Link | Outlet, ...] = (*faults.network.links, *faults.network.outlets)
    nominal = {
        path.id: [0.0 if isinstance(part, Orifice) else part.minor_loss for part in path.segments] for path in paths
    }

    def segments(name: str, written: tuple[Segment, ...]) -> tuple[Segment, ...]:
        found = []
        for place, segment in enumerate(written):
            here = change.segments.get((name, place), segment)
            if name in developed and not isinstance(here, Orifice):
                added = float(developed[name][place]) - nominal[name][place]
                here = replace(here, minor_loss=here.minor_loss + added)
            if (name, place) in change.lying_rods:
                assert isinstance(here, Annulus)
                here = replace(here, length_m=here.length_m * rod_factor(stage, (name, place)))
            found.append(here)
        return tuple(found)

    network = faults.network
    return replace(
        network,
        pump=replace(stage.compiled.pump, relative_speed=stage.compiled.pump.relative_speed * change.pump_speed),
        water=replace(
            network.water,
            temperature_c=stage.temperature_c,
        ),
        links=tuple(replace(link, segments=segments(link.id, link.segments)) for link in network.links),
        outlets=tuple(
            replace(
                outlet,
                segments=segments(outlet.id, outlet.segments),
                elevation_m=float(heights.get(outlet.id, outlet.elevation_m)),
                state="open" if outlet.id in change.opens else "closed" if outlet.id in change.closes else outlet.state,
            )
            for outlet in network.outlets
        ),
    )


def rod_factor(stage: StageSolution, place: tuple[str, int]) -> float:
    """Say by how much a rod that lies against the wall lowers the friction, as planned."""
    row = stage.compiled.rows(place[0]).start + place[1]
    return lying_rod_factor(float(stage.equivalent_reynolds[row]), float(stage.compiled.chains.roughness[row]))


def solved_from_scratch(
    solved: SolvedLoad, faults: FaultList, stage: StageSolution, change: NetworkChange
) -> tuple[Readings, CompiledNetwork, CompiledFlow]:
    """Solve and read one fault."""
    network = faulty_network(faults, stage, change)
    compiled = compile_network(network)
    flow = solve_compiled(compiled)
    lumens = {key: change.moved.get(key, path) for key, path in solved.network.lumens.items()}
    gauge = Gauge(replace(solved.network, lumens=lumens), compiled)
    friction = np.ones(compiled.geometry.length_m.size)
    for place in change.lying_rods:
        friction[compiled.rows(place[0]).start + place[1]] = rod_factor(stage, place)
    return gauge.read(compiled, flow, friction), compiled, flow

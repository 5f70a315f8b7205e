"""The pressure along a carrier's manifold: from the dock through every circuit, place by place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.flow.carrier_paths import DOCK, SAME_PLACE_M, branch_places_m, circuit_node

if TYPE_CHECKING:
    from patency.catalogue import Carrier
    from patency.flow.solved_load import SolvedLoad


@dataclass(frozen=True, slots=True)
class ManifoldPlace:
    """A place along a circuit.

    Parameters
    ----------
    distance_m
        Length of the pipes from the dock to here, inlets included [m].
    pressure_pa
        Total pressure of the water in the pipe, its velocity head included, reckoned at the level of the sump's water
        [Pa].
    ports
        The ports that branch off here; none where the circuit begins or another circuit branches off.
    """

    distance_m: float
    pressure_pa: float
    ports: tuple[str, ...]


def pressure_along_manifold(carrier: Carrier, solved: SolvedLoad, stage: str) -> dict[str, tuple[ManifoldPlace, ...]]:
    """Read the pressure along every circuit of a carrier.

    Parameters
    ----------
    carrier
        The load's carrier.
    solved
        The solved load.
    stage
        One of its wet stages.

    Returns
    -------
    dict[str, tuple[ManifoldPlace, ...]]
        Circuit to its places: where it is fed, then every place where something branches off, away from the dock. At
        nominal sizes.
    """
    solution = solved.stages[stage]
    compiled = solution.compiled
    weight = compiled.water.density_kg_m3 * compiled.gravity_m_s2
    pressures = {
        node: weight * (float(head) - compiled.pump.sump_level_m)
        for node, head in zip(compiled.node_names, solution.flow.head_m, strict=True)
    }

    def along(name: str) -> tuple[ManifoldPlace, ...]:
        circuit = carrier.circuits[name]
        fed_at_m = _distance_m(carrier, circuit.fed_from, circuit.branches_at_m)
        fed_by = circuit_node(carrier, circuit.fed_from, circuit.branches_at_m)
        begins = ManifoldPlace(fed_at_m, pressures[fed_by], ())
        return begins, *(
            ManifoldPlace(
                _distance_m(carrier, name, place),
                pressures[circuit_node(carrier, name, place)],
                _ports_at(carrier, name, place),
            )
            for place in branch_places_m(carrier, name)
        )

    return {name: along(name) for name in carrier.circuits}


def _distance_m(carrier: Carrier, name: str, along_m: float) -> float:
    """Length of pipe from the dock to a place along a circuit."""
    if name == DOCK:
        return 0.0
    circuit = carrier.circuits[name]
    inlet_m = sum(part.length_m.nominal for part in circuit.inlet or ())
    return _distance_m(carrier, circuit.fed_from, circuit.branches_at_m) + inlet_m + along_m


def _ports_at(carrier: Carrier, name: str, place_m: float) -> tuple[str, ...]:
    return tuple(
        port
        for port, one in carrier.ports.items()
        if one.circuit == name and abs(one.along_m - place_m) <= SAME_PLACE_M
    )

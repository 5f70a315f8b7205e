"""The ways of the water that are the same for every load: pump, machine, arms, dock, and the carrier's circuits."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.flow.fitted import fitted_pump
from patency.flow.joining import entry_loss
from patency.flow.losses import TEE_BRANCH
from patency.flow.network import SUMP, PumpPoints
from patency.flow.stretches import area_m2, bore_stretch, described_stretch, orifice_stretch

if TYPE_CHECKING:
    from patency.catalogue import Carrier, Circuit, CommissionedFit, MachineKind, SprayArm
    from patency.flow.draft import Draft

DISCHARGE = "discharge"
MACHINE = "machine"
DOCK = "dock"
SAME_PLACE_M = 1e-6


def pump_at(machine: MachineKind, stage_speed: float | None, fit: CommissionedFit | None) -> PumpPoints:
    """Describe the circulation pump at the speed of a stage.

    Parameters
    ----------
    machine
        The kind of machine.
    stage_speed
        Relative speed the stage asks for [-]; None where nobody states it, reckoned as the usual one.
    fit
        What commissioning found; None where nothing was commissioned.

    Returns
    -------
    PumpPoints
        The pump.
    """
    pump = machine.pump
    described = PumpPoints(
        points=tuple((point.flow_m3_s, point.head_m) for point in pump.points),
        relative_speed=pump.relative_speed * (1.0 if stage_speed is None else stage_speed),
        sump_level_m=pump.sump_level_m,
    )
    return fitted_pump(described, fit)


def arm_outlet(arm: str) -> str:
    """Name the outlet that stands for a spray arm.

    Parameters
    ----------
    arm
        The arm's key.

    Returns
    -------
    str
        The outlet's name.
    """
    return f"arm {arm}"


def draw_machine(draft: Draft, machine: MachineKind, carrier: Carrier) -> None:
    """Draw pump, discharge and dock, and the arms before and behind it.

    Parameters
    ----------
    draft
        The network so far.
    machine
        The kind of machine.
    carrier
        The docked carrier, whose first circuit may go on as the dock ends.
    """
    discharge = [
        replace(described_stretch(part, draft.defaults), fitted_as=("discharge",)) for part in machine.discharge
    ]
    dock = [replace(described_stretch(part, draft.defaults), fitted_as=("dock",)) for part in machine.dock]
    pipe_m2, dock_m2 = area_m2(discharge[-1].segment), area_m2(dock[-1].segment)
    draft.link(DISCHARGE, (SUMP, MACHINE), discharge, first_loss=0.0)
    draft.link(DOCK, (MACHINE, DOCK), dock, entry_loss(pipe_m2, dock[0]), _only_follower_m2(draft, machine, carrier))
    for name, arm in machine.arms.items():
        _draw_arm(draft, name, arm, pipe_m2 if arm.fed_from == "machine" else dock_m2)
    for name, circuit in carrier.circuits.items():
        _draw_circuit(draft, carrier, name, circuit, dock_m2)


def _only_follower_m2(draft: Draft, machine: MachineKind, carrier: Carrier) -> float | None:
    """Cross-section in which the water goes on behind the dock, where it does not divide there."""
    circuits = [circuit for circuit in carrier.circuits.values() if circuit.fed_from == DOCK]
    if len(circuits) != 1 or any(arm.fed_from == "dock" for arm in machine.arms.values()):
        return None
    circuit = circuits[0]
    if circuit.inlet:
        return area_m2(described_stretch(circuit.inlet[0], draft.defaults).segment)
    return math.pi / 4.0 * circuit.bore_m.nominal**2


def _draw_arm(draft: Draft, name: str, arm: SprayArm, area_before_m2: float) -> None:
    """Draw an arm: its nozzles as the one opening of their area, at the height of its jets."""
    jets = orifice_stretch([(arm.jets.count, arm.jets.outlet_m)], arm.jets.discharge_coefficient, draft.defaults)
    parts = [*(described_stretch(part, draft.defaults) for part in arm.feed or ()), jets]
    stretches = [replace(part, fitted_as=(arm_outlet(name),)) for part in parts]
    node = MACHINE if arm.fed_from == "machine" else DOCK
    draft.outlet(arm_outlet(name), node, stretches, entry_loss(area_before_m2, stretches[0]), arm.height_m)


def branch_places_m(carrier: Carrier, name: str) -> list[float]:
    """List the places along a circuit's pipe where something branches off.

    Parameters
    ----------
    carrier
        The carrier.
    name
        The circuit.

    Returns
    -------
    list[float]
        Distances along its pipe [m], each once, from its inlet on.
    """
    places = [port.along_m for port in carrier.ports.values() if port.circuit == name]
    places += [circuit.branches_at_m for circuit in carrier.circuits.values() if circuit.fed_from == name]
    found: list[float] = []
    for place in sorted(places):
        if not found or place - found[-1] > SAME_PLACE_M:
            found.append(place)
    return found


def circuit_node(carrier: Carrier, name: str, along_m: float) -> str:
    """Name the node at a place along a circuit.

    Parameters
    ----------
    carrier
        The carrier.
    name
        The circuit, or ``dock``.
    along_m
        Distance along its pipe from its inlet [m].

    Returns
    -------
    str
        The node's name; where a circuit begins without inlet and pipe, that of what feeds it.

    Raises
    ------
    InputError
        If the carrier has no such circuit.
    """
    if name == DOCK:
        return DOCK
    if name not in carrier.circuits:
        raise InputError(f"carrier {carrier.name}", f"no circuit {name!r}", ", ".join(carrier.circuits))
    circuit = carrier.circuits[name]
    place = max((p for p in branch_places_m(carrier, name) if p <= along_m + SAME_PLACE_M), default=0.0)
    if place <= SAME_PLACE_M and not circuit.inlet:
        return circuit_node(carrier, circuit.fed_from, circuit.branches_at_m)
    return f"{name} at {place * 1000.0:g} mm"


def circuit_entry(carrier: Carrier, name: str) -> tuple[str, str]:
    """Name the node where the first branch leaves a circuit's pipe, and the link that leads to it.

    Parameters
    ----------
    carrier
        The carrier.
    name
        The circuit.

    Returns
    -------
    tuple[str, str]
        Node and link; no link, an empty name, where the first branch leaves where the circuit is fed and nothing
        branches off along it.

    Raises
    ------
    InputError
        If the carrier has no such circuit.
    """
    places = branch_places_m(carrier, name)
    node = circuit_node(carrier, name, places[0] if places else 0.0)
    drawn = places and (places[0] > SAME_PLACE_M or carrier.circuits[name].inlet)
    return node, circuit_link(name, places[0]) if drawn else ""


def circuit_link(name: str, place_m: float) -> str:
    """Name the link that ends at a place along a circuit.

    Parameters
    ----------
    name
        The circuit.
    place_m
        Distance along its pipe [m].

    Returns
    -------
    str
        The link's name.
    """
    return f"{name} to {place_m * 1000.0:g} mm"


def _draw_circuit(draft: Draft, carrier: Carrier, name: str, circuit: Circuit, dock_m2: float) -> None:
    """Draw a circuit from what feeds it to the last place where something branches off."""
    node = circuit_node(carrier, circuit.fed_from, circuit.branches_at_m)
    known_as = (f"circuit {name}",)
    waiting = [replace(described_stretch(part, draft.defaults), fitted_as=known_as) for part in circuit.inlet or ()]
    reached_m, branched = 0.0, False
    for place in branch_places_m(carrier, name):
        if place - reached_m > SAME_PLACE_M:
            pipe = bore_stretch(circuit.bore_m, place - reached_m, draft.defaults, circuit.roughness_m)
            waiting.append(replace(pipe, part=f"pipe of {name}", fitted_as=known_as))
        if not waiting:
            continue
        first_loss = 0.0
        if not branched:
            first_loss = entry_loss(dock_m2, waiting[0]) if circuit.fed_from == DOCK else TEE_BRANCH
        to = circuit_node(carrier, name, place)
        draft.link(circuit_link(name, place), (node, to), waiting, first_loss)
        node, reached_m, branched, waiting = to, place, True, []

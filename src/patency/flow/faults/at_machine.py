"""The faults of a machine: arms, sieve, pump."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.flow.carrier_paths import DISCHARGE, arm_outlet
from patency.flow.faults.fault import Fault, FaultCase, FaultKind, NetworkChange
from patency.flow.faults.narrowing import segment_at, with_loss_added
from patency.flow.network import Orifice
from patency.flow.stretches import area_m2, described_stretch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import MachineKind
    from patency.flow.network import Network, Segment
    from patency.flow.site_defaults import SiteDefaults

_PUMP_SPEEDS = {FaultKind.PUMP_AT_90: 0.9, FaultKind.PUMP_AT_80: 0.8}


def faults_of_machine(
    machine: MachineKind, network: Network, defaults: SiteDefaults, not_computed: list[str]
) -> Iterator[FaultCase]:
    """List the faults of the machine.

    Parameters
    ----------
    machine
        The kind of machine.
    network
        The load's network.
    defaults
        What holds where nothing is stated.
    not_computed
        Takes a sentence for each fault that cannot be computed.

    Yields
    ------
    FaultCase
        Each fault.
    """
    for name, arm in machine.arms.items():
        yield FaultCase(Fault(FaultKind.ARM_STUCK, name), NetworkChange())
        if not arm.feed:
            not_computed.append(f"{FaultKind.ARM_LOST}, {name}: the feed it would leave open is not described")
            continue
        # Without the arm its feed ends in the open: a jet of the feed's own width takes the place of its nozzles.
        end = Orifice(diameter_m=_width_m(described_stretch(arm.feed[-1], defaults).segment), discharge_coefficient=1.0)
        change = NetworkChange(segments={(arm_outlet(name), len(arm.feed)): end})
        yield FaultCase(Fault(FaultKind.ARM_LOST, name), change)
    clogged = {
        (DISCHARGE, place): with_loss_added(segment_at(network, (DISCHARGE, place)), part.loss)
        for place, part in enumerate(machine.discharge)
        if part.loss is not None
    }
    if clogged:
        yield FaultCase(Fault(FaultKind.SIEVE_CLOGGED, "machine"), NetworkChange(segments=clogged))
    else:
        not_computed.append(f"{FaultKind.SIEVE_CLOGGED}: no loss of the discharge is stated")
    for kind, speed in _PUMP_SPEEDS.items():
        yield FaultCase(Fault(kind, "machine"), NetworkChange(pump_speed=speed))


def _width_m(segment: Segment) -> float:
    """Width of a bore of the segment's cross-section."""
    return math.sqrt(4.0 / math.pi * area_m2(segment))

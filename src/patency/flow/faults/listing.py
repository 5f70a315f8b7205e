"""Every single fault that a load can have, drawn: its network with all that faults would open, closed as yet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.catalogue import fit_in_force
from patency.flow.draft import Draft
from patency.flow.faults.at_lumens import faults_of_lumen
from patency.flow.faults.at_machine import faults_of_machine
from patency.flow.faults.fault import Fault, FaultCase, FaultKind, NetworkChange
from patency.flow.from_load import connections_of, driven, port_outlet
from patency.flow.site_defaults import SiteDefaults

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.catalogue import Department
    from patency.flow.from_load import LoadNetwork
    from patency.flow.network import Network
    from patency.flow.stretches import Stretch
    from patency.load import Load


@dataclass(frozen=True, slots=True)
class FaultList:
    """Every single fault of a load.

    Parameters
    ----------
    cases
        Each fault with what it does: in the order of the walk along the ports, then those of the machine.
    network
        The load's network with what faults would open, all of it closed.
    stretches
        Segments of each link and outlet with their doubts, those of the load and those drawn for faults.
    not_computed
        What cannot be computed and why, one sentence each.
    """

    cases: tuple[FaultCase, ...]
    network: Network
    stretches: Mapping[str, tuple[Stretch, ...]]
    not_computed: tuple[str, ...]

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The faults alone."""
        return tuple(case.fault for case in self.cases)


def faults_of_load(department: Department, load: Load, load_network: LoadNetwork) -> FaultList:
    """List every single fault that a load can have.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_network
        Its network, of any stage.

    Returns
    -------
    FaultList
        The faults. Where the programme drives no water through the ports only the machine's are left.

    Raises
    ------
    InputError
        If the load names something the department does not have.

    Notes
    -----
    What each fault does to the network, and what it stands for: docs/faults.md.
    """
    fit = fit_in_force(department, load.carrier, load.machine_kind)
    draft = Draft(SiteDefaults(department.limits.flow), fit)
    cases = list(_at_ports(draft, department, load, load_network)) if driven(department, load) else []
    machine = department.machine_kinds[load.machine_kind]
    not_computed: list[str] = []
    cases += faults_of_machine(machine, load_network.network, draft.defaults, not_computed)
    draft.close({outlet.id for outlet in draft.outlets})
    network = load_network.network
    return FaultList(
        cases=tuple(cases),
        network=replace(network, links=(*network.links, *draft.links), outlets=(*network.outlets, *draft.outlets)),
        stretches={**load_network.stretches, **draft.stretches},
        not_computed=tuple(not_computed),
    )


def _at_ports(draft: Draft, department: Department, load: Load, load_network: LoadNetwork) -> Iterator[FaultCase]:
    """Walk along the ports."""
    carrier = department.carriers[load.carrier]
    connections = connections_of(department, load)
    keys = {path.port: key for key, path in load_network.lumens.items()}
    capped = {capped.port for capped in load.capped_ports}
    for name, port in carrier.ports.items():
        if name in connections:
            yield from faults_of_lumen(draft, department, carrier, connections[name], load_network, keys[name])
        elif name in capped:
            fault = Fault(FaultKind.CAP_MISSING, name, level=port.level)
            yield FaultCase(fault, NetworkChange(opens=(port_outlet(name),)))

"""From a load to the network of its water: every port with what stands on it, and where each lumen is found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import fit_in_force
from patency.errors import InputError
from patency.flow.carrier_paths import MACHINE, arm_outlet, circuit_node, draw_machine, pump_at
from patency.flow.connector_chains import hose_stretches
from patency.flow.draft import Draft
from patency.flow.fitted import fitted_pump_doubt
from patency.flow.losses import TEE_BRANCH
from patency.flow.lumen_drawing import Connected, draw_lumen
from patency.flow.network import Network, Water
from patency.flow.site_defaults import SiteDefaults
from patency.flow.unstated import unstated_of
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Carrier, Department, MachineKind, Stage
    from patency.flow.lumen_paths import LumenKey, LumenPath
    from patency.flow.stretches import Stretch
    from patency.flow.unstated import Unstated
    from patency.load import Load
    from patency.quantities import Limit


@dataclass(frozen=True, slots=True)
class LoadNetwork:
    """The network of a load in one stage, and where in it everything is.

    Parameters
    ----------
    network
        The network. Its losses hold the steps of the passage; those of developing laminar flow come with the solution.
    lumens
        Where each connected lumen is, by set, piece and lumen.
    arms
        Outlet of each spray arm.
    ports
        Outlets that each port feeds.
    stretches
        Segments of each link and outlet with their doubts.
    shared
        Links and outlets that are the same for every load of the carrier: machine, arms, circuits.
    circulation_node
        Node at which the machine's circulation pressure is taken.
    defaults
        The site's defaults that were needed because the catalogue states nothing; None where the site states none
        either.
    pump_doubt
        Half width of the tolerance of the pump's head, as a share [-].
    roughness_factor
        Factor by which a roughness may be larger or smaller [-].
    unstated
        What is not stated on the ways of the water, and no default of the site stands in for.
    """

    network: Network
    lumens: Mapping[LumenKey, LumenPath]
    arms: Mapping[str, str]
    ports: Mapping[str, tuple[str, ...]]
    stretches: Mapping[str, tuple[Stretch, ...]]
    shared: frozenset[str]
    circulation_node: str
    defaults: Mapping[str, Limit | None]
    pump_doubt: float
    roughness_factor: float
    unstated: Unstated

    @property
    def open_ports(self) -> dict[str, str]:
        """Outlet of each port at which nothing stands and that no cap closes."""
        flows = {one.id for one in self.network.outlets if one.state == "open"}
        return {name: port_outlet(name) for name in self.ports if port_outlet(name) in flows}


def network_of_load(department: Department, load: Load, stage: Stage) -> LoadNetwork:
    """Turn a load into the network of its water in one stage.

    A port with a connection carries its chain and its lumen; a capped one is closed; one that is neither connected
    nor capped is open, whether the load lists it as open or not. Where the programme does not drive water through the
    carrier's ports, all of them are closed.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    stage
        The stage: its water's temperature and the pump's speed count.

    Returns
    -------
    LoadNetwork
        The network and its maps.

    Raises
    ------
    InputError
        If the load names something the department does not have, or feeds two lumens from one port.

    Notes
    -----
    What each part becomes, from which source and with what error: docs/physics-load.md.
    """
    carrier, machine = _carrier(department, load), _machine(department, load)
    fit = fit_in_force(department, load.carrier, load.machine_kind)
    draft = Draft(SiteDefaults(department.limits.flow), fit)
    draw_machine(draft, machine, carrier)
    shared = frozenset(draft.stretches)
    connections = connections_of(department, load)
    lumens: dict[LumenKey, LumenPath] = {}
    ports: dict[str, tuple[str, ...]] = {}
    for name, port in carrier.ports.items():
        node = circuit_node(carrier, port.circuit, port.along_m)
        if name in connections:
            connected = connections[name]
            path = draw_lumen(draft, node, department, carrier, connected)
            lumens[connected.placed.set, connected.placed.piece, connected.connection.lumen] = path
            ports[name] = path.outlets
        else:
            draft.outlet(port_outlet(name), node, hose_stretches(port, draft.defaults, name), TEE_BRANCH, port.at.z_m)
            ports[name] = (port_outlet(name),)
    if not driven(department, load):
        draft.close({outlet for outlets in ports.values() for outlet in outlets})
    draft.close({port_outlet(capped.port) for capped in load.capped_ports})
    return LoadNetwork(
        network=Network(
            water=Water(temperature_c=stage.temperature_c),
            pump=pump_at(machine, stage.pump_speed, fit),
            links=tuple(draft.links),
            outlets=tuple(draft.outlets),
        ),
        lumens=lumens,
        arms={name: arm_outlet(name) for name in machine.arms},
        ports=ports,
        stretches=draft.stretches,
        shared=shared,
        circulation_node=MACHINE,
        pump_doubt=fitted_pump_doubt(draft.defaults.pump_doubt(), fit),
        roughness_factor=draft.defaults.roughness_factor(),
        defaults=draft.defaults.asked,
        unstated=unstated_of(department, load, connections),
    )


def port_outlet(port: str) -> str:
    """Name the outlet of a port that nothing is connected to.

    Parameters
    ----------
    port
        The port's key.

    Returns
    -------
    str
        The outlet's name.
    """
    return f"port {port}"


def _carrier(department: Department, load: Load) -> Carrier:
    if load.carrier not in department.carriers:
        raise InputError(f"load {load.id}", f"no carrier {load.carrier!r}", ", ".join(department.carriers))
    return department.carriers[load.carrier]


def _machine(department: Department, load: Load) -> MachineKind:
    if load.machine_kind not in department.machine_kinds:
        expected = ", ".join(department.machine_kinds)
        raise InputError(f"load {load.id}", f"no kind of machine {load.machine_kind!r}", expected)
    return department.machine_kinds[load.machine_kind]


def connections_of(department: Department, load: Load) -> dict[str, Connected]:
    """Find what stands on each port.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    dict[str, Connected]
        Port to the lumen connected to it.

    Raises
    ------
    InputError
        If the load names something the department does not have, or feeds two lumens from one port.
    """
    carrier = _carrier(department, load)
    types = {
        (name, piece.key): piece.piece_type
        for name in load.sets
        if name in department.sets
        for piece in pieces_of_set(department, name)
    }
    found: dict[str, Connected] = {}
    for placed in load.pieces:
        for connection in placed.lumens:
            where = f"load {load.id}, {placed.set}, {placed.piece}, {connection.lumen}"
            piece = types.get((placed.set, placed.piece))
            if piece is None or connection.lumen not in piece.lumens:
                raise InputError(where, "no such lumen", "a lumen of a piece of the load's sets")
            if connection.port not in carrier.ports:
                raise InputError(where, f"no port {connection.port!r}", f"a port of {load.carrier}")
            if connection.port in found:
                raise InputError(where, f"port {connection.port} feeds another lumen too", "one lumen for each port")
            found[connection.port] = Connected(placed, piece, connection)
    return found


def driven(department: Department, load: Load) -> bool:
    """Tell whether the load's programme drives water through the carrier's ports.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    bool
        True for a programme for lumens.

    Raises
    ------
    InputError
        If the department has no such programme.
    """
    if load.programme not in department.programmes:
        raise InputError(f"load {load.id}", f"no programme {load.programme!r}", ", ".join(department.programmes))
    return department.programmes[load.programme].for_lumens

"""A carrier on the bench: the network of one set-up, with ports open, fitted with an accessory, or closed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Adapter, Hose, InjectorNozzle, Strainer
from patency.errors import InputError
from patency.flow.carrier_paths import DOCK, MACHINE, circuit_node, draw_machine, pump_at
from patency.flow.compiled_network import compile_network
from patency.flow.connector_chains import hose_stretches, mated_stretches, nozzle_openings, passed_stretch
from patency.flow.draft import Draft
from patency.flow.losses import TEE_BRANCH
from patency.flow.network import Network, Water
from patency.flow.site_defaults import SiteDefaults

if TYPE_CHECKING:
    from patency.catalogue import BenchSetup, Carrier, Department, Port
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.stretches import Stretch

CIRCULATION = "circulation"
PUMP = "pump"
STANDS_ALONE = (Adapter, Hose, InjectorNozzle, Strainer)
"""Accessories that pass water without a piece on them."""


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """One set-up drawn as the catalogue describes it, without any fit.

    Parameters
    ----------
    compiled
        The network.
    stretches
        One for each segment, in the order of the network.
    outlets
        Open port to its outlet.
    carrier
        The carrier.
    """

    compiled: CompiledNetwork
    stretches: tuple[Stretch, ...]
    outlets: dict[str, str]
    carrier: Carrier

    def node_of(self, place: str) -> int:
        """Find where a gauge sits.

        Parameters
        ----------
        place
            ``circulation``, ``dock`` or a circuit: its inlet's end.

        Returns
        -------
        int
            Row of the node.

        Raises
        ------
        InputError
            If nothing of that name has a node in this set-up.
        """
        name = place
        if place == CIRCULATION:
            name = MACHINE
        elif place != DOCK and place in self.carrier.circuits:
            ports = [port.along_m for port in self.carrier.ports.values() if port.circuit == place]
            branches = [one.branches_at_m for one in self.carrier.circuits.values() if one.fed_from == place]
            name = circuit_node(self.carrier, place, min([*ports, *branches], default=0.0))
        if name not in self.compiled.node_names:
            expected = ", ".join([CIRCULATION, DOCK, *self.carrier.circuits])
            raise InputError("gauge", f"no place {place!r} for it", expected)
        return self.compiled.node_names.index(name)


def draw_bench(department: Department, carrier_key: str, machine_kind: str, setup: BenchSetup) -> Bench:
    """Draw a set-up.

    Parameters
    ----------
    department
        The department.
    carrier_key
        Key of the carrier.
    machine_kind
        Key of the kind of machine.
    setup
        What is open, what stands on it, the water's temperature, the pump's speed.

    Returns
    -------
    Bench
        The network and where everything is in it.

    Raises
    ------
    InputError
        If the set-up names something that does not exist or does not mate.
    """
    if carrier_key not in department.carriers:
        raise InputError("carrier", f"no carrier {carrier_key!r}", ", ".join(department.carriers))
    if machine_kind not in department.machine_kinds:
        raise InputError("machine_kind", f"no kind of machine {machine_kind!r}", ", ".join(department.machine_kinds))
    carrier, machine = department.carriers[carrier_key], department.machine_kinds[machine_kind]
    unknown = [name for name in (*setup.open, *setup.fitted) if name not in carrier.ports]
    if unknown:
        raise InputError("open", f"no port {unknown[0]!r}", f"a port of {carrier_key}")
    closed = [name for name in setup.fitted if name not in setup.open]
    if closed:
        raise InputError("fitted", f"port {closed[0]!r} is not open", "accessories on open ports")
    draft = Draft(SiteDefaults(department.limits.flow))
    draw_machine(draft, machine, carrier)
    outlets = {}
    for name, port in carrier.ports.items():
        node = circuit_node(carrier, port.circuit, port.along_m)
        row = hose_stretches(port, draft.defaults, name)
        if name in setup.fitted:
            row += _fitted(department, port, setup.fitted[name], draft.defaults)
        draft.outlet(f"port {name}", node, row, TEE_BRANCH, port.at.z_m)
        outlets[name] = f"port {name}"
    draft.close({outlet for name, outlet in outlets.items() if name not in setup.open})
    network = Network(
        water=Water(temperature_c=setup.temperature_c),
        pump=pump_at(machine, setup.pump_speed, None),
        links=tuple(draft.links),
        outlets=tuple(draft.outlets),
    )
    compiled = compile_network(network)
    stretches = tuple(stretch for name in compiled.chain_names for stretch in draft.stretches[name])
    return Bench(compiled, stretches, {name: outlets[name] for name in setup.open}, carrier)


def _fitted(department: Department, port: Port, name: str, defaults: SiteDefaults) -> list[Stretch]:
    """Describe an accessory on a port, without a piece."""
    part = department.accessories.get(name)
    if not isinstance(part, STANDS_ALONE):
        raise InputError("fitted", f"{name!r}", "a hose, adapter, strainer or injector nozzle of the department")
    if not mates(port, part):
        raise InputError("fitted", f"{name!r} does not go on the {port.kind} port", "what mates with the port's end")
    row = mated_stretches(department, port.free_end, defaults)
    if isinstance(part, InjectorNozzle):
        return [*row, passed_stretch(part, defaults), nozzle_openings(part, defaults)]
    return [*row, passed_stretch(part, defaults)]


def mates(port: Port, part: Adapter | Hose | InjectorNozzle | Strainer) -> bool:
    """Tell whether an accessory goes on a port's free end: same family, other gender.

    Parameters
    ----------
    port
        The port.
    part
        The accessory.

    Returns
    -------
    bool
        Whether it does, as far as family and gender say.
    """
    end = port.free_end
    return end.family == part.near.family and end.gender != part.near.gender

"""What is not stated of a load's machine, carrier, chains and lumens, so that its water is not known."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.catalogue import FedBy, FlushingSleeve, InjectorNozzle

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.catalogue import BoreSegment, Carrier, Department, MachineKind, Programme
    from patency.flow.lumen_drawing import Connected
    from patency.flow.lumen_paths import LumenKey
    from patency.load import Load


@dataclass(frozen=True, slots=True)
class Unstated:
    """What is not stated, in words.

    Parameters
    ----------
    of_all
        What leaves the water in every lumen of the load unknown: where water takes another way, or more of it can get
        through than was reckoned, the others have less.
    of_lumens
        What leaves the water in one lumen unknown, by set, piece and lumen.
    """

    of_all: tuple[str, ...] = ()
    of_lumens: Mapping[LumenKey, tuple[str, ...]] = field(default_factory=dict)

    def __bool__(self) -> bool:
        """Whether anything is not stated."""
        return bool(self.of_all) or any(self.of_lumens.values())


def unstated_of(department: Department, load: Load, connections: Mapping[str, Connected]) -> Unstated:
    """Say what is not stated on the ways of the water through a load.

    Parameters
    ----------
    department
        The department.
    load
        The load: its machine, carrier and programme count.
    connections
        What stands on each port of the carrier that feeds a lumen.

    Returns
    -------
    Unstated
        In words; a size for which the site has a default is not among them.
    """
    machine, carrier = department.machine_kinds[load.machine_kind], department.carriers[load.carrier]
    of_all = [*_of_programme(department.programmes[load.programme]), *_of_machine(machine), *_of_carrier(carrier)]
    of_lumens: dict[LumenKey, tuple[str, ...]] = {}
    for port, connected in connections.items():
        of_all += _openings(department, connected)
        key = (connected.placed.set, connected.placed.piece, connected.connection.lumen)
        of_lumens[key] = tuple(_joints(department, carrier, port, connected))
    return Unstated(tuple(dict.fromkeys(of_all)), of_lumens)


def _of_programme(programme: Programme) -> Iterator[str]:
    for stage in programme.stages:
        if stage.kind.wet and stage.pump_speed is None:
            yield f"the speed of the pump in {stage.name} is not stated"


def _of_machine(machine: MachineKind) -> Iterator[str]:
    yield from _losses("discharge", machine.discharge)
    yield from _losses("dock", machine.dock)
    for name, arm in machine.arms.items():
        if arm.feed is None:
            yield f"what feeds arm {name} is not stated"
        yield from _losses(f"feed of arm {name}", arm.feed or [])


def _of_carrier(carrier: Carrier) -> Iterator[str]:
    for name, circuit in carrier.circuits.items():
        if circuit.inlet is None:
            yield f"the inlet of circuit {name} is not stated"
        yield from _losses(f"inlet of circuit {name}", circuit.inlet or [])


def _losses(what: str, segments: list[BoreSegment]) -> Iterator[str]:
    """Look for losses nobody states: filters, valves and elbows of machine and carrier are too unlike for a default."""
    if any(segment.loss is None for segment in segments):
        yield f"a loss in the {what} is not stated"


def _openings(department: Department, connected: Connected) -> Iterator[str]:
    """Look for side holes nobody has looked for; water that leaves through them is lacking in all other lumens."""
    if connected.lumen.side_holes is None:
        yield f"whether lumen {connected.connection.lumen} of {connected.placed.piece} has side holes is not stated"
    for name in connected.connection.chain:
        part = department.accessories[name]
        if isinstance(part, InjectorNozzle) and part.side_holes is None:
            yield f"whether {name} has side holes is not stated"


def _joints(department: Department, carrier: Carrier, port: str, connected: Connected) -> Iterator[str]:
    """Look for joints whose passage nobody states."""
    end = carrier.ports[port].free_end
    families = []
    for name in connected.connection.chain:
        part = department.accessories[name]
        families.append(end.family)
        if isinstance(part, FlushingSleeve | InjectorNozzle):
            break
        end = getattr(part, "far", end)
    else:
        families.append(end.family)
    if connected.lumen.fed_by is FedBy.CONNECTION and connected.lumen.inlet is None:
        yield "the connector of its inlet is not stated"
    for family in dict.fromkeys(families):
        described = department.connector_families.get(family)
        if described is not None and described.bore_m is None:
            yield f"the passage through a {family} connection is not stated"

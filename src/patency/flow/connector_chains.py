"""What the water passes between a circuit and a lumen: fitting, hose, mated connectors, accessories."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.catalogue import Adapter, FlushingSleeve, Hose, InjectorNozzle, Strainer
from patency.errors import InputError
from patency.flow.stretches import NO_LOSS, bore_stretch, orifice_stretch
from patency.quantities import Toleranced

if TYPE_CHECKING:
    from patency.catalogue import ChainLink, Connector, Department, Lumen, Port
    from patency.flow.site_defaults import SiteDefaults
    from patency.flow.stretches import Stretch
    from patency.load import Connection

# Length over which a mated pair of small-bore connectors narrows the way: that of the luer's cone, ISO 80369-7
# (7.5 mm, from memory, not verified). Its friction is small beside that of its two steps.
_MATED_LENGTH_M = 7.5e-3


@dataclass(frozen=True, slots=True)
class ConnectorChain:
    """The way from a port to a lumen.

    Parameters
    ----------
    stretches
        From the port's fitting to the last stretch before the lumen, or to a nozzle's tube.
    sleeve
        The flushing sleeve at its end, if there is one.
    nozzle
        The injector nozzle at its end, if there is one.
    strainers
        Which of the stretches are strainers.
    """

    stretches: tuple[Stretch, ...]
    sleeve: FlushingSleeve | None = None
    nozzle: InjectorNozzle | None = None
    strainers: tuple[int, ...] = ()


def port_stretches(port: Port, defaults: SiteDefaults, name: str = "") -> list[Stretch]:
    """Describe a port without its hose.

    Parameters
    ----------
    port
        The port.
    defaults
        What holds where nothing is stated.
    name
        The port's key, where what was fitted to this very port shall count.

    Returns
    -------
    list[Stretch]
        Its fitting.
    """
    fitting = bore_stretch(port.bore_m, port.fitting_length_m.nominal, defaults, loss=port.loss)
    kind = f"{port.kind} ports of {_mm(port.bore_m)}"
    return [replace(fitting, fitted_as=(kind, f"port {name}") if name else (kind,))]


def hose_stretches(port: Port, defaults: SiteDefaults, name: str = "") -> list[Stretch]:
    """Describe a port with the hose that belongs to it, where one does.

    Parameters
    ----------
    port
        The port.
    defaults
        What holds where nothing is stated.
    name
        The port's key, where what was fitted to this very port shall count.

    Returns
    -------
    list[Stretch]
        Fitting and hose.
    """
    stretches = port_stretches(port, defaults, name)
    if port.hose is not None:
        hose = bore_stretch(port.hose.bore_m, port.hose.length_m.nominal, defaults)
        stretches.append(replace(hose, fitted_as=(f"hoses of {_mm(port.hose.bore_m)}",)))
    return stretches


def _mm(bore: Toleranced) -> str:
    return f"{bore.nominal * 1000.0:g} mm"


def connector_chain(
    department: Department, port: Port, connection: Connection, lumen: Lumen, defaults: SiteDefaults
) -> ConnectorChain:
    """Describe the way from a port to a lumen.

    Where two connectors are mated and their family states its bore (a luer passes water through about 2 mm, not through
    the 4 mm of its taper), a short bore of that width stands between their neighbours; where it states none, nothing.

    Parameters
    ----------
    department
        The department.
    port
        The port.
    connection
        How the lumen is connected.
    lumen
        The lumen.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    ConnectorChain
        The way.

    Raises
    ------
    InputError
        If the connection names an accessory that does not exist or cannot stand in a chain, or if something stands
        behind a sleeve or a nozzle.
    """
    stretches = hose_stretches(port, defaults, connection.port)
    end: Connector = port.end if port.hose is None else port.hose.end
    strainers: list[int] = []
    for name in connection.chain:
        part = _chain_link(department, name)
        stretches += mated_stretches(department, end, defaults)
        if isinstance(part, FlushingSleeve | InjectorNozzle):
            if name != connection.chain[-1]:
                raise InputError(
                    f"chain {list(connection.chain)}", f"something stands behind {name!r}", "nothing behind it"
                )
            if isinstance(part, FlushingSleeve):
                passage = bore_stretch(part.bore_m, _passage_length_m(part, lumen), defaults)
                stretches.append(replace(passage, fitted_as=(part.name,)))
                return ConnectorChain(tuple(stretches), sleeve=part, strainers=tuple(strainers))
            stretches.append(passed_stretch(part, defaults))
            return ConnectorChain(tuple(stretches), nozzle=part, strainers=tuple(strainers))
        if isinstance(part, Strainer):
            strainers.append(len(stretches))
        stretches.append(passed_stretch(part, defaults))
        end = part.far
    if lumen.inlet is not None:
        stretches += mated_stretches(department, end, defaults)
    return ConnectorChain(tuple(stretches), strainers=tuple(strainers))


def _chain_link(department: Department, name: str) -> ChainLink:
    part = department.accessories.get(name)
    if not isinstance(part, Hose | InjectorNozzle | FlushingSleeve | Adapter | Strainer):
        raise InputError("chain", f"{name!r}", "an accessory of the department that can stand in a chain")
    return part


def passed_stretch(part: Hose | Adapter | Strainer | InjectorNozzle, defaults: SiteDefaults) -> Stretch:
    """Describe what water passes straight through.

    Parameters
    ----------
    part
        A loose hose, an adapter, a strainer, or an injector nozzle up to its openings.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    Stretch
        Its passage.
    """
    loss = NO_LOSS if isinstance(part, Hose | InjectorNozzle) else part.loss
    passage = bore_stretch(part.bore_m, part.length_m.nominal, defaults, loss=loss)
    return replace(passage, fitted_as=(part.name,))


def mated_stretches(department: Department, end: Connector, defaults: SiteDefaults) -> list[Stretch]:
    """Describe where a connector is mated with another.

    Parameters
    ----------
    department
        The department.
    end
        The connector.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    list[Stretch]
        The short bore of its family; nothing where the family states none.
    """
    family = department.connector_families.get(end.family)
    if family is None or not isinstance(family.bore_m, Toleranced):
        return []
    joint = bore_stretch(family.bore_m, _MATED_LENGTH_M, defaults)
    return [replace(joint, fitted_as=(f"{end.family} joints",))]


def overlap_m(sleeve: FlushingSleeve, lumen: Lumen) -> float:
    """How far a sleeve covers the tube: the middle between the least it has to and the most it can.

    Where the lumen does not state how much of its tube may be covered, the least counts: it leaves the longest passage
    and the shortest gap outside the tube, which lets the least through the bore.

    Parameters
    ----------
    sleeve
        The flushing sleeve.
    lumen
        The lumen it feeds.

    Returns
    -------
    float
        Covered length [m].
    """
    if lumen.grip_m is None:
        return sleeve.least_overlap_m
    most = min(sleeve.length_m.nominal, lumen.grip_m)
    return (sleeve.least_overlap_m + max(most, sleeve.least_overlap_m)) / 2.0


def _passage_length_m(sleeve: FlushingSleeve, lumen: Lumen) -> float:
    """Length of the sleeve that covers nothing; a sleeve pushed on as far as it goes still has its connector's bore."""
    return max(sleeve.length_m.nominal - overlap_m(sleeve, lumen), sleeve.bore_m.nominal)


def nozzle_openings(nozzle: InjectorNozzle, defaults: SiteDefaults) -> Stretch:
    """Describe the tip and the side holes of an injector nozzle as the one opening of their area.

    Parameters
    ----------
    nozzle
        The nozzle.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    Stretch
        The opening. That the side holes see a little more pressure than the tip is left out.
    """
    sides = [(holes.count, Toleranced(holes.diameter_m)) for holes in nozzle.side_holes or ()]
    openings = orifice_stretch([(1, nozzle.outlet_m), *sides], nozzle.discharge_coefficient, defaults)
    return replace(openings, fitted_as=(nozzle.name,))

"""What is not stated of the ways of the water, and of the flow that lumens need."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue.accessories import Adapter, Hose, InjectorNozzle, Strainer
from patency.catalogue.carriers import Circuit
from patency.catalogue.gaps import Gap, OpenQuestion, limit_fault
from patency.catalogue.instruments import BoreSegment, FedBy, Lumen, Need
from patency.catalogue.machines import SprayArm
from patency.catalogue.parts import parts
from patency.quantities import Limit, Toleranced

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.department import Department

# Of the verdict the pressure predicted for a load is part.
_WATER: tuple[OpenQuestion, ...] = ("fed", "verdict")
# What the site can ask of a lumen for which nothing is stated. Water that comes back beside an injector nozzle has no
# one velocity or wall shear stress.
_DEFAULTS = {
    FedBy.CONNECTION: ("least_shear", "least_flow", "least_velocity", "least_exchanges"),
    FedBy.INJECTOR_NOZZLE: ("least_flow", "least_exchanges"),
}


def path_gaps(department: Department) -> Iterator[Gap]:
    """Find what is not stated on the ways of the water from the pump to the lumens, beside the lumens themselves.

    Parameters
    ----------
    department
        The department.

    Yields
    ------
    Gap
        One for each datum.
    """
    for key in _mated_families(department):
        if department.connector_families[key].bore_m is None:
            what = "the passage is not stated; full states that the connection narrows nothing"
            yield Gap(("connector_families", key, "bore"), what, _WATER)
    for key, accessory in department.accessories.items():
        if isinstance(accessory, InjectorNozzle) and accessory.side_holes is None:
            what = "nobody has looked for side holes; [] states that there are none"
            yield Gap(("accessories", key, "side_holes"), what, ("fits", *_WATER))
    for path, circuit in parts(department.carriers, Circuit, ("carriers",)):
        if circuit.inlet is None:
            what = "what stands before its pipe is not stated; [] states that nothing does"
            yield Gap((*path, "inlet"), what, _WATER)
    for path, arm in parts(department.machine_kinds, SprayArm, ("machine_kinds",)):
        if arm.feed is None:
            yield Gap((*path, "feed"), "what feeds the arm is not stated; [] states that nothing does", _WATER)
    for group in ("carriers", "machine_kinds"):
        for path, segment in parts(getattr(department, group), BoreSegment, (group,)):
            if segment.loss is None:
                yield Gap((*path, "loss"), "the loss is not stated; 0 states that there is none", _WATER)
    fault = limit_fault(department.limits.flow.default_loss, department.day.date if department.day else None)
    if fault and None in default_losses(department):
        what = f"{fault}, and there are parts whose loss is not stated"
        yield Gap(("limits", "flow", "default_loss"), what, _WATER)


def _mated_families(department: Department) -> Iterator[str]:
    """Name the families of ends that water leaves for what is joined to them, in the order of the catalogue."""
    ends = [port.free_end for carrier in department.carriers.values() for port in carrier.ports.values()]
    ends += [part.far for part in department.accessories.values() if isinstance(part, Hose | Adapter | Strainer)]
    families = {end.family for end in ends}
    yield from (key for key in department.connector_families if key in families)


def default_losses(department: Department) -> list[Toleranced | None]:
    """List the losses of all parts for which the site's default stands in where none is stated.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    list[Toleranced | None]
        Of fittings of ports, adapters and stretches of lumens [-]; None where not stated.
    """
    lumens = [lumen for _, lumen in parts(department.instruments, Lumen)]
    return [
        *(port.loss for carrier in department.carriers.values() for port in carrier.ports.values()),
        *(part.loss for part in department.accessories.values() if isinstance(part, Adapter)),
        *(segment.loss for lumen in lumens for segment in lumen.segments),
    ]


def flow_gaps(department: Department) -> Iterator[Gap]:
    """Find lumens whose flow cannot be held against anything that is stated and in date.

    Parameters
    ----------
    department
        The department. Without a day, nothing is out of date.

    Yields
    ------
    Gap
        One for each limit or validation out of date, and one for each way of feeding without a default of the site
        where one is needed.
    """
    day = department.day.date if department.day else None
    shown = set()
    for key, load in department.reference_loads.items():
        if day is None or load.valid_from <= day <= (load.valid_until or day):
            shown |= {(lumen.instrument, lumen.piece, lumen.lumen) for lumen in load.lumens}
        else:
            yield Gap(("reference_loads", key), f"the validation does not hold on {day}", ("fed",))
    needing = set()
    for path, lumen in parts(department.instruments, Lumen, ("instruments",)):
        needs = [(key, limit) for key in Need.model_fields if isinstance(limit := getattr(lumen.need, key), Limit)]
        for key, limit in needs:
            if fault := limit_fault(limit, day):
                yield Gap((*path, "need", key), fault, ("fed",))
        if lumen.need.maximum_pressure is None:
            what = "the highest pressure is not stated; none states that the instructions state none"
            yield Gap((*path, "need", "maximum_pressure"), what, ("fed",))
        least_stated = any(key != "maximum_pressure" for key, _ in needs)
        if not least_stated and (path[1], path[3], path[5]) not in shown:
            needing.add(lumen.fed_by)
    for fed_by, defaults in _DEFAULTS.items():
        limits = [getattr(department.limits.flow, key) for key in defaults]
        if fed_by in needing and all(limit_fault(limit, day) for limit in limits):
            what = f"none of {', '.join(defaults)} is stated, for lumens fed by {fed_by} of which nothing is stated"
            yield Gap(("limits", "flow"), what, ("fed",))

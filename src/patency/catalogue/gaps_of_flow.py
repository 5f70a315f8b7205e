"""What is not stated of the flow that lumens need."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue.gaps import Gap, limit_fault
from patency.catalogue.instruments import FedBy, Lumen, Need
from patency.catalogue.parts import parts
from patency.quantities import Limit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.department import Department

# What the site can ask of a lumen for which nothing is stated. Water that comes back beside an injector nozzle has no
# one velocity or wall shear stress.
_DEFAULTS = {
    FedBy.CONNECTION: ("least_shear", "least_flow", "least_velocity", "least_exchanges"),
    FedBy.INJECTOR_NOZZLE: ("least_flow", "least_exchanges"),
}


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
        least_stated = any(key != "maximum_pressure" for key, _ in needs)
        if not least_stated and (path[1], path[3], path[5]) not in shown:
            needing.add(lumen.fed_by)
    for fed_by, defaults in _DEFAULTS.items():
        limits = [getattr(department.limits.flow, key) for key in defaults]
        if fed_by in needing and all(limit_fault(limit, day) for limit in limits):
            what = f"none of {', '.join(defaults)} is stated, for lumens fed by {fed_by} of which nothing is stated"
            yield Gap(("limits", "flow"), what, ("fed",))

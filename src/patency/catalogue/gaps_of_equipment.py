"""What is not stated of carriers, machines, programmes and limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue.gaps import Gap, OpenQuestion
from patency.catalogue.machines import Sensor
from patency.catalogue.parts import parts
from patency.catalogue.programmes import Dose, StageKind
from patency.catalogue.sets import ReferenceLoad

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue.department import Department
    from patency.quantities import Limit

# Which question each limit of the site is for. A fixed window on pressure decides nothing, so it leaves nothing open.
_LIMITS: dict[str, dict[str, tuple[OpenQuestion, ...]]] = {
    "load": {
        "drain_angle": ("reached",),
        "arm_clearance": ("fits",),
        "hose_bend_ratio": ("fits",),
        "nozzle_share_of_bore": ("fits",),
        "nozzle_depth": ("fits",),
        "tipping_reserve": ("held",),
        "longest_chain": ("fits",),
    },
    "flow": {
        "bore_tolerance": ("fed",),
        "rod_tolerance": ("fed",),
        "roughness": ("fed",),
        "roughness_factor": ("fed",),
        "loss_tolerance": ("fed",),
        "pump_tolerance": ("fed",),
    },
    "cycle": {
        "a0_target": ("suited", "verdict"),
        "disinfection_band": ("verdict",),
        "first_rinse_highest": ("verdict",),
        "cleaning_temperature_tolerance": ("verdict",),
        "dose_tolerance": ("verdict",),
        "final_rinse_conductivity": ("verdict",),
        "arm_rotation_least": ("verdict",),
        "arm_rotation_highest": ("verdict",),
        "longest_gap": ("verdict",),
    },
}
# One of these is enough to hold a lumen's flow against, where nothing else is stated for the lumen.
_LEAST = ("least_shear", "least_flow", "least_velocity", "least_exchanges")


def equipment_gaps(department: Department) -> Iterator[Gap]:
    """Find what is not stated of carriers, machines and programmes.

    Parameters
    ----------
    department
        The department.

    Yields
    ------
    Gap
        One for each datum.
    """
    for key, carrier in department.carriers.items():
        if carrier.mass_limit_kg is None:
            yield Gap(("carriers", key, "mass_limit"), "the heaviest load is not stated", ("fits",))
    for path, sensor in parts(department.machine_kinds, Sensor, ("machine_kinds",)):
        if sensor.uncertainty is None:
            yield Gap((*path, "uncertainty"), "the sensor's uncertainty is not stated", ("verdict",))
    for key, programme in department.programmes.items():
        path = ("programmes", key)
        disinfects = any(stage.kind is StageKind.DISINFECT for stage in programme.stages)
        if disinfects and programme.a0_target_s is None:
            yield Gap((*path, "a0_target"), "the A0 it is designed for is not stated", ("suited",))
        for inner, dose in parts(programme, Dose, path):
            if dose.ph is None:
                yield Gap((*inner, "ph"), f"the pH of {dose.agent} is not stated", ("suited",))


def limit_gaps(department: Department) -> Iterator[Gap]:
    """Find limits of the site that are not stated or do not hold on the department's day.

    Parameters
    ----------
    department
        The department.

    Yields
    ------
    Gap
        One for each limit.
    """
    day = department.day.date if department.day else None
    for group, limits in _LIMITS.items():
        stated = getattr(department.limits, group)
        for key, questions in limits.items():
            fault = _fault(getattr(stated, key), day)
            if fault:
                yield Gap(("limits", group, key), fault, questions)
    least = {key: getattr(department.limits.flow, key) for key in _LEAST}
    if all(_fault(limit, day) for limit in least.values()):
        words = ", ".join(_LEAST)
        what = f"none of {words} is stated, for lumens whose instructions state nothing"
        yield Gap(("limits", "flow"), what, ("fed",))
    for path, load in parts(department.reference_loads, ReferenceLoad, ("reference_loads",)):
        if day is not None and not (load.valid_from <= day <= (load.valid_until or day)):
            yield Gap(path, f"the validation does not hold on {day}", ("fed",))


def _fault(limit: Limit | None, day: date | None) -> str:
    """Say why a limit cannot be used; empty where it can."""
    if limit is None:
        return "the limit is not stated"
    return "" if day is None or limit.holds_on(day) else f"the limit does not hold on {day}"

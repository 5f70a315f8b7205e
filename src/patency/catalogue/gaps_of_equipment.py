"""What is not stated of carriers, machines, programmes and limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue.gaps import Gap, OpenQuestion, limit_fault
from patency.catalogue.machines import Sensor
from patency.catalogue.parts import parts
from patency.catalogue.programmes import Dose, Stage, StageKind
from patency.catalogue.steam import SteamLimits

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.department import Department
    from patency.catalogue.machines import MachineKind

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
        "calibration_interval": ("verdict",),
        "first_rinse_highest": ("verdict",),
        "cleaning_temperature_tolerance": ("verdict",),
        "dose_tolerance": ("verdict",),
        "final_rinse_conductivity": ("verdict",),
        "rinse_carry_over": ("verdict",),
        "fastest_heating": ("verdict",),
        "slowest_heating": ("verdict",),
        "rinse_temperature_tolerance": ("verdict",),
        "last_water_share": ("verdict",),
        "arm_rotation_least": ("verdict",),
        "arm_rotation_highest": ("verdict",),
        "arm_readings_aside": ("verdict",),
        "arm_speed_tolerance": ("verdict",),
        "unsteady_share": ("verdict",),
        "running_share": ("verdict",),
        "pressure_swing": ("verdict",),
        "false_alarms": ("verdict",),
        "false_rejects": ("verdict",),
        "drying_temperature_tolerance": ("verdict",),
        "longest_gap": ("verdict",),
    },
}

# Asked for where the department has programmes of a steam sterilizer. The reference of F0 decides nothing.
_STEAM_LIMITS: dict[str, tuple[OpenQuestion, ...]] = {
    name: ("verdict",) for name in SteamLimits.model_fields if name != "f0_reference"
}


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
        for name, level in carrier.levels.items():
            if level.arm_above_m is None and any(port.level == name for port in carrier.ports.values()):
                what = "whether an arm turns above its ports is not stated; none states that none does"
                yield Gap(("carriers", key, "levels", name, "arm_above"), what, ("fits",))
    for path, sensor in parts(department.machine_kinds, Sensor, ("machine_kinds",)):
        if sensor.uncertainty is None:
            yield Gap((*path, "uncertainty"), "the sensor's uncertainty is not stated", ("verdict",))
        if sensor.quantity == "pressure" and sensor.height_m is None:
            yield Gap((*path, "height"), "the height of the pressure sensor's tap is not stated", ("verdict",))
    for key, kind in department.machine_kinds.items():
        yield from _unknown_speeds(key, kind)
    for key, machine in department.machines.items():
        described = department.machine_kinds.get(machine.kind)
        for name, sensor in described.sensors.items() if described else ():
            if sensor.quantity == "pressure" and name not in machine.sensor_offsets:
                path = ("machines", key, "sensor_offsets")
                yield Gap(path, f"what the pressure sensor {name} shows too much is not stated", ("verdict",))
    for key, steam in department.steam_programmes.items():
        if steam.sensors is None:
            what = "how many sensors the record of a cycle holds is not stated"
            yield Gap(("steam_programmes", key, "sensors"), what, ("verdict",))
    for key, programme in department.programmes.items():
        path = ("programmes", key)
        disinfects = any(stage.kind is StageKind.DISINFECT for stage in programme.stages)
        if disinfects and programme.a0_target_s is None:
            yield Gap((*path, "a0_target"), "the A0 it is designed for is not stated", ("suited",))
        for inner, stage in parts(programme, Stage, path):
            if stage.kind.wet and stage.water is None:
                yield Gap((*inner, "water"), f"the quality of the water in {stage.name} is not stated", ("suited",))
            if stage.kind.wet and stage.pump_speed is None:
                what = f"the speed of the pump in {stage.name} is not stated; 1 states its usual speed"
                yield Gap((*inner, "pump_speed"), what, ("fed", "verdict"))
            if stage.kind.wet and stage.doses is None:
                what = f"what is dosed in {stage.name} is not stated; [] states that nothing is"
                yield Gap((*inner, "doses"), what, ("suited", "verdict"))
            if stage.kind is StageKind.RINSE and stage.doses and None in stage.conductivities:
                what = f"what the water at the end of {stage.name} conducts is not stated"
                yield Gap((*inner, "least_conductivity"), what, ("verdict",))
        for inner, dose in parts(programme, Dose, path):
            if dose.ph is None:
                yield Gap((*inner, "ph"), f"the pH of {dose.agent} is not stated", ("suited",))


def _unknown_speeds(key: str, kind: MachineKind) -> Iterator[Gap]:
    """Find arms whose speed is recorded, but nobody says how fast they should turn at which pressure."""
    for name in dict.fromkeys(sensor.place for sensor in kind.sensors.values() if sensor.quantity == "rotation"):
        arm = kind.arms.get(name)
        if arm is not None and None in (arm.rotation_rpm, arm.rotation_at_pa):
            what = f"how fast {name} turns at which pressure is not stated"
            yield Gap(("machine_kinds", key, "arms", name, "rotation_at"), what, ("verdict",))


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
    asked = {**_LIMITS, "steam": _STEAM_LIMITS} if department.steam_programmes else _LIMITS
    for group, limits in asked.items():
        stated = getattr(department.limits, group)
        for key, questions in limits.items():
            fault = limit_fault(getattr(stated, key), day)
            if fault:
                yield Gap(("limits", group, key), fault, questions)

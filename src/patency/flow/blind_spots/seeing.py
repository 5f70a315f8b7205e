"""Which faults of a load the fitted sensors can see, and the fewest glances that show the others."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.blind_spots.cover import smallest_cover
from patency.flow.blind_spots.detection import detection_probabilities
from patency.flow.blind_spots.doubts import AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD, sensor_doubts
from patency.flow.blind_spots.eye_checks import eye_checks, seen_by_nobody
from patency.flow.faults.fault import FaultKind
from patency.flow.gaps import doubt_not_known

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Department, MachineKind, Sensor
    from patency.flow.blind_spots.doubts import Repeatability
    from patency.flow.blind_spots.eye_checks import EyeCheck
    from patency.flow.faults.effects import FaultEffects
    from patency.flow.faults.fault import Fault
    from patency.flow.solved_load import SolvedLoad
    from patency.load import Load

    Floats = NDArray[np.float64]

COMPARISONS = (AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD)
_TEMPERATURE_DEVIATION_K = 1.0  # where no sensor of temperature states its uncertainty; assumed, no source


@dataclass(frozen=True, slots=True)
class Alarm:
    """What counts as seen.

    Parameters
    ----------
    false_alarms
        Share of cycles without fault in which the sensors may raise an alarm, all of them together [-].
    least_probability
        How likely an alarm has to be for a fault to count as seen [-].
    """

    false_alarms: float = 0.01
    least_probability: float = 0.99


@dataclass(frozen=True, slots=True)
class BlindSpots:
    """What the sensors see of the faults of a load, and what people look at.

    Parameters
    ----------
    faults
        The faults of the load.
    alarm
        What counts as seen.
    probability
        For each comparison the probability of an alarm, shape (faults,) [-].
    comparison
        The comparison that decides what is blind.
    blind
        Places of the faults that the sensors do not see in it.
    checks
        The fewest glances that show all of these, in the order of the walk, when loading first.
    least_checks
        No choice has fewer glances; equal to the number of checks where that is proven.
    unseen
        Places of the blind faults that no glance shows either.
    not_known
        What is not stated, so that pressures and flows count as showing nothing, in words; empty where nothing is.
    """

    faults: tuple[Fault, ...]
    alarm: Alarm
    probability: Mapping[str, Floats]
    comparison: str
    blind: tuple[int, ...]
    checks: tuple[EyeCheck, ...]
    least_checks: int
    unseen: tuple[int, ...]
    not_known: str = ""


def blind_spots_of_load(
    department: Department,
    load: Load,
    solved: SolvedLoad,
    effects: FaultEffects,
    alarm: Alarm,
    comparison: Repeatability = AGAINST_THE_MODEL,
) -> BlindSpots:
    """Find which faults the fitted sensors cannot see, and the fewest glances that show them.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    solved
        The load as planned.
    effects
        What its faults do.
    alarm
        What counts as seen.
    comparison
        What readings are compared with.

    Returns
    -------
    BlindSpots
        Probabilities in both comparisons, and the glances that the one asked for leaves.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    machine = department.machine_kinds[load.machine_kind]
    doubts = sensor_doubts(solved, effects.sensors, temperature_deviation_k(machine))
    each = false_alarms_of_each(department, machine, alarm)
    turning = seen_by_rotation(department, machine, effects.faults, each)
    moved = mean_movement(effects.shown, effects.planned_shown)
    probability = {}
    for one in COMPARISONS:
        by_water = detection_probabilities(moved, doubts.covariance(one), each)
        probability[one.name] = either(by_water, turning)
    seen = probability[comparison.name] >= alarm.least_probability
    blind = tuple(int(place) for place in np.flatnonzero(~seen))
    looked_for = [effects.faults[place] for place in blind]
    offered = eye_checks(department.carriers[load.carrier], looked_for)
    chosen, least = smallest_cover(list(offered.values()))
    checks = list(offered)
    return BlindSpots(
        faults=effects.faults,
        alarm=alarm,
        probability=probability,
        comparison=comparison.name,
        blind=blind,
        checks=tuple(checks[place] for place in chosen),
        least_checks=least,
        unseen=tuple(blind[place] for place in seen_by_nobody(looked_for)),
        not_known=doubt_not_known(solved.network),
    )


def either(one: Floats, other: Floats) -> Floats:
    """Say how likely at least one of two independent things happens.

    Parameters
    ----------
    one
        Shape (faults,): probability of the first [-].
    other
        Shape (faults,): probability of the second [-].

    Returns
    -------
    NDArray
        Shape (faults,) [-].
    """
    return np.asarray(1.0 - (1.0 - one) * (1.0 - other))


def mean_movement(shown: Floats, planned_shown: Floats) -> Floats:
    """Work out by how much each fault moves each reading, as the mean over the stages.

    Parameters
    ----------
    shown
        Shape (stages, faults, sensors): what each sensor shows with each fault [Pa or m³/s].
    planned_shown
        Shape (stages, sensors): the same without [Pa or m³/s].

    Returns
    -------
    NDArray
        Shape (faults, sensors) [Pa or m³/s]; not-a-number where it is not known.
    """
    return np.asarray((shown - planned_shown[:, None, :]).mean(axis=0))


def temperature_deviation_k(machine: MachineKind) -> float:
    """Take the standard deviation of the water's temperature from the best sensor of it.

    Parameters
    ----------
    machine
        The kind of machine.

    Returns
    -------
    float
        Half the least expanded uncertainty; 1 K where none is stated.
    """
    stated = [
        sensor.uncertainty
        for sensor in machine.sensors.values()
        if sensor.quantity == "temperature" and sensor.uncertainty is not None
    ]
    return min(stated) / 2.0 if stated else _TEMPERATURE_DEVIATION_K


def false_alarms_of_each(department: Department, machine: MachineKind, alarm: Alarm) -> float:
    """Share the false alarms evenly between the alarm on the water's readings and that of each sensor of rotation.

    Parameters
    ----------
    department
        The department, for the least rotation that is allowed.
    machine
        The kind of machine.
    alarm
        What counts as seen.

    Returns
    -------
    float
        How often each may go off without fault, so that any of them does no more often than asked [-].

    Notes
    -----
    The chance that any of some things happens is at most the sum of theirs (C. E. Bonferroni, 1936), whether they are
    independent or not.
    """
    return alarm.false_alarms / (1 + len(_turning_sensors(department, machine)))


def seen_by_rotation(
    department: Department, machine: MachineKind, faults: Sequence[Fault], false_alarms: float
) -> Floats:
    """Say how likely a sensor of rotation shows an arm that no longer turns: its reading falls to nothing.

    Parameters
    ----------
    department
        The department, for the least rotation that is allowed.
    machine
        The kind of machine.
    faults
        The faults.
    false_alarms
        How often the alarm of each sensor goes off without fault [-].

    Returns
    -------
    NDArray
        Shape (faults,): the probability; 0 where it shows nothing [-].
    """
    found = np.zeros(len(faults))
    for sensor, deviation, least_rpm in _turning_sensors(department, machine):
        normal = NormalDist(0.0, deviation)
        below = least_rpm + normal.inv_cdf(false_alarms)
        for place, fault in enumerate(faults):
            if fault.kind in {FaultKind.ARM_STUCK, FaultKind.ARM_LOST} and fault.place == sensor.place:
                found[place] = normal.cdf(below)
    return found


def _turning_sensors(department: Department, machine: MachineKind) -> list[tuple[Sensor, float, float]]:
    """List the sensors of rotation that can raise an alarm, with their deviation and the least speed [1/min]."""
    least = department.limits.cycle.arm_rotation_least
    return [
        (sensor, sensor.uncertainty / 2.0, least.value)
        for sensor in machine.sensors.values()
        if sensor.quantity == "rotation" and sensor.uncertainty and least is not None
    ]

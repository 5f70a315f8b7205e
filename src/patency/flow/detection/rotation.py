"""What sensors of rotation show: an arm that no longer turns."""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.faults.fault import FaultKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import Department, MachineKind, Sensor
    from patency.flow.detection.alarm import Alarm
    from patency.flow.faults.fault import Fault

    Floats = NDArray[np.float64]


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
    shown = arms_shown(department, machine, false_alarms)
    for place, fault in enumerate(faults):
        if fault.kind in {FaultKind.ARM_STUCK, FaultKind.ARM_LOST}:
            found[place] = shown.get(fault.place, 0.0)
    return found


def arms_shown(department: Department, machine: MachineKind, false_alarms: float) -> dict[str, float]:
    """Say of each arm with a sensor how likely that sensor alarms when the arm no longer turns.

    Parameters
    ----------
    department
        The department, for the least rotation that is allowed.
    machine
        The kind of machine.
    false_alarms
        How often the alarm of each sensor goes off without fault [-].

    Returns
    -------
    dict[str, float]
        Arm to the probability [-]; arms whose sensor can raise no alarm are left out.
    """
    found = {}
    for sensor, deviation, least_rpm in _turning_sensors(department, machine):
        normal = NormalDist(0.0, deviation)
        found[sensor.place] = normal.cdf(least_rpm + normal.inv_cdf(false_alarms))
    return found


def _turning_sensors(department: Department, machine: MachineKind) -> list[tuple[Sensor, float, float]]:
    """List the sensors of rotation that can raise an alarm, with their deviation and the least speed [1/min]."""
    least = department.limits.cycle.arm_rotation_least
    return [
        (sensor, sensor.uncertainty / 2.0, least.value)
        for sensor in machine.sensors.values()
        if sensor.quantity == "rotation" and sensor.uncertainty and least is not None
    ]

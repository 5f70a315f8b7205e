"""What pressure sensors and arms showed in each wet stage, as plain numbers for who asks what they can have been."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.case import Case
from patency.evidence.criteria import limit_fault
from patency.evidence.expected_pressure import expected_reading
from patency.evidence.machine_sensors import sensors_of_columns
from patency.evidence.process import part_of
from patency.evidence.stages import find_stages

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import CycleLimits, Programme
    from patency.evidence.prediction import LoadMachine, PressurePrediction
    from patency.evidence.record import CycleRecord


@dataclass(frozen=True, slots=True)
class PressureRead:
    """What a pressure sensor of the circulation showed in the steady part of a wet stage.

    Parameters
    ----------
    stage
        What the stage is called.
    sensor
        The sensor's key in its kind of machine.
    gauge_pa
        Median reading, reckoned at the level of the sump's water, what the sensor was found to show too much taken
        off [Pa].
    """

    stage: str
    sensor: str
    gauge_pa: float


@dataclass(frozen=True, slots=True)
class ArmRead:
    """What the sensor of an arm showed in the steady part of a wet stage.

    Parameters
    ----------
    stage
        What the stage is called.
    arm
        The arm: the place of the sensor.
    speed_rpm
        Median speed [rpm].
    """

    stage: str
    arm: str
    speed_rpm: float


@dataclass(frozen=True, slots=True)
class StagesRead:
    """What a record shows of the water's course.

    Parameters
    ----------
    pressures
        Readings of pressure.
    arms
        Readings of arms.
    left_out
        What could not be read and why, one sentence each.
    """

    pressures: tuple[PressureRead, ...]
    arms: tuple[ArmRead, ...]
    left_out: tuple[str, ...]


def read_stages(
    record: CycleRecord,
    programme: Programme,
    limits: CycleLimits,
    prediction: PressurePrediction,
    machine: LoadMachine,
    *,
    on: date,
) -> StagesRead:
    """Read off a record what its sensors of pressure and rotation showed in each wet stage.

    A pressure of which the height of the tap or the offset of the sensor would have to be assumed is left out, as the
    verdict leaves it not evaluated: nobody knows how far it is off.

    Parameters
    ----------
    record
        The record.
    programme
        The programme that should have run.
    limits
        The site's limits; they say which part of a stage is steady.
    prediction
        What was predicted for the load: at which level pressures are reckoned.
    machine
        The machine the load was planned for.
    on
        The day of the decision, on which limits must hold.

    Returns
    -------
    StagesRead
        The readings, and what could not be read.
    """
    found = find_stages(record, programme)
    case = Case(record, limits, on, found.moist, programme, found, prediction, machine=machine)
    keys = sensors_of_columns(record, machine)
    pressures, arms, left_out = [], [], []
    for span in found.wet:
        for trace in record.of("pressure", "circulation"):
            read = expected_reading(case, span, trace)
            if isinstance(read, str) or trace.name not in keys:
                why = read if isinstance(read, str) else "it is no sensor of the machine"
                left_out.append(f"{trace.name} in {span.called}: {why}")
                continue
            if read.assumed:
                left_out.append(f"{trace.name}: its readings would rest on something assumed ({read.assumed})")
                continue
            above_pa = read.expected_pa.nominal - read.gauge_pa
            pressures.append(PressureRead(span.called, keys[trace.name], read.value_pa - above_pa))
        unsteady = limits.unsteady_share
        if unsteady is None or limit_fault(unsteady, "1", on) is not None:
            continue
        for trace in record.of("rotation"):
            speeds = part_of(case, trace, span, (unsteady.value, 1 - unsteady.value))
            if trace.name in keys and speeds.size:
                place = machine.sensors[keys[trace.name]].place
                arms.append(ArmRead(span.called, place, float(np.median(speeds))))
    missing = [stage for position, stage in enumerate(case.called) if _wet_and_not_found(case, position)]
    left_out += [f"{stage}: the stage was not found in the record" for stage in missing]
    return StagesRead(tuple(pressures), tuple(arms), tuple(dict.fromkeys(left_out)))


def _wet_and_not_found(case: Case, position: int) -> bool:
    wet = case.programme.stages[position].kind.wet
    return wet and all(span.position != position for span in case.found.spans)

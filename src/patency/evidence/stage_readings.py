"""What sensors of pressure, flow and rotation showed in each wet stage: plain numbers for who asks what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.evidence.case import Case
from patency.evidence.criteria import limit_fault
from patency.evidence.expected_pressure import tap_reading
from patency.evidence.machine_code import compiled
from patency.evidence.process import part_of
from patency.evidence.stages import find_stages

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import CycleLimits, Programme
    from patency.evidence.found_stages import StageSpan
    from patency.evidence.prediction import LoadMachine, PressurePrediction
    from patency.evidence.record import CycleRecord, Trace


@dataclass(frozen=True, slots=True)
class WaterRead:
    """What a sensor of pressure or flow showed in the steady part of a wet stage.

    Parameters
    ----------
    stage
        What the stage is called.
    sensor
        The sensor's key in its kind of machine.
    value
        Median reading. Of a pressure reckoned above the surroundings at the level of the sump's water, what the sensor
        was found to show too much taken off [Pa]; of a flow [m³/s].
    """

    stage: str
    sensor: str
    value: float


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
    water
        Readings of pressure and flow.
    arms
        Readings of arms.
    left_out
        What could not be read and why, one sentence each.
    """

    water: tuple[WaterRead, ...]
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
    """Read off a record what its sensors of pressure, flow and rotation showed in each wet stage.

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
    water, left_out = water_read(case)
    keys = case.sensors
    arms = [
        ArmRead(span.called, machine.sensors[keys[trace.name]].place, speed)
        for span in found.wet
        for trace in record.of("rotation")
        if trace.name in keys and not isinstance(speed := _steady_median(case, span, trace), str)
    ]
    missing = [stage for position, stage in enumerate(case.called) if _wet_and_not_found(case, position)]
    left_out += [f"{stage}: the stage was not found in the record" for stage in missing]
    return StagesRead(tuple(water), tuple(arms), tuple(dict.fromkeys(left_out)))


def water_read(case: Case) -> tuple[list[WaterRead], list[str]]:
    """Read the sensors of pressure and flow off each wet stage that was found.

    Parameters
    ----------
    case
        The case, with the machine the load was planned for.

    Returns
    -------
    tuple[list[WaterRead], list[str]]
        The readings, and what was left out and why, one sentence each.
    """
    keys = case.sensors
    water, left_out = [], []
    for span in case.found.wet:
        for trace in case.record.of("pressure"):
            if trace.beside is not None or (trace.name not in keys and not trace.at("circulation")):
                continue  # of a second recorder, the surroundings, or what no sensor of the water's course measures
            read = tap_reading(case, span, trace)
            if isinstance(read, str) or trace.name not in keys:
                why = read if isinstance(read, str) else "it is no sensor of the machine"
                left_out.append(f"{trace.name} in {span.called}: {why}")
            elif read.assumed:
                left_out.append(f"{trace.name}: its readings would rest on something assumed ({read.assumed})")
            else:
                water.append(WaterRead(span.called, keys[trace.name], read.value_pa - read.more_pa))
        for trace in case.record.of("flow"):
            flow = _steady_median(case, span, trace) if trace.name in keys else "it is no sensor of the machine"
            if isinstance(flow, str):
                left_out.append(f"{trace.name} in {span.called}: {flow}")
            else:
                water.append(WaterRead(span.called, keys[trace.name], flow))
    return water, left_out


def _steady_median(case: Case, span: StageSpan, trace: Trace) -> float | str:
    """Return the median reading in the steady part of a stage, or why there is none."""
    unsteady = case.limits.unsteady_share
    fault = limit_fault(unsteady, "1", case.on)
    if unsteady is None or fault:
        return f"unsteady share of a stage: {fault}"
    values = part_of(case, trace, span, (unsteady.value, 1 - unsteady.value))
    if not values.size:
        return "the sensor shows no value in the steady part of the stage"
    median: float = compiled("quantile")(values, 0.5)
    return median


def _wet_and_not_found(case: Case, position: int) -> bool:
    wet = case.programme.stages[position].kind.wet
    return wet and all(span.position != position for span in case.found.spans)

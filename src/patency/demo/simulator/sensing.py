"""The simulated machine's sensors and its recorder: the truth with small errors, written as a cycle record."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.demo.simulator.faults import ClockStep, Fault, LoggerStopped, SensorError, SwappedChannels
from patency.demo.simulator.machine import Course, MachineModel, run_cycle
from patency.quantities import UNITS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import MachineKind, Programme, Sensor, SensorOffset

# Weight of a column of water, within 2 % from 15 to 95 °C [Pa/m].
_COLUMN_PA_M = 980.0 * 9.80665
_DIGITS = {"temperature": 2, "pressure": 1, "flow": 2, "rotation": 1, "conductivity": 1, "dosed volume": 1}
# With the pressure at the circulation a flow grows as its root, another pressure of the water's course as it does.
_POWERS = {"flow": 0.5, "pressure": 1.0}


@dataclass(frozen=True, slots=True)
class SimulatedSensor:
    """A sensor as it is described, and its own small error.

    Parameters
    ----------
    column
        Name of its column.
    quantity
        What it measures.
    unit
        Unit of its column: degC, mbar, L/min, rpm, uS/cm or mL.
    place
        Where it measures.
    uncertainty
        Stated uncertainty in its unit; None where none is stated.
    offset
        Its own constant error in its unit.
    noise
        Standard deviation of its readings in its unit.
    height_m
        Height of a pressure sensor's tap above the sump's water [m].
    shows
        Name of each wet stage to what it truly shows there, in its unit and reckoned at the sump's level: of a flow
        sensor, and of a pressure sensor elsewhere than at the circulation; empty for the others.
    """

    column: str
    quantity: str
    unit: str
    place: str
    uncertainty: float | None = None
    offset: float = 0.0
    noise: float = 0.0
    height_m: float = 0.0
    shows: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Recorder:
    """How the record is written.

    Parameters
    ----------
    stage_column
        Name of the column for the machine's own word for the stage; None writes none.
    machine
        Name of the machine in the description; None writes none.
    programme
        How the description names the programme; None writes none.
    jitter_s
        Standard deviation of the recorder's clock [s].
    interval_s
        Every how many seconds it writes [s].
    calibrated
        When its sensors were calibrated last, such as ``2026-01-12``; None writes nothing.
    """

    stage_column: str | None = "step"
    machine: str | None = None
    programme: str | None = None
    jitter_s: float = 0.02
    interval_s: int = 1
    calibrated: str | None = "2026-01-12"


def sensors_of(
    kind: MachineKind,
    rng: np.random.Generator,
    offsets: Mapping[str, SensorOffset] | None = None,
    shows: Mapping[str, Mapping[str, float]] | None = None,
) -> tuple[SimulatedSensor, ...]:
    """Return the sensors of a machine with small own errors: a quarter of the uncertainty, normally.

    Parameters
    ----------
    kind
        The kind of machine.
    rng
        Source of the errors.
    offsets
        What its sensors were found to show too much, by their keys; nothing when left out.
    shows
        What its sensors of flow, and those of pressure elsewhere than at the circulation, truly show in each wet stage
        [m³/s, Pa], by their keys; such a sensor that is left out is not recorded.

    Returns
    -------
    tuple
        One for each sensor that a cycle record can hold.
    """
    return tuple(
        SimulatedSensor(
            column=column,
            quantity=sensor.quantity,
            unit=sensor.unit,
            place=sensor.place,
            uncertainty=sensor.uncertainty,
            offset=(offsets[column].value if offsets and column in offsets else 0.0)
            + (0.0 if sensor.uncertainty is None else float(rng.normal(0.0, sensor.uncertainty / 4))),
            noise=0.0 if sensor.uncertainty is None else sensor.uncertainty / 10,
            height_m=0.0 if sensor.height_m is None else sensor.height_m - kind.pump.sump_level_m,
            shows=_in_unit(sensor, (shows or {}).get(column, {})),
        )
        for column, sensor in kind.sensors.items()
        if sensor.quantity in _DIGITS and (not _elsewhere(sensor) or column in (shows or {}))
    )


def _elsewhere(sensor: Sensor) -> bool:
    """Tell whether what a sensor shows does not follow from the pressure at the circulation alone."""
    return sensor.quantity == "flow" or (sensor.quantity == "pressure" and sensor.place != "circulation")


def _in_unit(sensor: Sensor, shows: Mapping[str, float]) -> dict[str, float]:
    if not shows:
        return {}
    factor, offset = UNITS[sensor.quantity][sensor.unit]
    return {stage: (value - float(offset)) / float(factor) for stage, value in shows.items()}


def simulate(
    prescription: Programme,
    true_pressures_pa: Mapping[str, float],
    sensors: Sequence[SimulatedSensor],
    faults: Sequence[Fault],
    rng: np.random.Generator,
    *,
    machine: MachineModel | None = None,
    recorder: Recorder | None = None,
) -> tuple[str, str]:
    """Simulate the record of one cycle.

    Parameters
    ----------
    prescription
        The programme.
    true_pressures_pa
        Name of each wet stage to the pressure that truly stands at the circulation in it [Pa].
    sensors
        The sensors.
    faults
        What goes wrong.
    rng
        Source of noise.
    machine
        The machine; one of common size when left out.
    recorder
        How the record is written; with a stage column when left out.

    Returns
    -------
    tuple
        Text of the record (CSV) and of its description (YAML).
    """
    course = run_cycle(prescription, true_pressures_pa, faults, machine)
    return write_down(course, sensors, faults, rng, recorder or Recorder())


def write_down(
    course: Course,
    sensors: Sequence[SimulatedSensor],
    faults: Sequence[Fault],
    rng: np.random.Generator,
    recorder: Recorder,
) -> tuple[str, str]:
    """Write down what sensors show of a cycle.

    Parameters
    ----------
    course
        What truly happened.
    sensors
        The sensors.
    faults
        What goes wrong with sensors and recorder; the others are in the course already.
    rng
        Source of noise.
    recorder
        How the record is written.

    Returns
    -------
    tuple
        Text of the record (CSV) and of its description (YAML).
    """
    stamps = course.time_s + rng.normal(0.0, recorder.jitter_s, course.time_s.size).clip(-0.2, 0.2)
    columns = {"time": _clock(stamps - stamps[0], faults)}
    for sensor in sensors:
        readings = _readings(course, sensor, faults, rng)
        columns[sensor.column] = [f"{reading:.{_DIGITS[sensor.quantity]}f}" for reading in readings]
    for swap in faults:
        if isinstance(swap, SwappedChannels):
            columns[swap.first], columns[swap.second] = columns[swap.second], columns[swap.first]
    if recorder.stage_column is not None:
        columns[recorder.stage_column] = list(course.stages)
    written = np.arange(course.time_s.size) % recorder.interval_s == 0
    for stop in faults:
        if isinstance(stop, LoggerStopped):
            written &= ~((course.time_s >= stop.after_s) & (course.time_s < stop.after_s + stop.lasts_s))
    rows = [row for row, kept in zip(zip(*columns.values(), strict=True), written, strict=True) if kept]
    text = "\n".join([",".join(columns), *(",".join(row) for row in rows)]) + "\n"
    return text, _description(sensors, recorder)


def _clock(time_s: NDArray[np.float64], faults: Sequence[Fault]) -> list[str]:
    """Return what the recorder's clock shows."""
    shown = time_s.copy()
    for step in faults:
        if isinstance(step, ClockStep):
            shown[time_s >= step.after_s] += step.by_s
    return [f"{stamp:.2f}" for stamp in shown]


def _readings(
    course: Course, sensor: SimulatedSensor, faults: Sequence[Fault], rng: np.random.Generator
) -> NDArray[np.float64]:
    readings = _truth_at(course, sensor) + sensor.offset
    if sensor.quantity == "dosed volume":  # a meter errs by a share of what it counts and has no noise at rest
        readings = _truth_at(course, sensor) * (1 + sensor.offset / 100)
    else:
        readings = readings + rng.normal(0.0, sensor.noise, readings.size)
    for fault in faults:
        if isinstance(fault, SensorError) and fault.column == sensor.column:
            readings = readings * fault.factor + fault.offset
    return readings


def _truth_at(course: Course, sensor: SimulatedSensor) -> NDArray[np.float64]:
    """Return what a sensor without error would read, in its unit."""
    if sensor.quantity == "temperature":
        return course.load_c if sensor.place.casefold().startswith("load") else course.chamber_c
    if sensor.shows:
        return _elsewhere_shown(course, sensor)
    if sensor.quantity == "pressure":
        return np.maximum(course.pressure_pa - _COLUMN_PA_M * sensor.height_m, 0.0) / 100.0  # at rest it has run dry
    if sensor.quantity == "rotation":
        return course.rotation_rpm
    if sensor.quantity == "conductivity":
        return course.conductivity_us_cm
    words = set(sensor.place.casefold().split())
    meant = [volume for agent, volume in course.dosed_m3.items() if words <= set(agent.casefold().split())]
    return np.sum(meant, axis=0) * 1e6 if meant else np.zeros_like(course.time_s)


def _elsewhere_shown(course: Course, sensor: SimulatedSensor) -> NDArray[np.float64]:
    """Return what a sensor of flow, or of pressure elsewhere, reads: it follows the circulation."""
    shown = np.zeros_like(course.time_s)
    wet = dict.fromkeys(
        place for place, word in zip(course.positions.tolist(), course.stages, strict=True) if StageKind(word).wet
    )
    for position, value in zip(wet, sensor.shows.values(), strict=True):
        at = course.positions == position
        highest = course.pressure_pa[at].max(initial=0.0)
        if highest > 0.0:
            shown[at] = value * (course.pressure_pa[at] / highest) ** _POWERS[sensor.quantity]
    column = _COLUMN_PA_M * sensor.height_m / 100.0 if sensor.quantity == "pressure" else 0.0
    return np.maximum(shown - column, 0.0)


def _description(sensors: Sequence[SimulatedSensor], recorder: Recorder) -> str:
    lines = ["format: patency-record/1", "time: {column: time, unit: s}", "columns:"]
    for sensor in sensors:
        told = [f"quantity: {sensor.quantity}", f"unit: {sensor.unit}"]
        told += ["reference: gauge"] if sensor.quantity == "pressure" else []
        told += [f'place: "{sensor.place}"']
        told += [f"uncertainty: {sensor.uncertainty:g}"] if sensor.uncertainty is not None else []
        told += [f"calibrated: {recorder.calibrated}"] if recorder.calibrated is not None else []
        lines.append(f"  {sensor.column}: {{{', '.join(told)}}}")
    if recorder.stage_column is not None:
        lines.append(f"  {recorder.stage_column}: {{quantity: stage}}")
    lines += [f'machine: "{recorder.machine}"'] if recorder.machine is not None else []
    lines += [f'programme: "{recorder.programme}"'] if recorder.programme is not None else []
    return "\n".join(lines) + "\n"

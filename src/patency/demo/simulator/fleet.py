"""Many simulated cycles, no two alike: machines, programmes, sensors and recorders drawn at random, faults on demand.

What truly happened goes along with each record, so that what the evidence says can be scored.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import StageKind
from patency.demo.simulator.faults import (
    ArmDrags,
    ArmStuck,
    Cavitation,
    ClockStep,
    Foam,
    LoggerStopped,
    MissedDose,
    PowerDip,
    PumpPause,
    SensorError,
    ShortHold,
    SwappedChannels,
    WeakHeater,
)
from patency.demo.simulator.machine import MachineModel, run_cycle
from patency.demo.simulator.sensing import Recorder, SimulatedSensor, sensors_of, write_down

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from patency.catalogue import MachineKind, Programme, SensorOffset
    from patency.demo.simulator.faults import Fault
    from patency.demo.simulator.machine import Course

FAULTS = (
    "short hold",
    "load sensor reads low",
    "pressure sensor reads low",
    "dose missed",
    "foam",
    "cavitation",
    "heater weak",
    "arm stuck",
    "arm drags",
    "power dip",
    "clock set back",
    "clock set forward",
    "swapped channels",
    "logger stopped",
)


# By what share the pressure of a stage differs from cycle to cycle of the same load: standard deviation.
_PRESSURE_SCATTER = 0.004


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedCycle:
    """One cycle of the fleet with its truth.

    Parameters
    ----------
    record, description
        What was written.
    fault
        What went wrong, one of ``FAULTS``; None where nothing did.
    pressures_pa
        Name of each wet stage to the pressure to expect at the level of the sump's water [Pa].
    bounds_s
        When each stage of the programme began and ended [s].
    """

    record: str
    description: str
    fault: str | None
    pressures_pa: Mapping[str, float]
    bounds_s: tuple[tuple[float, float], ...]


def simulate_one(
    prescription: Programme,
    kind: MachineKind,
    rng: np.random.Generator,
    fault: str | None = None,
    *,
    recorder: Recorder | None = None,
    offsets: Mapping[str, SensorOffset] | None = None,
) -> SimulatedCycle:
    """Simulate a cycle of a machine drawn at random.

    Parameters
    ----------
    prescription
        The programme.
    kind
        The kind of machine, for its sensors.
    rng
        Source of everything that differs from cycle to cycle.
    fault
        What goes wrong, one of ``FAULTS``; nothing when left out.
    recorder
        How the record is written; without a stage column when left out.
    offsets
        What the machine's sensors were found to show too much.

    Returns
    -------
    SimulatedCycle
        The record and its truth.
    """
    pressures = {
        stage.name: float(rng.uniform(17000.0, 26000.0)) * (stage.pump_speed or 1.0) ** 2
        for stage in prescription.stages
        if stage.kind.wet
    }
    recorder = replace(recorder or Recorder(stage_column=None), interval_s=int(rng.choice([1, 1, 2])))
    sensors = sensors_of(kind, rng, offsets)
    machine = _drawn_machine(rng)
    faults: list[Fault] = [] if rng.random() < 0.5 else [_harmless_pause(prescription, rng)]
    if fault is not None:
        faults += _DRAWN[fault](prescription, sensors, rng)
    true = {name: pressure * float(rng.normal(1.0, _PRESSURE_SCATTER)) for name, pressure in pressures.items()}
    course = run_cycle(prescription, true, faults, machine, rng)
    record, description = write_down(course, sensors, faults, rng, recorder)
    return SimulatedCycle(record, description, fault, pressures, _bounds(course))


def earlier_pressures(
    kind: MachineKind, pressures_pa: Mapping[str, float], cycles: int, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Draw what the pressure sensor showed in earlier cycles of the same load, which scatter as `simulate_one` has it.

    Parameters
    ----------
    kind
        The kind of machine.
    pressures_pa
        Name of each wet stage to the pressure to expect [Pa].
    cycles
        How many cycles.
    rng
        Source of what differs from cycle to cycle.

    Returns
    -------
    numpy.ndarray
        Shape (cycles, stages), reckoned at the level of the sump's water [Pa].
    """
    expected = np.array(list(pressures_pa.values()))
    true = expected * rng.normal(1.0, _PRESSURE_SCATTER, (cycles, expected.size))
    drawn = (sensors_of(kind, rng) for _ in range(cycles))
    errors = [sensor.offset for sensors in drawn for sensor in sensors if sensor.quantity == "pressure"]
    return true + 100.0 * np.array(errors)[:, None]  # mbar


def _bounds(course: Course) -> tuple[tuple[float, float], ...]:
    found = (np.flatnonzero(course.positions == position) for position in range(int(course.positions[-1]) + 1))
    return tuple((float(course.time_s[part[0]]), float(course.time_s[part[-1]])) for part in found)


def _drawn_machine(rng: np.random.Generator) -> MachineModel:
    return MachineModel(
        water_kg=float(rng.uniform(20.0, 38.0)),
        metal_j_k=float(rng.uniform(25e3, 70e3)),
        heater_w=float(rng.uniform(9e3, 18e3)),
        loss_w_k=float(rng.uniform(15.0, 40.0)),
        room_c=float(rng.uniform(18.0, 28.0)),
        cold_c=float(rng.uniform(8.0, 19.0)),
        warm_c=float(rng.uniform(50.0, 60.0)),
        control_margin_k=float(rng.uniform(1.4, 2.2)),
        fill_s=int(rng.integers(20, 60)),
        drain_s=int(rng.integers(12, 45)),
        utility_us_cm=float(rng.uniform(150.0, 600.0)),
        critical_us_cm=float(rng.uniform(2.0, 10.0)),
        carried_over=float(rng.uniform(0.02, 0.06)),
        arm_rpm=float(rng.uniform(28.5, 31.5)),
        runs_on_s=int(rng.integers(4, 11)),
        spread_s=int(rng.integers(0, 3)),
        priming_s=int(rng.choice([0, 0, 3, 5])),
    )


def _held(prescription: Programme, rng: np.random.Generator, *kinds: StageKind) -> tuple[str, float]:
    """Draw a stage of certain kinds: its name and how long it holds."""
    stages = [stage for stage in prescription.stages if stage.kind in kinds]
    stage = stages[int(rng.integers(len(stages)))]
    return stage.name, stage.hold_s


def _wet(prescription: Programme, rng: np.random.Generator) -> tuple[str, float]:
    return _held(prescription, rng, *(kind for kind in StageKind if kind.wet))


def _harmless_pause(prescription: Programme, rng: np.random.Generator) -> Fault:
    """Draw a pause of the pump that takes nothing away: the disinfection is longer at temperature than asked for."""
    name, hold_s = _held(prescription, rng, StageKind.CLEAN)
    return PumpPause(name, float(rng.uniform(0.2, 0.7)) * hold_s, float(rng.uniform(3.0, 12.0)))


def _short_hold(prescription: Programme, _: object, rng: np.random.Generator) -> list[Fault]:
    name, _hold_s = _held(prescription, rng, StageKind.DISINFECT, StageKind.CLEAN)
    return [ShortHold(name, float(rng.uniform(0.2, 0.65)))]


def _low(column: str, low: float, high: float) -> Callable[..., list[Fault]]:
    def drawn(_: object, __: object, rng: np.random.Generator) -> list[Fault]:
        return [SensorError(column, offset=-float(rng.uniform(low, high)))]

    return drawn


def _missed_dose(prescription: Programme, _: object, rng: np.random.Generator) -> list[Fault]:
    doses = [(stage.name, dose.agent) for stage in prescription.stages for dose in stage.doses or ()]
    return [MissedDose(*doses[int(rng.integers(len(doses)))])]


def _foam(prescription: Programme, _: object, rng: np.random.Generator) -> list[Fault]:
    name, _hold_s = _held(prescription, rng, StageKind.CLEAN)
    return [Foam(name, float(rng.uniform(0.05, 0.3)), float(rng.uniform(0.1, 0.3)))]


def _cavitation(prescription: Programme, _: object, rng: np.random.Generator) -> list[Fault]:
    name, _hold_s = _held(prescription, rng, StageKind.DISINFECT)
    return [Cavitation(name, float(rng.uniform(0.15, 0.35)))]


def _heater_weak(_: object, __: object, rng: np.random.Generator) -> list[Fault]:
    return [WeakHeater(float(rng.uniform(0.4, 0.8)) / 60.0)]


def _arm_drags(_: object, __: object, rng: np.random.Generator) -> list[Fault]:
    return [ArmDrags(float(rng.uniform(0.45, 0.65)))]


def _arm_stuck(prescription: Programme, _: object, rng: np.random.Generator) -> list[Fault]:
    return [ArmStuck(_wet(prescription, rng)[0])]


def _power_dip(prescription: Programme, _: object, rng: np.random.Generator) -> list[Fault]:
    name, hold_s = _held(prescription, rng, StageKind.DISINFECT)
    return [PowerDip(name, float(rng.uniform(0.1, 0.8)) * hold_s, float(rng.uniform(8.0, 40.0)), 0.3)]


def _clock(low: float, high: float) -> Callable[..., list[Fault]]:
    def drawn(_: object, __: object, rng: np.random.Generator) -> list[Fault]:
        return [ClockStep(float(rng.uniform(300.0, 2500.0)), float(rng.uniform(low, high)))]

    return drawn


def _swapped(_: object, __: tuple[SimulatedSensor, ...], rng: np.random.Generator) -> list[Fault]:
    pairs = (("P1", "arm"), ("T1", "P1"), ("T2", "cond"), ("T2", "P1"))
    return [SwappedChannels(*pairs[int(rng.integers(len(pairs)))])]


def _logger_stopped(_: object, __: object, rng: np.random.Generator) -> list[Fault]:
    return [LoggerStopped(float(rng.uniform(200.0, 3000.0)), float(rng.uniform(40.0, 400.0)))]


_DRAWN: dict[str, Callable[..., list[Fault]]] = {
    "short hold": _short_hold,
    "load sensor reads low": _low("T2", 3.0, 8.0),
    "pressure sensor reads low": _low("P1", 12.0, 60.0),
    "dose missed": _missed_dose,
    "foam": _foam,
    "cavitation": _cavitation,
    "heater weak": _heater_weak,
    "arm drags": _arm_drags,
    "arm stuck": _arm_stuck,
    "power dip": _power_dip,
    "clock set back": _clock(-400.0, -20.0),
    "clock set forward": _clock(40.0, 4000.0),
    "swapped channels": _swapped,
    "logger stopped": _logger_stopped,
}

"""One small cycle for the tests: a record drawn with a ruler, so that every expected number can be worked out by hand.

One sample per second, straight lines between corner points, no noise. The load sensor reads 1 K less than the chamber.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import CycleLimits, Programme, Sensor, SensorOffset
from patency.evidence import (
    ArmSpeed,
    EyeCheck,
    LoadMachine,
    OneHoseOff,
    PredictedPressure,
    PressurePrediction,
    Seen,
    WaterAlarm,
    judge,
    read_description,
    read_record,
)
from patency.quantities import Interval, Limit

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.evidence import Criterion, CycleRecord, Evidence

TODAY = date(2026, 6, 1)
SOURCE = "validation report 7, invented"

DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  T1: {quantity: temperature, unit: degC, place: chamber, uncertainty: 0.5, range: [0, 150], calibrated: 2026-01-12}
  T2: {quantity: temperature, unit: degC, place: load, uncertainty: 0.25, range: [0, 150], calibrated: 2026-01-12}
  P1: {quantity: pressure, unit: mbar, reference: gauge, place: circulation, uncertainty: 2, calibrated: 2026-01-12}
  F1: {quantity: flow, unit: L/min, place: circulation, uncertainty: 1, calibrated: 2026-01-12}
  arm: {quantity: rotation, unit: rpm, place: upper arm, uncertainty: 1, calibrated: 2026-01-12}
  cond: {quantity: conductivity, unit: uS/cm, place: chamber, uncertainty: 0.5, calibrated: 2026-01-12}
  dose: {quantity: dosed volume, unit: mL, place: detergent, uncertainty: 1, calibrated: 2026-01-12}
  step: {quantity: stage}
machine: Alder
programme: short
"""

PROGRAMME = Programme.model_validate(
    {
        "name": "short",
        "version": "2",
        "for_lumens": True,
        "stages": [
            {"name": "cold rinse", "kind": "flush", "hold": "60 s", "temperature": "20 °C", "doses": []},
            {
                "name": "cleaning",
                "kind": "clean",
                "hold": "120 s",
                "temperature": "50 °C",
                "doses": [{"agent": "mild detergent", "volume": "120 mL"}],
            },
            {"name": "first rinse", "kind": "rinse", "hold": "60 s", "temperature": "30 °C", "doses": []},
            {"name": "second rinse", "kind": "rinse", "hold": "60 s", "temperature": "30 °C", "doses": []},
            {"name": "disinfection", "kind": "disinfect", "hold": "300 s", "temperature": "90 °C", "doses": []},
            {"name": "drying", "kind": "dry", "hold": "200 s", "temperature": "100 °C"},
        ],
    }
)

LIMITS = CycleLimits.model_validate(
    {
        "a0_target": Limit(3000.0, "s", SOURCE),
        "disinfection_band": Limit(5.0, "K", SOURCE),
        "first_rinse_highest": Limit(45.0, "degC", SOURCE),
        "cleaning_temperature_tolerance": Limit(5.0, "K", SOURCE),
        "dose_tolerance": Limit(0.05, "1", SOURCE),
        "final_rinse_conductivity": Limit(30.0, "uS/cm", SOURCE),
        "arm_rotation_least": Limit(20.0, "rpm", SOURCE),
        "arm_rotation_highest": Limit(40.0, "rpm", SOURCE),
        "last_water_share": Limit(0.25, "1", SOURCE),
        "rinse_carry_over": Limit(0.5, "1", SOURCE),
        "fastest_heating": Limit(45.0, "K", SOURCE),
        "slowest_heating": Limit(2.0, "K", SOURCE),
        "rinse_temperature_tolerance": Limit(5.0, "K", SOURCE),
        "calibration_interval": Limit(365 * 86400.0, "s", SOURCE),
        "arm_speed_tolerance": Limit(0.2, "1", SOURCE),
        "arm_readings_aside": Limit(0.05, "1", SOURCE),
        "unsteady_share": Limit(0.1, "1", SOURCE),
        "running_share": Limit(0.25, "1", SOURCE),
        "pressure_swing": Limit(0.03, "1", SOURCE),
        "drying_temperature_tolerance": Limit(5.0, "K", SOURCE),
        "false_alarms": Limit(0.01, "1", SOURCE),
        "false_rejects": Limit(0.001, "1", SOURCE),
        "longest_gap": Limit(10.0, "s", SOURCE),
        "fixed_pressure_window": Limit(0.2, "1", SOURCE),
    }
)

WET = tuple(stage.name for stage in PROGRAMME.stages if stage.kind.wet)
COLUMNS = tuple((stage, sensor) for sensor in ("P1", "F1") for stage in WET)


def alarm_of(cycles: int = 12, machine: str = "Alder", pressure_pa: float = 20_000.0) -> WaterAlarm:
    """Return the alarm against cycles at 200 mbar and 150 L/min that scatter by 0.4 mbar and 0.3 L/min."""
    middle = np.array([pressure_pa if sensor == "P1" else 2.5e-3 for _, sensor in COLUMNS])
    scatter = np.array([40.0 if sensor == "P1" else 5e-6 for _, sensor in COLUMNS])
    drawn = np.random.default_rng(12).standard_normal((cycles, middle.size))
    readings = tuple(tuple(row.tolist()) for row in middle + scatter * drawn)
    return WaterAlarm(machine, COLUMNS, readings, tuple(f"{row:064x}" for row in range(cycles)), 0.5)


# Every wet stage is predicted at 200 mbar, give or take 4; one hose off would take 1 mbar away.
PREDICTION = PressurePrediction(
    "load 3, plan 1",
    {
        stage.name: PredictedPressure(Interval(19600.0, 20000.0, 20400.0), -100.0)
        for stage in PROGRAMME.stages
        if stage.kind.wet
    },
    sump_level_m=-0.12,
    one_hose_off=OneHoseOff(0.034, 0.99, 0.01, "against the computed value"),
    alarm=alarm_of(),
)
# The tap of its pressure sensor lies at the level of the sump's water and the sensor shows nothing too much.
MACHINE = LoadMachine(
    "lumen washer",
    ("Alder", "Birch"),
    {
        "T1": Sensor(quantity="temperature", place="chamber", unit="degC"),
        "T2": Sensor(quantity="temperature", place="load", unit="degC"),
        "P1": Sensor.model_validate(
            {"quantity": "pressure", "place": "circulation", "unit": "mbar", "height": "-120 mm"}
        ),
        "F1": Sensor(quantity="flow", place="circulation", unit="L/min"),
        "arm": Sensor(quantity="rotation", place="upper arm", unit="rpm"),
        "cond": Sensor(quantity="conductivity", place="chamber", unit="uS/cm"),
        "dose": Sensor(quantity="dosed volume", place="detergent", unit="mL"),
    },
    {name: {"P1": SensorOffset(value=0.0, found_on=date(2026, 1, 12), source=SOURCE)} for name in ("Alder", "Birch")},
    {"upper arm": ArmSpeed(30.0, 20_000.0)},
)
ALL_SEEN = EyeCheck(Seen.ALL_IN_PLACE, "M. Hollis", datetime(2026, 6, 1, 14, 5, tzinfo=UTC))

# Second at which each stage begins; the pump rests for the first ten seconds of each wet stage (draining, filling).
STARTS = {"flush": 0, "clean": 100, "rinse": 400, "rinse 2": 500, "disinfect": 600, "dry": 1300, "end": 1600}
REST = 10
CHAMBER = [
    (0, 20),
    (100, 20),
    (200, 51),
    (399, 51),
    (410, 30),
    (599, 30),
    (900, 92),
    (1299, 92),
    (1400, 101),
    (1600, 101),
]


@dataclass(frozen=True)
class Cycle:
    """A cycle as columns that tests bend before it is written out."""

    time: NDArray[np.float64]
    columns: dict[str, NDArray[np.float64]]
    step: NDArray[np.str_]
    description: str = DESCRIPTION
    rows: list[int] = field(default_factory=list)
    """Rows to leave out."""

    def with_column(self, name: str, change: Callable[[NDArray[np.float64], NDArray[np.float64]], None]) -> Cycle:
        """Change a column in place of a copy; the function gets time and values."""
        values = self.columns[name].copy()
        change(self.time, values)
        return replace(self, columns={**self.columns, name: values})

    def without(self, first: int, last: int) -> Cycle:
        """Leave out the samples from one second to another."""
        return replace(self, rows=[*self.rows, *range(first, last + 1)])

    def described(self, old: str, new: str) -> Cycle:
        """Change words of the description."""
        assert old in self.description
        return replace(self, description=self.description.replace(old, new))

    def without_column(self, name: str) -> Cycle:
        """Leave a column out of the description; the cells stay."""
        lines = [line for line in self.description.splitlines() if not line.startswith(f"  {name}:")]
        return replace(self, description="\n".join(lines))

    def text(self) -> str:
        """Write the cycle out."""
        header = ["time", *self.columns, "step"]
        left_out = set(self.rows)
        lines = [",".join(header)]
        for row, second in enumerate(self.time):
            if row not in left_out:
                cells = [f"{second:.10g}", *(f"{values[row]:.10g}" for values in self.columns.values()), self.step[row]]
                lines.append(",".join("" if cell == "nan" else cell for cell in cells))
        return "\n".join(lines) + "\n"

    def record(self) -> CycleRecord:
        """Read the cycle as a record."""
        return read_record(self.text(), read_description(self.description))

    def judged(
        self,
        *,
        programme: Programme = PROGRAMME,
        limits: CycleLimits = LIMITS,
        prediction: PressurePrediction | None = PREDICTION,
        eye_check: EyeCheck | None = ALL_SEEN,
        programme_key: str | None = None,
        machine: LoadMachine | None = MACHINE,
    ) -> Evidence:
        """Judge the cycle; what is not changed is as it should be."""
        return judge(
            self.record(),
            programme,
            limits,
            prediction,
            on=TODAY,
            eye_check=eye_check,
            programme_key=programme_key,
            machine=machine,
        )


def good_cycle() -> Cycle:
    """Draw the cycle in which everything is as it should be."""
    time = np.arange(STARTS["end"], dtype=float)
    chamber = np.interp(time, [second for second, _ in CHAMBER], [celsius for _, celsius in CHAMBER])
    names = list(STARTS)
    step = np.empty(time.size, dtype="U9")
    wet = np.zeros(time.size, dtype=bool)
    for name, after in pairwise(names):
        step[STARTS[name] : STARTS[after]] = name.split()[0]
        wet[STARTS[name] + REST : STARTS[after]] = name != "dry"
    columns = {
        "T1": chamber,
        "T2": chamber - 1.0,
        "P1": np.where(wet, 200.0, 0.0),
        "F1": np.where(wet, 150.0, 0.0),
        "arm": np.where(wet, 30.0, 0.0),
        "cond": np.where(time < STARTS["rinse"], 800.0, 12.0),
        "dose": np.interp(time, [0, 120, 140, 1600], [0, 0, 120, 120]),
    }
    return Cycle(time, columns, step)


def criterion(evidence: Evidence, name: str, **where: str) -> Criterion:
    """Return the one criterion of a name, at a stage or of a sensor where several bear it."""
    found = [
        c for c in evidence.criteria if c.name == name and all(getattr(c, key) == value for key, value in where.items())
    ]
    assert len(found) == 1, [(c.name, c.stage, c.sensor) for c in evidence.criteria]
    return found[0]


def limits(**changes: Limit | None) -> CycleLimits:
    """Return the limits with some changed or left out."""
    return LIMITS.model_copy(update=changes)


def predicted(low: float, nominal: float, high: float) -> PressurePrediction:
    """Return a prediction of the same pressure for every wet stage, without the change of one hose off."""
    pressure = PredictedPressure(Interval(low, nominal, high))
    return replace(PREDICTION, stages={stage.name: pressure for stage in PROGRAMME.stages if stage.kind.wet})


def stamped(text: str, began: datetime) -> str:
    """Let a record that counts seconds say the moments since it began."""
    head, *rows = text.splitlines()
    moments = [(began + timedelta(seconds=float(row.partition(",")[0]))).isoformat() for row in rows]
    return "\n".join([head, *(f"{at},{row.partition(',')[2]}" for at, row in zip(moments, rows, strict=True)), ""])

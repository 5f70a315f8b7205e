"""Cycles of the simulated fleet, judged as the cycles of Larkmere are, without a stage column, and scored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import read_department
from patency.demo import Recorder, earlier_pressures, larkmere_texts, simulate_one, simulate_steam
from patency.evidence import (
    ArmSpeed,
    CycleAgainst,
    EyeCheck,
    LoadMachine,
    PredictedPressure,
    PressurePrediction,
    Seen,
    WaterAlarm,
    judge_steam,
    read_description,
    read_entered,
    read_record,
)
from patency.quantities import Interval

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department, MachineKind
    from patency.demo import SimulatedCycle, SimulatedSteam
    from patency.evidence import Evidence, SteamEvidence

PROGRAMMES = ("gentle_lumen", "intensive_lumen")
LOOKED = EyeCheck(Seen.ALL_IN_PLACE, "M. Hollis", datetime(2026, 3, 31, 16, 20, tzinfo=UTC))

ENTERED_TEXT = """\
format: patency-steam-checks/1
machine: Yew
steam_penetration: {result: passed, at: 2026-03-31T06:30, by: M. Hollis}
hollow_load: {result: passed, at: 2026-03-31T06:40, by: M. Hollis}
air_leakage: {result: passed, at: 2026-03-27T06:30, by: M. Hollis}
load_dryness: {result: passed, at: 2026-03-31T12:30, by: M. Hollis}
cycle_began: 2026-03-31T11:15
"""
ENTERED = read_entered(ENTERED_TEXT)


@dataclass(frozen=True, eq=False)
class Scored:
    """A simulated cycle, what the evidence says of it, and how far its stages lie from the truth."""

    cycle: SimulatedCycle
    evidence: Evidence

    @property
    def farthest_s(self) -> float:
        """The largest distance of a beginning or an end of a stage from the truth; infinite where one is not found."""
        found, true = self.evidence.stages, self.cycle.bounds_s
        if len(found) != len(true):
            return float("inf")
        pairs = zip(found, true, strict=True)
        return max(max(abs(one.start_s - start), abs(one.end_s - end)) for one, (start, end) in pairs)


def alarm_at(pressures_pa: Mapping[str, float], rng: np.random.Generator) -> WaterAlarm:
    """Return the alarm against 30 earlier cycles of the same load, drawn as the cycle itself is."""
    kind = larkmere().machine_kinds["four-arm lumen washer"]
    readings = tuple(tuple(row) for row in earlier_pressures(kind, pressures_pa, 30, rng).tolist())
    columns = tuple((stage, "P1") for stage in pressures_pa)
    return WaterAlarm("Alder", columns, readings, tuple(f"{row:064x}" for row in range(30)), 0.5)


def arms_of(kind: MachineKind) -> dict[str, ArmSpeed]:
    """Return how fast the arms of a kind of machine turn."""
    return {
        name: ArmSpeed(arm.rotation_rpm, arm.rotation_at_pa)
        for name, arm in kind.arms.items()
        if arm.rotation_rpm is not None and arm.rotation_at_pa is not None
    }


@cache
def larkmere() -> Department:
    return read_department(larkmere_texts())


def drawn(
    number: int, fault: str | None, *, seed: int = 2026, stage_column: str | None = None
) -> tuple[SimulatedCycle, CycleAgainst]:
    """Simulate the cycle of a number, every second one with the intensive programme; say what it is judged against."""
    department = larkmere()
    key = PROGRAMMES[number % len(PROGRAMMES)]
    programme = department.programmes[key]
    kind = department.machine_kinds["four-arm lumen washer"]
    offsets = department.machines["Alder"].sensor_offsets
    recorder = Recorder(stage_column=stage_column, machine="Alder", programme=key)
    rng = np.random.default_rng([seed, number])
    cycle = simulate_one(programme, kind, rng, fault, recorder=recorder, offsets=offsets)
    prediction = PressurePrediction(
        "the load as planned",
        {
            name: PredictedPressure(Interval(0.97 * p, p, 1.03 * p), -0.005 * p)
            for name, p in cycle.pressures_pa.items()
        },
        sump_level_m=kind.pump.sump_level_m,
        alarm=alarm_at(cycle.pressures_pa, np.random.default_rng([seed, number, 30])),
    )
    against = CycleAgainst(
        limits=department.limits.cycle,
        on=date(2026, 3, 31),
        programme=programme,
        programme_key=key,
        prediction=prediction,
        machine=LoadMachine(kind.name, ("Alder",), kind.sensors, {"Alder": offsets}, arms_of(kind)),
        eye_check=LOOKED,
    )
    return cycle, against


def scored(number: int, fault: str | None, *, seed: int = 2026, stage_column: str | None = None) -> Scored:
    """Simulate the cycle of a number and judge it."""
    cycle, against = drawn(number, fault, seed=seed, stage_column=stage_column)
    record = read_record(cycle.record, read_description(cycle.description))
    return Scored(cycle, against.judge(record))


@dataclass(frozen=True, eq=False)
class ScoredSteam:
    """A simulated cycle of a sterilizer, what the evidence says of it, and how far its plateau lies from the truth."""

    cycle: SimulatedSteam
    evidence: SteamEvidence

    @property
    def farthest_s(self) -> float:
        """The larger distance of the plateau's beginning and end from the truth; infinite where only one has one."""
        true, found = self.cycle.plateau_s, [one for one in self.evidence.stages if one.kind == "hold"]
        if true is None and not found:
            return 0.0
        if true is None or not found:
            return float("inf")
        return max(abs(found[0].start_s - true[0]), abs(found[0].end_s - true[1]))


def scored_steam(number: int, fault: str | None, *, seed: int = 2026) -> ScoredSteam:
    """Simulate the steam cycle of a number and judge it, with every test passed and its load seen to be dry."""
    department = larkmere()
    programme = department.steam_programmes["wrapped_134"]
    cycle = simulate_steam(programme, np.random.default_rng([seed, number]), fault)
    record = read_record(cycle.record, read_description(cycle.description))
    limits, day = department.limits.steam, date(2026, 3, 31)
    return ScoredSteam(
        cycle, judge_steam(record, programme, limits, on=day, programme_key="wrapped_134", entered=ENTERED)
    )

"""Missing data means the worst case for steam too: no datum left out or aged makes the verdict on a cycle met.

Cycles that each miss one criterion, or leave one open, are judged with one datum after the other left out or aged: of
the record's description, the programme, the limits and what was entered. None of them must become met.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field, replace
from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import yaml

from patency.catalogue import SteamLimits
from patency.errors import PatencyError
from patency.evidence import CriterionState, judge_steam, read_description, read_entered, read_record
from patency.quantities import saturation_pressure_pa
from tests.evidence.steam_cycles import CHECKS, LIMITS, PLATEAU, PROGRAMME, TODAY, SteamCycle, good_steam

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.catalogue import SteamProgramme
    from patency.evidence import EnteredChecks, RecordDescription

    Path = tuple[str | int, ...]

MET, MISSED, OPEN = CriterionState.MET, CriterionState.NOT_MET, CriterionState.NOT_EVALUATED
DRAIN, LOAD = (f"place: {place}, uncertainty: 0.2, calibrated: " for place in ("drain", "load"))
HOLD = slice(PLATEAU[0], PLATEAU[2] + 1)


def four_sensors() -> SteamCycle:
    """Return the good cycle with a second point in the load, so that the plateau can do without the first."""
    cycle = good_steam()
    columns = {name: cycle.columns[name] for name in ("TD", "T1")} | {"T2": cycle.columns["T1"] + 0.1}
    upper = "quantity: temperature, unit: degC, place: load, uncertainty: 0.2, range: [0, 150], calibrated: 2026-01-12"
    described = cycle.description.replace("  P:", f"  T2: {{{upper}}}\n  P:")
    return replace(cycle, columns=columns | {"P": cycle.columns["P"]}, description=described)


@cache
def plain(text: str) -> object:
    return yaml.safe_load(text)


@cache
def as_described(text: str) -> RecordDescription | None:
    try:
        return read_description(text)
    except PatencyError:
        return None


@cache
def as_entered(text: str) -> EnteredChecks | None:
    try:
        return read_entered(text)
    except PatencyError:
        return None


@dataclass(frozen=True)
class Judged:
    """A cycle with all that its verdict rests on, as plain data from which single ones are taken."""

    cycle: SteamCycle = field(default_factory=four_sensors)
    programme: SteamProgramme = field(default_factory=lambda: PROGRAMME.model_copy(update={"sensors": 4}))
    limits: SteamLimits = LIMITS
    checks: str = CHECKS

    @property
    def rests_on(self) -> tuple[object, ...]:
        """Everything but the readings; taking out what is not there leaves it as it is."""
        return plain(self.cycle.description), plain(self.checks), self.limits, self.programme

    @property
    def verdict(self) -> CriterionState | None:
        """The verdict, one sample in four read to be quick; None where what is left is refused."""
        columns = {name: values[::4] for name, values in self.cycle.columns.items()}
        cycle = replace(self.cycle, time=self.cycle.time[::4], columns=columns)
        description, entered = as_described(cycle.description), as_entered(self.checks)
        if description is None or entered is None:
            return None
        try:
            record = read_record(cycle.text(), description)
        except PatencyError:
            return None
        return judge_steam(
            record, self.programme, self.limits, on=TODAY, programme_key="wrapped", entered=entered
        ).verdict

    def bent(self, name: str, by: float, part: slice = HOLD) -> Judged:
        def bend(values: np.ndarray) -> None:
            values[part] += by

        return replace(self, cycle=self.cycle.bent(name, bend))

    def described(self, old: str, new: str) -> Judged:
        return replace(self, cycle=self.cycle.described(old, new))

    def entered(self, old: str, new: str) -> Judged:
        assert old in self.checks
        return replace(self, checks=self.checks.replace(old, new))


def at_pressure_of(celsius: float) -> Judged:
    good = Judged()
    off = saturation_pressure_pa(celsius) / 1e3 - good.cycle.columns["P"][PLATEAU[2]]
    return good.bent("P", float(off))


def gauge(stated_kpa: float) -> Judged:
    """Return the good cycle with a sensor that measures against 98 kPa, which are stated otherwise."""
    against = Judged().bent("P", -98.0, slice(None)).described("reference: absolute", "reference: gauge")
    stated = f"surroundings: {{pressure: {stated_kpa}, unit: kPa, uncertainty: 0.1, source: barometer}}\n"
    return replace(against, cycle=replace(against.cycle, description=against.cycle.description + stated))


def two_gauges(worse: str) -> Judged:
    """Return the good cycle with a second sensor of the pressure, one of which shows air in the steam."""
    good = Judged()
    columns = good.cycle.columns | {"P2": good.cycle.columns["P"].copy()}
    line = next(line for line in good.cycle.description.splitlines() if line.startswith("  P:"))
    text = good.cycle.description.replace(line, f"{line}\n{line.replace('  P:', '  P2:')}")
    both = replace(good, cycle=replace(good.cycle, columns=columns, description=text))
    both = replace(both, programme=PROGRAMME.model_copy(update={"sensors": 5}))
    return both.bent(worse, float(saturation_pressure_pa(137.5) - saturation_pressure_pa(135.0)) / 1e3)


NOT_MET = {
    "a point in the load stays cold": Judged().bent("T1", -1.0),
    "the drain is too hot": Judged().bent("TD", 2.5),
    "a point is too hot": Judged().bent("T2", 2.6),
    "air": at_pressure_of(137.5),
    "superheat": at_pressure_of(132.5),
    "other weather": gauge(110.0),
    "the second gauge shows air": two_gauges("P2"),
    "the first gauge shows air": two_gauges("P"),
    "a shallow pulse": Judged().bent("P", 8.0, slice(40, 60)),
    "the drying is shallow": Judged().bent("P", 8.0, slice(700, 1000)),
    "a load that lags": Judged().bent("T1", -2.0, slice(PLATEAU[1], PLATEAU[1] + 20)),
    "a gap": replace(Judged(), cycle=four_sensors().without(500, 510)),
    "another programme": Judged().described("programme: wrapped", "programme: other"),
    "calibrated long ago": Judged().described(f"{LOAD}2026", f"{LOAD}2024"),
    "a failed test": Judged().entered("hollow_load: {result: passed", "hollow_load: {result: failed"),
    "a test too long ago": Judged().entered("at: 2026-05-27T06:30", "at: 2026-05-01T06:30"),
    "a wet load": Judged().entered("load_dryness: {result: passed", "load_dryness: {result: failed"),
}
NOT_EVALUATED = {
    "a sensor fewer": replace(Judged(), programme=PROGRAMME.model_copy(update={"sensors": 5})),
    "a worse gauge": Judged().described("chamber, uncertainty: 0.5", "chamber"),
    "a test after the cycle began": Judged().entered("at: 2026-06-01T06:40", "at: 2026-06-01T11:40"),
    "a look before the cycle": Judged().entered("at: 2026-06-01T12:30", "at: 2026-06-01T10:30"),
    "tests of another machine": Judged().entered("machine: Yew", "machine: Oak"),
    "a calibration to come": Judged().described(f"{DRAIN}2026-01", f"{DRAIN}2026-11"),
}
CYCLES = {**NOT_MET, **NOT_EVALUATED}


def places(inner: object, path: Path = ()) -> Iterator[Path]:
    """Name the place of everything that can be taken out."""
    keys = inner.keys() if isinstance(inner, dict) else range(len(inner)) if isinstance(inner, list) else ()
    for key in keys:
        yield (*path, key)
        yield from places(inner[key], (*path, key))  # type: ignore[index]


@cache
def changed(text: str, path: Path, value: object = None) -> str:
    """Take a datum out of YAML, or put another in its place; as it is where it has none."""
    told: Any = yaml.safe_load(text)
    inner = told = copy.deepcopy(told)
    for key in path[:-1]:
        inner = inner.get(key, {}) if isinstance(inner, dict) else inner[key]
    if path[-1] in inner:
        if value is None:
            del inner[path[-1]]
        else:
            inner[path[-1]] = value
    return yaml.safe_dump(told, sort_keys=False)


def described(path: Path, value: object = None) -> Callable[[Judged], Judged]:
    return lambda of: replace(of, cycle=replace(of.cycle, description=changed(of.cycle.description, path, value)))


def entered(path: Path, value: object = None) -> Callable[[Judged], Judged]:
    return lambda of: replace(of, checks=changed(of.checks, path, value))


def limited(**changes: object) -> Callable[[Judged], Judged]:
    return lambda of: replace(of, limits=of.limits.model_copy(update=changes))


def left_out_or_aged() -> dict[str, Callable[[Judged], Judged]]:
    """Name every datum with the way to leave it out, or to let it age."""
    told = yaml.safe_load(gauge(98.0).cycle.description)
    told["columns"] = yaml.safe_load(two_gauges("P").cycle.description)["columns"]
    ways = {".".join(map(str, path)): described(path) for path in places(told)}
    ways |= {f"checks.{'.'.join(map(str, path))}": entered(path) for path in places(yaml.safe_load(CHECKS))}
    for column, about in told["columns"].items():
        if "calibrated" in about:
            ways[f"columns.{column}.calibrated aged"] = described(("columns", column, "calibrated"), "2023-01-12")
    for test in ("steam_penetration", "hollow_load", "air_leakage", "load_dryness"):
        ways[f"checks.{test} aged"] = entered((test, "at"), "2025-06-01T06:30")
    for name in SteamLimits.model_fields:
        ways[f"limits.{name}"] = limited(**{name: None})
        lapsed = replace(getattr(LIMITS, name), valid_until=TODAY - timedelta(days=1))
        ways[f"limits.{name} in date"] = limited(**{name: lapsed})
    ways["programme.sensors"] = lambda of: replace(of, programme=of.programme.model_copy(update={"sensors": None}))
    return ways


WAYS = left_out_or_aged()
# What a good cycle is met without: F0 decides nothing, the leakage test has a record of its own, no reading is outside
# its range, and this record's surroundings and second gauge are not there to be left out.
NOT_ASKED = ("limits.f0_", "limits.leak_", "surroundings", "columns.P2", "columns.T2.range")
STILL_MET = {name for name in WAYS if name.startswith(NOT_ASKED)} - {"columns.T2.range.0"}  # a range has two ends


def test_the_cycle_as_it_should_be_is_met_and_each_of_the_others_is_what_it_is_called() -> None:
    assert Judged().verdict is gauge(98.0).verdict is MET
    assert {name: one.verdict for name, one in NOT_MET.items()} == dict.fromkeys(NOT_MET, MISSED)
    assert {name: one.verdict for name, one in NOT_EVALUATED.items()} == dict.fromkeys(NOT_EVALUATED, OPEN)


@pytest.mark.parametrize("what", CYCLES)
def test_no_datum_left_out_or_aged_makes_the_verdict_on_a_steam_cycle_met(what: str) -> None:
    assert CYCLES[what].verdict is not MET
    others = {name: way(CYCLES[what]) for name, way in WAYS.items()}
    differs = {name: one for name, one in others.items() if one.rests_on != CYCLES[what].rests_on}
    assert len(differs) > 60
    assert [name for name, one in differs.items() if one.verdict is MET] == []


def test_what_is_left_out_of_a_good_cycle_never_stays_unsaid() -> None:
    assert {name for name, way in WAYS.items() if way(Judged()).verdict is MET} == STILL_MET

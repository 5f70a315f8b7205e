"""One small steam cycle for the tests: drawn with a ruler, once a second, so that expected numbers follow by hand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import SteamLimits, SteamProgramme
from patency.evidence import judge_leakage, judge_steam, read_description, read_entered, read_record
from patency.quantities import Limit, saturation_pressure_pa

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.evidence import Criterion, SteamEvidence

TODAY = date(2026, 6, 1)
SOURCE = "validation report 8, invented"
PROGRAMME = SteamProgramme.model_validate(
    {
        "name": "wrapped",
        "version": "1",
        "sterilization_temperature": "134 °C",
        "holding": "180 s",
        "pulses": 3,
        "drying": "300 s",
        "sensors": 3,
    }
)
LIMITS = SteamLimits.model_validate(
    {
        "temperature_band": Limit(3.0, "K", SOURCE),
        "spread": Limit(2.0, "K", SOURCE),
        "off_saturation": Limit(2.0, "K", SOURCE),
        "equilibration": Limit(15.0, "s", SOURCE),
        "pulse_vacuum": Limit(10e3, "Pa", SOURCE),
        "drying_vacuum": Limit(10e3, "Pa", SOURCE),
        "longest_gap": Limit(5.0, "s", SOURCE),
        "calibration_interval": Limit(365 * 86400.0, "s", SOURCE),
        "f0_reference": Limit(121.1, "degC", SOURCE),
        "leak_start": Limit(7e3, "Pa", SOURCE),
        "leak_settling": Limit(300.0, "s", SOURCE),
        "leak_time": Limit(600.0, "s", SOURCE),
        "leak_rise": Limit(1300.0, "Pa", SOURCE),
        "leakage_interval": Limit(168 * 3600.0, "s", SOURCE),
        "penetration_interval": Limit(24 * 3600.0, "s", SOURCE),
        "hollow_interval": Limit(24 * 3600.0, "s", SOURCE),
    }
)
DESCRIPTION = """\
format: patency-record/1
time: {column: time, unit: s}
columns:
  TD: {quantity: temperature, unit: degC, place: drain, uncertainty: 0.2, calibrated: 2026-01-12}
  T1: {quantity: temperature, unit: degC, place: load, uncertainty: 0.2, calibrated: 2026-01-12}
  P: {quantity: pressure, unit: kPa, reference: absolute, place: chamber, uncertainty: 0.5, calibrated: 2026-01-12}
machine: Yew
programme: wrapped
"""
CHECKS = """\
format: patency-steam-checks/1
machine: Yew
steam_penetration: {result: passed, at: 2026-06-01T06:30, by: M. Hollis}
hollow_load: {result: passed, at: 2026-06-01T06:40, by: M. Hollis}
air_leakage: {result: passed, at: 2026-05-27T06:30, by: M. Hollis}
load_dryness: {result: passed, at: 2026-06-01T12:30, by: M. Hollis}
cycle_began: 2026-06-01T11:15
"""
# The reference point is at 134 °C from second 400 on, the load from 408 on; the plateau ends with second 649.
PLATEAU = (400, 408, 649)
PRESSURE_KPA = [(0, 101), (50, 5), (100, 105), (150, 5), (200, 105), (250, 5), (300, 105)]


@dataclass(frozen=True)
class SteamCycle:
    """A cycle as columns that tests bend before it is written out."""

    time: NDArray[np.float64]
    columns: dict[str, NDArray[np.float64]]
    description: str = DESCRIPTION
    checks: str | None = CHECKS

    def bent(self, name: str, change: Callable[[NDArray[np.float64]], None]) -> SteamCycle:
        """Change a column in place of a copy."""
        values = self.columns[name].copy()
        change(values)
        return replace(self, columns={**self.columns, name: values})

    def described(self, old: str, new: str) -> SteamCycle:
        """Change words of the description."""
        assert old in self.description
        return replace(self, description=self.description.replace(old, new))

    def entered(self, old: str, new: str) -> SteamCycle:
        """Change words of what was entered."""
        assert self.checks is not None
        assert old in self.checks
        return replace(self, checks=self.checks.replace(old, new))

    def without(self, first: int, last: int) -> SteamCycle:
        """Leave out the samples from one second to another."""
        kept = (self.time < first) | (self.time > last)
        return replace(self, time=self.time[kept], columns={name: v[kept] for name, v in self.columns.items()})

    def text(self) -> str:
        """Write the cycle out."""
        lines = [",".join(["time", *self.columns])]
        for row, second in enumerate(self.time):
            cells = [f"{second:.10g}", *(f"{values[row]:.10g}" for values in self.columns.values())]
            lines.append(",".join("" if cell == "nan" else cell for cell in cells))
        return "\n".join(lines) + "\n"

    def judged(self, limits: SteamLimits = LIMITS) -> SteamEvidence:
        """Judge the cycle."""
        record = read_record(self.text(), read_description(self.description))
        entered = read_entered(self.checks) if self.checks else None
        return judge_steam(record, PROGRAMME, limits, on=TODAY, programme_key="wrapped", entered=entered)

    def leakage(self, limits: SteamLimits = LIMITS) -> SteamEvidence:
        """Judge the record as that of an air-leakage test."""
        return judge_leakage(read_record(self.text(), read_description(self.description)), limits, on=TODAY)


def good_steam() -> SteamCycle:
    """Draw the cycle in which everything is as it should be: steam of 135 °C."""
    time = np.arange(1000.0)
    first, follows, last = PLATEAU
    steam_kpa = saturation_pressure_pa(135.0) / 1e3
    corners = [*PRESSURE_KPA, (first, steam_kpa), (last, steam_kpa), (last + 40, 5), (1000, 5)]
    pressure = np.interp(time, [second for second, _ in corners], [kpa for _, kpa in corners])
    drain = np.interp(
        time, [0, 300, first - 1, first, last, last + 1, last + 40, 1000], [25, 100, 133, 135, 135, 133, 60, 40]
    )
    load = np.interp(
        time, [0, 300, follows - 1, follows, last, last + 1, last + 40, 1000], [25, 95, 133, 134.8, 134.8, 133, 90, 70]
    )
    return SteamCycle(time, {"TD": drain, "T1": load, "P": pressure})


def leaking(kpa_per_min: float, start_kpa: float = 5.0) -> SteamCycle:
    """Draw an air-leakage test: evacuated within 50 s, then left alone."""
    time = np.arange(1100.0)
    rising = start_kpa + kpa_per_min * np.maximum(time - 50.0, 0.0) / 60.0
    pressure = np.where(time < 50, np.interp(time, [0, 50], [101, start_kpa]), rising)
    cold = np.full(time.size, 25.0)
    return SteamCycle(time, {"TD": cold, "T1": cold, "P": pressure})


def asked(evidence: SteamEvidence, name: str, **where: str) -> Criterion:
    """Return the one criterion of a name, of a sensor where several bear it."""
    found = [
        c for c in evidence.criteria if c.name == name and all(getattr(c, key) == value for key, value in where.items())
    ]
    assert len(found) == 1, [(c.name, c.sensor) for c in evidence.criteria]
    return found[0]


def steam_limits(**changes: Limit | None) -> SteamLimits:
    """Return the limits with some changed or left out."""
    return LIMITS.model_copy(update=changes)

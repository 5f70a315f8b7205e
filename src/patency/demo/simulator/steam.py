"""A simulated steam sterilizer: air and steam share the chamber, the load follows; all of it is invented.

One lump of gas: partial pressures of air and of steam, the temperature that of saturated steam at the partial pressure
of the steam, so that air left in the chamber keeps it cooler than the total pressure would say. The load lags in first
order.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from patency.quantities import saturation_pressure_pa, saturation_temperature_c

if TYPE_CHECKING:
    from patency.catalogue import SteamProgramme

STEAM_FAULTS = (
    "short hold",
    "load sensor reads low",
    "air in the steam",
    "superheated steam",
    "pulses left out",
    "load lags",
    "overshoot",
    "drying cut short",
    "leak",
    "power dip",
    "clock set back",
    "clock set forward",
    "swapped channels",
    "logger stopped",
)
_AMBIENT_PA = 101e3
_UNCERTAINTY_K = 0.3
_UNCERTAINTY_KPA = 1.0
_DATED = "calibrated: 2026-01-12"


@dataclass(frozen=True, slots=True)
class SimulatedSteam:
    """The record of one cycle or test with its truth.

    Parameters
    ----------
    record, description
        What was written.
    fault
        What went wrong, one of ``STEAM_FAULTS``; None where nothing did.
    held_s
        How long the coldest point of the load was truly at the sterilization temperature [s].
    plateau_s
        When every point was truly at that temperature first and last [s]; None for a leakage test.
    """

    record: str
    description: str
    fault: str | None
    held_s: float
    plateau_s: tuple[float, float] | None = None


@dataclass(slots=True)
class _Vessel:
    """The state of the chamber from second to second."""

    lag_s: float
    superheat_k: float = 0.0
    leak_pa_s: float = 0.0
    air_pa: float = _AMBIENT_PA
    steam_pa: float = 700.0
    load_c: float = 25.0
    past: list[tuple[float, float, float]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    @property
    def total_pa(self) -> float:
        """The pressure of the chamber."""
        return self.air_pa + self.steam_pa

    @property
    def gas_c(self) -> float:
        """The temperature of the gas at the drain."""
        return saturation_temperature_c(max(self.steam_pa, 700.0)) + (self.superheat_k if self.steam_pa > 2e5 else 0.0)

    def second(self, word: str, *, steam_pa: float | None = None, drawn: float = 0.0) -> None:
        """Let a second pass: steam let in up to a partial pressure, or a share of all gas drawn off."""
        if steam_pa is not None:
            self.steam_pa += np.clip(steam_pa - self.steam_pa, -6e3, 6e3)
        self.steam_pa *= 1.0 - drawn
        self.air_pa = self.air_pa * (1.0 - drawn) + (self.leak_pa_s if self.total_pa < _AMBIENT_PA else 0.0)
        # In vacuum little gas reaches the load: it keeps its heat.
        self.load_c += (self.gas_c - self.load_c) / (self.lag_s if self.total_pa > 2e4 else 600.0)
        self.past.append((self.gas_c, self.load_c, self.total_pa))
        self.words.append(word)

    def evacuate(self, word: str, to_pa: float) -> None:
        """Draw gas off down to a pressure."""
        while self.total_pa > to_pa:
            self.second(word, drawn=0.08)

    def leak(self, word: str, air_pa: float, lasts_s: int) -> None:
        """Let air into the vacuum for some seconds."""
        self.leak_pa_s = air_pa / lasts_s
        for _ in range(lasts_s):
            self.second(word)
        self.leak_pa_s = 0.0

    def let_in(self, word: str, to_pa: float) -> None:
        """Let steam in up to a total pressure."""
        while self.total_pa < to_pa - 1.0:
            self.second(word, steam_pa=to_pa - self.air_pa)


def simulate_steam(
    programme: SteamProgramme,
    rng: np.random.Generator,
    fault: str | None = None,
    *,
    key: str = "wrapped_134",
    machine: str = "Yew",
) -> SimulatedSteam:
    """Simulate the record of a cycle.

    Parameters
    ----------
    programme
        The programme.
    rng
        Source of noise and of the size of the fault.
    fault
        What goes wrong, one of ``STEAM_FAULTS``; nothing when left out.
    key
        How the record names the programme.
    machine
        How the record names the sterilizer.

    Returns
    -------
    SimulatedSteam
        The record and its truth.
    """
    lag_s = float(rng.uniform(1.0, 2.0)) * (12.0 if fault == "load lags" else 1.0)
    superheat_k = float(rng.uniform(3.5, 6.0)) if fault == "superheated steam" else 0.0
    vessel = _Vessel(lag_s, superheat_k)
    pulses = programme.pulses - (int(rng.integers(1, programme.pulses)) if fault == "pulses left out" else 0)
    for left in reversed(range(pulses)):
        vessel.evacuate("pulse", 6e3)
        if fault == "leak" and left == 0:
            # A seal that lets air in for a short while, at the last vacuum, behind which nothing draws it off again.
            vessel.leak("pulse", float(rng.uniform(28e3, 60e3)), int(rng.integers(15, 45)))
        vessel.let_in("pulse", 105e3)
    if fault == "air in the steam":
        vessel.air_pa = float(rng.uniform(28e3, 60e3))
    above_k = float(rng.uniform(0.9, 1.3)) + (2.5 if fault == "overshoot" else 0.0)
    aim_c = programme.sterilization_temperature_c + above_k
    aim_pa = saturation_pressure_pa(aim_c - superheat_k)
    while vessel.gas_c < aim_c - 0.2:
        vessel.second("heat", steam_pa=aim_pa)
    while vessel.load_c < programme.sterilization_temperature_c + 0.1:
        vessel.second("heat" if vessel.lag_s < 3 else "hold", steam_pa=aim_pa)
    holds_s = programme.holding_s * (float(rng.uniform(0.3, 0.8)) if fault == "short hold" else 1.0) + 20.0
    dips = range(0)
    if fault == "power dip":
        first = int(float(rng.uniform(0.2, 0.7)) * holds_s)
        dips = range(first, first + int(rng.integers(8, 40)))
    for second in range(int(holds_s)):
        # Without power the steam valve is shut and what is in the chamber condenses; the timer runs on.
        vessel.second("hold", steam_pa=0.985 * vessel.steam_pa if second in dips else aim_pa)
    vessel.evacuate("exhaust", 6e3)
    dries_s = programme.drying_s * (float(rng.uniform(0.2, 0.8)) if fault == "drying cut short" else 1.0) + 15.0
    for _ in range(int(dries_s)):
        vessel.second("dry", drawn=0.02 if vessel.total_pa > 4e3 else 0.0)
    gas_c, load_c, _ = np.array(vessel.past).T
    held_s = float((load_c >= programme.sterilization_temperature_c).sum())
    hot = np.flatnonzero(np.minimum(gas_c, load_c) >= programme.sterilization_temperature_c)
    record, description = _written(vessel, rng, fault, key, machine)
    return SimulatedSteam(record, description, fault, held_s, (float(hot[0]), float(hot[-1])))


def simulate_leakage(rng: np.random.Generator, leak_pa_s: float, *, key: str = "wrapped_134") -> SimulatedSteam:
    """Simulate the record of an air-leakage test: evacuated, shut, left alone for a little more than 15 minutes.

    Parameters
    ----------
    rng
        Source of noise.
    leak_pa_s
        How fast air leaks in [Pa/s].
    key
        How the record names the programme.

    Returns
    -------
    SimulatedSteam
        The record.
    """
    vessel = _Vessel(lag_s=5.0)
    vessel.evacuate("pulse", 5e3)
    vessel.leak_pa_s = leak_pa_s
    for _ in range(930):
        vessel.second("pulse")
    record, description = _written(vessel, rng, None, key, "Yew")
    return SimulatedSteam(record, description, None, 0.0)


def _written(vessel: _Vessel, rng: np.random.Generator, fault: str | None, key: str, machine: str) -> tuple[str, str]:
    """Write down what the sensors show."""
    gas, load, total = np.array(vessel.past).T
    low_k = float(rng.uniform(2.0, 6.0)) if fault == "load sensor reads low" else 0.0
    own = rng.normal(0.0, _UNCERTAINTY_K / 4, 3)
    shown = {
        "TD": gas + own[0] + rng.normal(0.0, 0.03, gas.size),
        "T1": load + own[1] - low_k + rng.normal(0.0, 0.03, gas.size),
        "T2": 0.5 * (gas + load) + own[2] + rng.normal(0.0, 0.03, gas.size),
        "P": total / 1e3 + rng.normal(0.0, _UNCERTAINTY_KPA / 4) + rng.normal(0.0, 0.05, gas.size),
    }
    time = np.arange(float(gas.size))
    middle = int(rng.integers(gas.size // 4, gas.size // 2))
    if fault == "clock set back":
        time[middle:] -= float(rng.uniform(20.0, 300.0))
    if fault == "clock set forward":
        time[middle:] += float(rng.uniform(20.0, 3000.0))
    if fault == "swapped channels":
        one, other = ("TD", "P") if rng.random() < 0.5 else ("T1", "P")
        shown[one], shown[other] = shown[other], shown[one]
    kept = np.ones(gas.size, dtype=bool)
    if fault == "logger stopped":
        kept[middle : middle + int(rng.integers(10, 200))] = False
    rows = zip(time, *shown.values(), vessel.words, kept, strict=True)
    lines = ["time,TD,T1,T2,P,step"]
    lines += [f"{t:.1f},{d:.2f},{a:.2f},{b:.2f},{p:.2f},{word}" for t, d, a, b, p, word, keep in rows if keep]
    description = f"""\
format: patency-record/1
time: {{column: time, unit: s}}
columns:
  TD: {{quantity: temperature, unit: degC, place: drain, uncertainty: {_UNCERTAINTY_K}, {_DATED}}}
  T1: {{quantity: temperature, unit: degC, place: "load, lower", uncertainty: {_UNCERTAINTY_K}, {_DATED}}}
  T2: {{quantity: temperature, unit: degC, place: "load, upper", uncertainty: {_UNCERTAINTY_K}, {_DATED}}}
  P: {{quantity: pressure, unit: kPa, reference: absolute, place: chamber, uncertainty: {_UNCERTAINTY_KPA}, {_DATED}}}
  step: {{quantity: stage}}
machine: {machine}
programme: {key}
"""
    return "\n".join(lines) + "\n", description

"""A sterilizer's record with everything it is judged against, and its plateau."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import limit_fault
from patency.evidence.holding import filled, held
from patency.evidence.surroundings import Surroundings, surroundings_of
from patency.evidence.timing import GAP_FACTOR
from patency.quantities import saturation_temperature_c

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from patency.catalogue import SteamLimits, SteamProgramme
    from patency.evidence.record import CycleRecord, Trace
    from patency.evidence.running import Stretch

HOLDING = "holding time"
NO_THERMOMETER = "the record has no temperature sensor in the chamber, at the drain or in the load"
NO_PRESSURE = "the record has no pressure of the chamber"
# Range in which the pressure of a vessel has a saturation temperature that is of any use here: 1 kPa to 1 MPa.
_STEAM_RANGE_PA = (1e3, 1e6)


@dataclass(frozen=True, eq=False)
class ChamberPressure:
    """The absolute pressure in the chamber.

    Parameters
    ----------
    trace
        The sensor it comes from.
    pressure_pa
        One value per sample, shape (n,), not-a-number where missing [Pa].
    uncertainty_pa
        Its uncertainty [Pa]; None where not known.
    """

    trace: Trace
    pressure_pa: NDArray[np.float64]
    uncertainty_pa: float | None

    @cached_property
    def saturated_c(self) -> NDArray[np.float64]:
        """Its saturation temperature, as `saturation_c` has it."""
        return saturation_c(self.pressure_pa)


@dataclass(frozen=True, eq=False)
class SteamCase:
    """A record with everything it is judged against.

    Parameters
    ----------
    record
        The record.
    programme
        The programme that should have run.
    limits
        The site's limits.
    on
        The day of the decision, on which limits must hold.
    by
        Which of the chamber's pressure sensors it is judged by, from 0.
    """

    record: CycleRecord
    programme: SteamProgramme
    limits: SteamLimits
    on: date
    by: int = 0

    @cached_property
    def thermometers(self) -> list[Trace]:
        """All points at which the temperature of the holding time is judged."""
        return self.record.of("temperature", "chamber", "drain", "load")

    @cached_property
    def reference(self) -> Trace | None:
        """The reference point: the drain where one is measured, else the chamber."""
        points = self.record.of("temperature", "drain") or self.record.of("temperature", "chamber")
        return points[0] if points else None

    @cached_property
    def pressure_sensors(self) -> list[Trace]:
        """The sensors of the chamber's pressure; a second recorder's only in place of the machine's own."""
        known = self.record.traces
        return [one for one in self.record.of("pressure", "chamber") if one.beside is None or one.beside not in known]

    @cached_property
    def pressure(self) -> ChamberPressure | str:
        """The absolute pressure in the chamber, or why it is not known."""
        sensors = self.pressure_sensors
        if not sensors:
            return NO_PRESSURE
        trace = sensors[self.by]
        around: Surroundings | str = Surroundings(0.0, 0.0, "")
        if trace.gauge:
            around = surroundings_of(self.record, 0, self.record.time_s.size - 1)
        if isinstance(around, str):
            return f"the sensor measures against the surroundings and {around}"
        doubts = (trace.uncertainty, around.uncertainty_pa)
        doubt = None if None in doubts else sum(each for each in doubts if each is not None)
        return ChamberPressure(trace, trace.values + around.pressure_pa, doubt)

    @property
    def tolerated_gap_s(self) -> float:
        """Longest gap that does not break a stretch of time; without a limit none but the usual interval's jitter."""
        usual = GAP_FACTOR * self.record.axis.usual_s
        limit = self.limits.longest_gap
        if limit is None or limit_fault(limit, "s", self.on):
            return usual
        return max(limit.value, usual)

    def coldest(self, worsened: float) -> NDArray[np.float64]:
        """Return the lowest reading of all points at each moment, lowered by their uncertainties.

        Parameters
        ----------
        worsened
            How many times its uncertainty each reading is lowered by.

        Returns
        -------
        numpy.ndarray
            Shape (n,) [°C], not-a-number where a point shows none and the hole is longer than tolerated.
        """
        time, tolerated = self.record.time_s, self.tolerated_gap_s
        points = [filled(t.values, time, tolerated) - worsened * (t.uncertainty or 0.0) for t in self.thermometers]
        lowest: NDArray[np.float64] = np.min(points, axis=0)
        return lowest

    @cached_property
    def at_temperature(self) -> list[Stretch]:
        """The unbroken stretches in which every point was at the sterilization temperature, by the raw readings."""
        return self._hot(self.coldest(0.0)) if self.thermometers else []

    @cached_property
    def held(self) -> NDArray[np.bool_]:
        """Whether every point was at the sterilization temperature, shape (n,)."""
        mask = np.zeros(self.record.time_s.size, dtype=bool)
        for first, last in self.at_temperature:
            mask[first : last + 1] = True
        return mask

    @cached_property
    def plateau(self) -> Stretch | None:
        """From the first to the last moment at which every point was at the sterilization temperature.

        A dip parts it no more than it parts a stage of washing: which part is longer can hang on noise.
        """
        return _hull(self.at_temperature)

    @cached_property
    def shown(self) -> Stretch | None:
        """Where the plateau is shown: where none is, that of the reference point alone, which proves nothing."""
        if self.plateau is not None or self.reference is None:
            return self.plateau
        return _hull(self._hot(filled(self.reference.values, self.record.time_s, self.tolerated_gap_s)))

    def _hot(self, temperature_c: NDArray[np.float64]) -> list[Stretch]:
        hot = temperature_c >= self.programme.sterilization_temperature_c
        return held(hot, self.record.axis, self.tolerated_gap_s)


def _hull(parts: list[Stretch]) -> Stretch | None:
    return (parts[0][0], parts[-1][1]) if parts else None


def saturation_c(pressure_pa: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the saturation temperature of each pressure.

    Parameters
    ----------
    pressure_pa
        Absolute pressures, shape (n,) [Pa].

    Returns
    -------
    numpy.ndarray
        Shape (n,) [°C], IAPWS-IF97 region 4; not-a-number outside 1 kPa to 1 MPa.
    """
    result = np.full(pressure_pa.size, np.nan)
    low, high = _STEAM_RANGE_PA
    for place in np.flatnonzero((pressure_pa >= low) & (pressure_pa <= high)).tolist():
        result[place] = saturation_temperature_c(float(pressure_pa[place]))
    return result

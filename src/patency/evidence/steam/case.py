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
    """

    record: CycleRecord
    programme: SteamProgramme
    limits: SteamLimits
    on: date

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
    def pressure(self) -> ChamberPressure | str:
        """The absolute pressure in the chamber, or why it is not known."""
        sensors = self.record.of("pressure", "chamber")
        if not sensors:
            return NO_PRESSURE
        trace = sensors[0]
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

    def longest_at_temperature(self, worsened: float) -> Stretch | None:
        """Return the longest unbroken stretch in which every point was at the sterilization temperature.

        Parameters
        ----------
        worsened
            How many times its uncertainty each reading is lowered by.

        Returns
        -------
        tuple or None
            First and last sample; None where there is none.
        """
        if not self.thermometers:
            return None
        return self._longest(self.coldest(worsened))

    def _longest(self, temperature_c: NDArray[np.float64]) -> Stretch | None:
        hot = temperature_c >= self.programme.sterilization_temperature_c
        time = self.record.time_s
        parts = held(hot, self.record.axis, self.tolerated_gap_s)
        return max(parts, key=lambda part: time[part[1]] - time[part[0]], default=None)

    @cached_property
    def holding(self) -> Stretch | None:
        """The holding time by the raw readings."""
        return self.longest_at_temperature(0.0)

    @cached_property
    def plateau(self) -> Stretch | None:
        """Where the plateau lies: the holding time, else that of the reference point alone, which proves nothing."""
        if self.holding is not None or self.reference is None:
            return self.holding
        return self._longest(filled(self.reference.values, self.record.time_s, self.tolerated_gap_s))


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

"""Steam sterilizers: what a programme prescribes, and the site's limits for a cycle and for the machine's tests."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from patency.catalogue.fields import Described, Duration, Name, Temperature
from patency.catalogue.stated_limits import PressureLimit, TemperatureDifferenceLimit, TemperatureLimit, TimeLimit


class SteamProgramme(Described):
    """A programme of the steam sterilizers."""

    name: Name
    version: Name
    sterilization_temperature_c: Temperature
    """Lowest temperature of the holding time, such as 134 °C."""
    holding_s: Duration
    """Prescribed holding time: how long every measured point is to stay at the sterilization temperature."""
    pulses: Annotated[int, Field(ge=0)]
    """How often air is removed by a deep vacuum before the plateau."""
    drying_s: Duration
    """Prescribed time in vacuum after the plateau."""
    sensors: Annotated[int, Field(ge=1)] | None = None
    """How many sensors of temperature and pressure in chamber, drain and load the record of a cycle holds."""


class SteamLimits(Described):
    """Limits for the verdict on a cycle of a steam sterilizer and on its tests."""

    temperature_band: TemperatureDifferenceLimit | None = None
    """Widest excess over the sterilization temperature during the holding time."""
    spread: TemperatureDifferenceLimit | None = None
    """Widest difference between measured points at one moment of the holding time."""
    off_saturation: TemperatureDifferenceLimit | None = None
    """How far a measured point may lie below or above the saturation temperature of the measured pressure."""
    equilibration: TimeLimit | None = None
    """Longest time from the reference point to the last point at the sterilization temperature."""
    pulse_vacuum: PressureLimit | None = None
    """Highest absolute pressure at the bottom of a pulse that counts as air removal."""
    drying_vacuum: PressureLimit | None = None
    """Highest absolute pressure that counts as vacuum of the drying."""
    longest_gap: TimeLimit | None = None
    """Longest gap in a record that can still be judged."""
    calibration_interval: TimeLimit | None = None
    """Longest time since a sensor of the record was calibrated."""
    f0_reference: TemperatureLimit | None = None
    """Reference temperature of F0: 121, 121.1 or 121.11 °C; F0 is told, it decides nothing."""
    leak_start: PressureLimit | None = None
    """Highest absolute pressure at which the air-leakage test may begin."""
    leak_settling: TimeLimit | None = None
    """Time after closing the valves that is left aside."""
    leak_time: TimeLimit | None = None
    """Length of the leakage measurement."""
    leak_rise: PressureLimit | None = None
    """Largest rise of the pressure during the leakage measurement."""
    leakage_interval: TimeLimit | None = None
    """Longest time since the last air-leakage test."""
    penetration_interval: TimeLimit | None = None
    """Longest time since the last steam-penetration test."""
    hollow_interval: TimeLimit | None = None
    """Longest time since the last hollow-load test."""

"""Published values for water: density, viscosity, boiling."""

from __future__ import annotations

from functools import partial

from patency.quantities import (
    saturation_pressure_pa,
    saturation_temperature_c,
    water_density_kg_m3,
    water_dynamic_viscosity_pa_s,
)
from patency.steps.self_checking.check import PublishedCheck

_ZERO_C_K = 273.15
_LIQUID = "IAPWS SR6-08(2011), values for checking programs, 298.15 K, 0.1 MPa (as quoted by an open-source package)"
_PRINTED = "half the last printed digit"
_SATURATION_PRESSURE_MPA = {300.0: (0.00353658941, 5e-12), 500.0: (2.63889776, 5e-9)}
_SATURATION_TEMPERATURE_K = {0.1: (372.755919, 5e-7), 1.0: (453.035632, 5e-7)}


def _pressure_mpa(temperature_k: float) -> float:
    return saturation_pressure_pa(temperature_k - _ZERO_C_K) / 1e6


def _temperature_k(pressure_mpa: float) -> float:
    return saturation_temperature_c(pressure_mpa * 1e6) + _ZERO_C_K


def water_checks() -> list[PublishedCheck]:
    """List the checks on water.

    Returns
    -------
    list[PublishedCheck]
        IAPWS SR6-08 and IAPWS-IF97 region 4.
    """
    liquid = [
        PublishedCheck(
            "water",
            "density of liquid water at 25 °C",
            _LIQUID,
            997.047013,
            "kg/m³",
            5e-7,
            _PRINTED,
            partial(water_density_kg_m3, 25.0),
        ),
        PublishedCheck(
            "water",
            "viscosity of liquid water at 25 °C",
            _LIQUID,
            889.996774e-6,
            "Pa s",
            5e-13,
            _PRINTED,
            partial(water_dynamic_viscosity_pa_s, 25.0),
        ),
    ]
    pressures = [
        PublishedCheck(
            "water",
            f"saturation pressure at {kelvin:g} K",
            "IAPWS R7-97(2012), table 35",
            expected,
            "MPa",
            tolerance,
            _PRINTED,
            partial(_pressure_mpa, kelvin),
        )
        for kelvin, (expected, tolerance) in _SATURATION_PRESSURE_MPA.items()
    ]
    temperatures = [
        PublishedCheck(
            "water",
            f"saturation temperature at {mpa:g} MPa",
            "IAPWS R7-97(2012), table 36",
            expected,
            "K",
            tolerance,
            _PRINTED,
            partial(_temperature_k, mpa),
        )
        for mpa, (expected, tolerance) in _SATURATION_TEMPERATURE_K.items()
    ]
    return [*liquid, *pressures, *temperatures]

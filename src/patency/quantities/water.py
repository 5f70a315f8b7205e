"""Liquid water at the pressure of the room, and the line on which water and steam balance.

Density and viscosity follow the Revised Supplementary Release on Properties of Liquid Water at
0.1 MPa, IAPWS SR6-08(2011); the saturation line follows region 4 of the Industrial Formulation
1997, IAPWS R7-97(2012). Both are open releases of the International Association for the
Properties of Water and Steam.

A washer's circulation runs within about a bar of the room's pressure. Against the room's standard
0.101325 MPa the 1.3 kPa of difference moves the density by 6e-7 of itself; one bar of pump pressure
moves it by 5e-5, the viscosity by less than 1e-4. Detergent at half a percent is within a few
percent of water (from memory, not verified).
"""

from __future__ import annotations

import math

from patency.errors import InputError

_ZERO_C_K = 273.15

# IAPWS SR6-08(2011), equation for the specific volume: coefficient and exponent of each term.
_SR6_GAS_CONSTANT = 461.51805  # J/(kg K)
_SR6_PRESSURE_PA = 0.1e6
_SR6_VOLUME_A0 = 1.93763157e-2
_SR6_VOLUME_ALPHA = ((6.74458446e3, 4), (-2.22521604e5, 5), (1.00231247e8, 7), (-1.63552118e9, 8), (8.32299658e9, 9))
_SR6_VOLUME_BETA = (
    (5.78545292e-3, 1),
    (-1.53195665e-2, 2),
    (3.11337859e-2, 3),
    (-4.23546241e-2, 4),
    (3.38713507e-2, 5),
    (-1.19946761e-2, 6),
)
# IAPWS SR6-08(2011), equation for the viscosity, in micropascal seconds, of T / 300 K.
_SR6_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))

# IAPWS R7-97(2012), table 34: the coefficients n1 to n10 of the saturation-line equation.
_IF97_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
_LIQUID_RANGE_C = (0.0, 100.0)
_SATURATION_RANGE_C = (0.0, 373.946)
_SATURATION_RANGE_PA = (611.2126, 22.064e6)


def _inside(name: str, value: float, bounds: tuple[float, float], unit: str) -> float:
    """Hand the value back if it lies within the bounds of a formula; not-a-number never does."""
    low, high = bounds
    if not low <= value <= high:
        raise InputError(name, f"{value:g} {unit}", f"{low:.7g} to {high:.7g} {unit}, where the formula holds")
    return value


def water_density_kg_m3(temperature_c: float) -> float:
    """How heavy liquid water is at a temperature, at 0.1 MPa.

    Holds from 0 to 100 °C (the release itself reaches from -20 to 110 °C). Reproduces the full
    equation of state, IAPWS-95, at 0.101325 MPa within 1e-6 of the value.

    Parameters
    ----------
    temperature_c
        Temperature of the water [°C], 0 to 100.

    Returns
    -------
    float
        Density [kg/m³].

    Raises
    ------
    InputError
        If the temperature lies outside 0 to 100 °C.

    Examples
    --------
    >>> round(water_density_kg_m3(25.0), 4)
    997.047
    """
    kelvin = _inside("water temperature", temperature_c, _LIQUID_RANGE_C, "°C") + _ZERO_C_K
    alpha = 10.0 / (593.0 - kelvin)
    beta = 10.0 / (kelvin - 232.0)
    terms = _SR6_VOLUME_A0
    terms += sum(a * alpha**n for a, n in _SR6_VOLUME_ALPHA)
    terms += sum(b * beta**m for b, m in _SR6_VOLUME_BETA)
    return _SR6_PRESSURE_PA / (_SR6_GAS_CONSTANT * 10.0 * terms)


def water_dynamic_viscosity_pa_s(temperature_c: float) -> float:
    """How thick liquid water is at a temperature, at 0.1 MPa.

    Holds from 0 to 100 °C, where it agrees with the general formulation for viscosity, IAPWS R12-08,
    within 5e-5 of the value. What water itself is known to is coarser: about 1 % (from memory, not verified).

    Parameters
    ----------
    temperature_c
        Temperature of the water [°C], 0 to 100.

    Returns
    -------
    float
        Dynamic viscosity [Pa s].

    Raises
    ------
    InputError
        If the temperature lies outside 0 to 100 °C.

    Examples
    --------
    >>> round(water_dynamic_viscosity_pa_s(25.0) * 1e6, 2)
    890.0
    """
    reduced = (_inside("water temperature", temperature_c, _LIQUID_RANGE_C, "°C") + _ZERO_C_K) / 300.0
    return 1e-6 * sum(a * math.pow(reduced, b) for a, b in _SR6_VISCOSITY)


def water_kinematic_viscosity_m2_s(temperature_c: float) -> float:
    """Dynamic viscosity over density of liquid water, at 0.1 MPa: what the Reynolds number needs.

    Parameters
    ----------
    temperature_c
        Temperature of the water [°C], 0 to 100.

    Returns
    -------
    float
        Kinematic viscosity [m²/s].

    Raises
    ------
    InputError
        If the temperature lies outside 0 to 100 °C.

    Examples
    --------
    >>> round(water_kinematic_viscosity_m2_s(50.0) * 1e6, 4)
    0.5531
    """
    return water_dynamic_viscosity_pa_s(temperature_c) / water_density_kg_m3(temperature_c)


def saturation_pressure_pa(temperature_c: float) -> float:
    """At which absolute pressure water of a temperature boils (IAPWS-IF97, region 4, equation 30).

    Parameters
    ----------
    temperature_c
        Temperature [°C], 0 to 373.946 (the critical point).

    Returns
    -------
    float
        Absolute pressure [Pa].

    Raises
    ------
    InputError
        If the temperature lies outside 0 to 373.946 °C.

    Examples
    --------
    >>> round(saturation_pressure_pa(134.0) / 100.0)
    3042
    """
    kelvin = _inside("saturation temperature", temperature_c, _SATURATION_RANGE_C, "°C") + _ZERO_C_K
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _IF97_N
    theta = kelvin + n9 / (kelvin - n10)
    a = (theta + n1) * theta + n2
    b = (n3 * theta + n4) * theta + n5
    c = (n6 * theta + n7) * theta + n8
    return float(1e6 * (2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))) ** 4)


def saturation_temperature_c(pressure_pa: float) -> float:
    """At which temperature water boils under an absolute pressure (IAPWS-IF97, region 4, equation 31).

    The equation is the exact inverse of the one for the pressure.

    Parameters
    ----------
    pressure_pa
        Absolute pressure [Pa], 611.2126 to 22.064e6; a gauge reading has to be added to the room's pressure first.

    Returns
    -------
    float
        Temperature [°C].

    Raises
    ------
    InputError
        If the pressure lies outside 611.2126 Pa to 22.064 MPa.

    Examples
    --------
    >>> round(saturation_temperature_c(101325.0), 3)
    99.974
    """
    mega = _inside("saturation pressure", pressure_pa, _SATURATION_RANGE_PA, "Pa") / 1e6
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _IF97_N
    beta = mega**0.25
    e = (beta + n3) * beta + n6
    f = (n1 * beta + n4) * beta + n7
    g = (n2 * beta + n5) * beta + n8
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    return float((n10 + d - math.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d))) / 2.0 - _ZERO_C_K)

"""What a bore keeps by capillarity after the water has stopped."""

from __future__ import annotations

from patency.errors import InputError
from patency.quantities import STANDARD_GRAVITY_M_S2, water_density_kg_m3

_CRITICAL_K = 647.096


def surface_tension_n_m(temperature_c: float) -> float:
    """Surface tension of water against its vapour.

    Parameters
    ----------
    temperature_c
        Temperature [°C], 0.01 to 373.946.

    Returns
    -------
    float
        Surface tension [N/m], from IAPWS R1-76(2014): 0.2358 τ^1.256 (1 − 0.625 τ), τ = 1 − T/647.096 K. Detergent
        lowers it; without detergent is the worst case.

    Raises
    ------
    InputError
        Outside the range of the release.

    Examples
    --------
    >>> round(surface_tension_n_m(20.0), 5)
    0.07274
    """
    if not 0.01 <= temperature_c <= _CRITICAL_K - 273.15:
        raise InputError("surface tension of water", f"{temperature_c:g} °C", "0.01 to 373.946 °C")
    tau = 1.0 - (temperature_c + 273.15) / _CRITICAL_K
    return float(0.2358 * tau**1.256 * (1.0 - 0.625 * tau))


def hold_up_m(hydraulic_diameter_m: float, temperature_c: float) -> float:
    """Height of the plug of water that stays in a wetted upright bore.

    Parameters
    ----------
    hydraulic_diameter_m
        Diameter of the bore, or outer less inner diameter of an annulus [m].
    temperature_c
        Temperature of the water [°C], 0.01 to 100.

    Returns
    -------
    float
        2 σ / (ρ g r) with r half the hydraulic diameter [m]: the capillary rise of a fully wetted bore (Jurin's law).
        In an inclined bore the plug is as high and therefore longer.

    Raises
    ------
    InputError
        Outside the range of temperature.

    Examples
    --------
    >>> round(1000 * hold_up_m(0.001, 60.0), 1)
    27.5
    """
    weight_n_m3 = water_density_kg_m3(temperature_c) * STANDARD_GRAVITY_M_S2
    return 4.0 * surface_tension_n_m(temperature_c) / (weight_n_m3 * hydraulic_diameter_m)

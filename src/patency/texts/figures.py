"""Numbers with their units as people read them."""

from __future__ import annotations

_DAY_S = 86_400.0
_READ_IN_DAYS_S = 10 * _DAY_S


def people_length(length_m: float) -> str:
    """Write a length as people at the bench read it.

    Parameters
    ----------
    length_m
        Length [m].

    Returns
    -------
    str
        In mm, with a decimal below 10 mm.

    Examples
    --------
    >>> people_length(0.0042), people_length(0.33)
    ('4.2 mm', '330 mm')
    """
    length_mm = length_m * 1e3
    return f"{length_mm:.1f} mm" if length_mm < 10 else f"{length_mm:.0f} mm"


def people_flow(flow_m3_s: float) -> str:
    """Write a flow as people read it.

    Parameters
    ----------
    flow_m3_s
        Flow [m³/s].

    Returns
    -------
    str
        In mL/min, from 10 L/min up in L/min.

    Examples
    --------
    >>> people_flow(8.0e-6), people_flow(5e-4)
    ('480 mL/min', '30 L/min')
    """
    ml_min = flow_m3_s * 6e7
    if ml_min >= 10_000:
        return f"{ml_min / 1000:.0f} L/min"
    return f"{_three_digits(ml_min)} mL/min"


def people_pressure(pressure_pa: float) -> str:
    """Write a pressure as people read it.

    Parameters
    ----------
    pressure_pa
        Gauge pressure [Pa].

    Returns
    -------
    str
        In mbar.

    Examples
    --------
    >>> people_pressure(20_800.0)
    '208 mbar'
    """
    return f"{_three_digits(pressure_pa / 100)} mbar"


def people_shear(shear_pa: float) -> str:
    """Write a wall shear stress as people read it.

    Parameters
    ----------
    shear_pa
        Wall shear stress [Pa].

    Returns
    -------
    str
        In Pa.

    Examples
    --------
    >>> people_shear(7.123)
    '7.12 Pa'
    """
    return f"{_three_digits(shear_pa)} Pa"


def people_quantity(value: float, unit: str) -> str:
    """Write a number of a criterion as people read it.

    Parameters
    ----------
    value
        The number.
    unit
        The unit it is kept in: ``s``, ``degC``, ``K``, ``Pa``, ``uS/cm``, ``rpm``, ``m3``, ``m3/s``, ``m``, ``1``.

    Returns
    -------
    str
        Pressures in mbar, volumes in mL, flows in mL/min, lengths in mm; times stay in seconds, so that A0 does, until
        they are so long that only days can be read.

    Examples
    --------
    >>> people_quantity(20_800.0, "Pa"), people_quantity(5.02e-5, "m3"), people_quantity(2140.2, "s")
    ('208 mbar', '50.2 mL', '2140 s')
    >>> people_quantity(31_536_000.0, "s")
    '365 d'
    """
    if unit == "Pa":
        return people_pressure(value)
    if unit == "m3/s":
        return people_flow(value)
    if unit == "m":
        return people_length(value)
    if unit == "m3":
        return f"{_three_digits(value * 1e6)} mL"
    if unit == "s" and abs(value) >= _READ_IN_DAYS_S:
        return f"{value / _DAY_S:.0f} d"
    word = {"degC": " °C", "uS/cm": " µS/cm", "1": ""}.get(unit, f" {unit}" if unit else "")
    digits = f"{value:.1f}" if unit in {"degC", "K"} else _three_digits(value)
    return f"{digits}{word}"


def people_time(duration_s: float) -> str:
    """Write a duration as people read it.

    Parameters
    ----------
    duration_s
        Duration [s].

    Returns
    -------
    str
        In seconds up to two minutes, then in minutes.

    Examples
    --------
    >>> people_time(15), people_time(3960)
    ('15 s', '66 min')
    """
    return f"{duration_s:.0f} s" if duration_s <= 120 else f"{duration_s / 60:.0f} min"


def _three_digits(number: float) -> str:
    """Round to about three digits: more would promise what the calculation cannot keep. Whole numbers stay whole."""
    if abs(number) >= 100 or abs(number - round(number)) < 1e-9:
        return f"{number:.0f}"
    if abs(number) < 0.1:
        return f"{number:.3f}"  # a small share would read as nothing
    return f"{number:.1f}" if abs(number) >= 10 else f"{number:.2f}"

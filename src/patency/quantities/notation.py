"""Quantities as people write them: ``4.2 mm``, ``4.2 ± 0.05 mm``, ``3000 s``, ``45 °C``.

A number without its unit is refused: a file in which a bore could be read as 4.2 m or 4.2 mm cannot be checked by eye.
"""

from __future__ import annotations

import re
from fractions import Fraction

from patency.errors import InputError
from patency.quantities.values import Toleranced

# Exact factor and offset from the written unit to the unit used inside: inside = written * factor + offset.
UNITS: dict[str, dict[str, tuple[Fraction, Fraction]]] = {
    dimension: {unit: (Fraction(factor), Fraction(offset)) for unit, (factor, offset) in units.items()}
    for dimension, units in {
        "length": {
            "m": ("1", "0"),
            "cm": ("1/100", "0"),
            "mm": ("1/1000", "0"),
            "µm": ("1e-6", "0"),
            "um": ("1e-6", "0"),
        },
        "time": {"s": ("1", "0"), "min": ("60", "0"), "h": ("3600", "0")},
        "temperature": {"°C": ("1", "0"), "degC": ("1", "0"), "K": ("1", "-273.15")},
        "temperature difference": {"K": ("1", "0")},
        "pressure": {"Pa": ("1", "0"), "kPa": ("1000", "0"), "mbar": ("100", "0"), "bar": ("100000", "0")},
        "flow": {"m3/s": ("1", "0"), "L/min": ("1/60000", "0"), "mL/min": ("1/60000000", "0")},
        "velocity": {"m/s": ("1", "0")},
        "area": {"m2": ("1", "0"), "cm2": ("1e-4", "0"), "mm2": ("1e-6", "0")},
        "volume": {"m3": ("1", "0"), "L": ("1/1000", "0"), "mL": ("1e-6", "0")},
        "mass": {"kg": ("1", "0"), "g": ("1/1000", "0")},
        "angle": {"°": ("1", "0"), "deg": ("1", "0")},
        "force": {"N": ("1", "0")},
        "conductivity": {"µS/cm": ("1", "0"), "uS/cm": ("1", "0")},
        "rotation": {"rpm": ("1", "0")},
        "share": {"%": ("1/100", "0")},
        "number": {"": ("1", "0")},
    }.items()
}
# The unit each dimension has inside, as limits and reports name it.
INSIDE_UNIT: dict[str, str] = {
    "length": "m",
    "time": "s",
    "temperature": "degC",
    "temperature difference": "K",
    "pressure": "Pa",
    "flow": "m3/s",
    "velocity": "m/s",
    "area": "m2",
    "volume": "m3",
    "mass": "kg",
    "angle": "deg",
    "force": "N",
    "conductivity": "uS/cm",
    "rotation": "rpm",
    "share": "1",
    "number": "1",
}
_MANTISSA = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_NUMBER = rf"{_MANTISSA}(?:[eE][-+]?\d{{1,2}})?"
# The reader takes any exponent, so that it can say what is wrong with 1e-300.
_ANY_NUMBER = rf"{_MANTISSA}(?:[eE][-+]?\d+)?"
_QUANTITY = re.compile(rf"^\s*({_ANY_NUMBER})\s*(?:(?:±|\+/-)\s*({_ANY_NUMBER})\s*)?(\S*)\s*$")
_LARGEST = 1e99  # the largest and smallest a two-digit exponent is meant for; nothing in a department comes near
_TOO_LARGE = f"is too large, the largest number read is {_LARGEST:g}"
_MOST_SIGNS = 100
_SHOWN_SIGNS = 40


def pattern(dimension: str) -> str:
    """Return the regular expression of a written quantity, for the editor's schema.

    Parameters
    ----------
    dimension
        One of the keys of ``UNITS``.

    Returns
    -------
    str
        An ECMA-compatible pattern.
    """
    units = "|".join(re.escape(unit) for unit in UNITS[dimension])
    return rf"^\s*{_NUMBER}\s*((±|\+/-)\s*{_NUMBER}\s*)?({units})\s*$"


def expectation(dimension: str) -> str:
    """Say in words what is expected of a quantity.

    Parameters
    ----------
    dimension
        One of the keys of ``UNITS``.

    Returns
    -------
    str
        Such as ``a length with its unit (m, cm, mm, µm, um)``.
    """
    if dimension == "number":
        return "a number"
    article = "an" if dimension[0] in "aeiou" else "a"
    return f"{article} {dimension} with its unit ({', '.join(UNITS[dimension])})"


def parse_quantity(text: object, dimension: str) -> Toleranced:
    """Read one written quantity.

    Parameters
    ----------
    text
        What stands in the file: a string; a bare number only where the dimension is ``number``.
    dimension
        One of the keys of ``UNITS``.

    Returns
    -------
    Toleranced
        The value in the unit used inside, with its tolerance where one is written.

    Raises
    ------
    InputError
        When it is not a quantity of that dimension with a unit, is longer than a hundred signs, or has a number beyond
        1e-99 to 1e99.

    Examples
    --------
    >>> parse_quantity("4.2 ± 0.05 mm", "length")
    Toleranced(nominal=0.0042, plus_minus=5e-05)
    >>> parse_quantity(4.2, "length")
    Traceback (most recent call last):
    ...
    patency.errors.InputError: quantity: 4.2 has no unit (expected: a length with its unit (m, cm, mm, µm, um))
    """
    expected = expectation(dimension)
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise InputError("quantity", f"{text!r} is not a quantity", expected)
    if isinstance(text, int) and abs(text) > _LARGEST:  # Python does not write out thousands of digits
        raise InputError("quantity", f"the number {_TOO_LARGE}", expected)
    written = str(text)
    shown = repr(text) if len(written) <= _SHOWN_SIGNS else f"{written[:_SHOWN_SIGNS]!r}…"
    if len(written) > _MOST_SIGNS:
        raise InputError("quantity", f"{shown} is longer than {_MOST_SIGNS} signs", expected)
    found = _QUANTITY.match(written)
    if found is None or not "".join(found.groups("")[:2]).isascii():
        raise InputError("quantity", f"{shown} is not a quantity", expected)
    number, tolerance, unit = found.groups()
    for each in filter(None, (number, tolerance)):
        if fault := _number_fault(each):
            raise InputError("quantity", f"{shown} {fault}", expected)
    if unit not in UNITS[dimension]:
        fault = f"{shown} has the unit {unit!r}" if unit else f"{shown} has no unit"
        raise InputError("quantity", fault, expected)
    factor, offset = UNITS[dimension][unit]
    plus_minus = None
    if tolerance is not None:
        plus_minus = float(Fraction(tolerance) * factor)
        if plus_minus < 0:
            raise InputError("quantity", f"{shown} has a negative tolerance", expected)
    return Toleranced(float(Fraction(number) * factor + offset), plus_minus)


def _number_fault(number: str) -> str:
    """Say why a number cannot be taken; empty where it can."""
    size = abs(float(number))
    if size > _LARGEST:
        return _TOO_LARGE
    if size < 1 / _LARGEST and re.match(r"[-+.0]*[1-9]", number):
        return f"is too small, the smallest number read besides 0 is {1 / _LARGEST:g}"
    return ""

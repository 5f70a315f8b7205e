"""The units a cycle record may be written in, and the units used inside."""

from __future__ import annotations

from fractions import Fraction

from patency.quantities import UNITS

# Exact factor and offset: inside = written * factor + offset. Fahrenheit and pounds-force per square inch by their
# definitions: NIST Special Publication 811 (2008), appendix B.8 (1 psi = 4.448 221 615 260 5 N / (0.0254 m)^2).
_PSI = Fraction("4.4482216152605") / Fraction("0.0254") ** 2
RECORD_UNITS: dict[str, dict[str, tuple[Fraction, Fraction]]] = {
    "temperature": {**UNITS["temperature"], "degF": (Fraction(5, 9), Fraction(-160, 9))},
    "pressure": {**UNITS["pressure"], "psi": (_PSI, Fraction(0))},
    "flow": UNITS["flow"],
    "rotation": UNITS["rotation"],
    "conductivity": UNITS["conductivity"],
    "dosed volume": {unit: UNITS["volume"][unit] for unit in ("mL", "L")},
}


def to_inside(quantity: str, unit: str) -> tuple[float, float]:
    """Return factor and offset from a written unit to the unit used inside.

    Parameters
    ----------
    quantity
        One of the keys of ``RECORD_UNITS``.
    unit
        A unit of that quantity.

    Returns
    -------
    tuple
        Factor and offset: inside = written × factor + offset. A difference takes the factor alone.

    Examples
    --------
    >>> to_inside("pressure", "mbar")
    (100.0, 0.0)
    >>> factor, offset = to_inside("temperature", "degF")
    >>> round(212 * factor + offset, 9)
    100.0
    """
    factor, offset = RECORD_UNITS[quantity][unit]
    return float(factor), float(offset)

"""How a quantity stands in a file, both ways: ``4.2 ± 0.05 mm`` to SI floats, and back to text."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from pydantic_core import core_schema

from patency.errors import InputError
from patency.quantities import UNITS, Toleranced, expectation, parse_quantity, pattern

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue

# What people write first; the others only where they make the number clearly shorter.
_PREFERRED = {
    "length": ("mm", "m", "µm"),
    "time": ("min", "s"),
    "temperature": ("°C",),
    "temperature difference": ("K",),
    "pressure": ("mbar", "Pa"),
    "flow": ("mL/min", "L/min", "m3/s"),
    "velocity": ("m/s",),
    "area": ("mm2", "cm2", "m2"),
    "volume": ("mL", "L", "m3"),
    "mass": ("g", "kg"),
    "angle": ("°",),
    "force": ("N",),
    "conductivity": ("µS/cm",),
    "rotation": ("rpm",),
    "share": ("%",),
    "number": ("",),
}
_CLEARLY_SHORTER = 2  # characters
_EXAMPLES = {
    "length": "4.2 mm",
    "time": "5 min",
    "temperature": "45 °C",
    "temperature difference": "5 K",
    "pressure": "200 mbar",
    "flow": "100 mL/min",
    "velocity": "1 m/s",
    "area": "50 mm2",
    "volume": "120 mL",
    "mass": "25 g",
    "angle": "60 °",
    "force": "2 N",
    "conductivity": "5 µS/cm",
    "rotation": "30 rpm",
    "share": "5 %",
    "number": "1.5",
}


def write_quantity(value: float | Toleranced, dimension: str) -> str:
    """Write a quantity so that reading it gives exactly the same value.

    Parameters
    ----------
    value
        The quantity in the unit used inside.
    dimension
        One of the keys of ``UNITS``.

    Returns
    -------
    str
        Such as ``4.2 ± 0.05 mm``.

    Examples
    --------
    >>> write_quantity(Toleranced(0.0042, 0.00005), "length"), write_quantity(600.0, "time")
    ('4.2 ± 0.05 mm', '10 min')
    """
    quantity = value if isinstance(value, Toleranced) else Toleranced(value)
    texts = [_in_unit(quantity, dimension, unit) for unit in _PREFERRED[dimension]]
    shortest = min(texts, key=len)
    return texts[0] if len(texts[0]) < len(shortest) + _CLEARLY_SHORTER else shortest


def _in_unit(quantity: Toleranced, dimension: str, unit: str) -> str:
    factor, offset = UNITS[dimension][unit]
    number = _decimal(quantity.nominal, factor, offset)
    if quantity.plus_minus is None:
        return f"{number} {unit}".strip()
    return f"{number} ± {_decimal(quantity.plus_minus, factor, Fraction(0))} {unit}".strip()


def _decimal(value: float, factor: Fraction, offset: Fraction) -> str:
    """Find the shortest decimal number that the reader turns into exactly this float."""
    written = (Fraction(value) - offset) / factor
    digits, text = 0, ""
    while not text or float(Fraction(text) * factor + offset) != value:
        digits += 1
        number = Context(prec=digits).divide(Decimal(written.numerator), Decimal(written.denominator))
        text = f"{number:f}"
    return text


@dataclass(frozen=True)
class _Written:
    """What all quantities share: dimension and range, checked with the whole tolerance."""

    dimension: str
    lowest: float | None = None
    above: float | None = None
    highest: float | None = None

    def read(self, value: object) -> Toleranced:
        """Read what stands in the file; the fault's text is ``what|expected``."""
        quantity = value if isinstance(value, Toleranced) else self._parsed(value)
        least = quantity.nominal - (quantity.plus_minus or 0.0)
        most = quantity.nominal + (quantity.plus_minus or 0.0)
        wanted = expectation(self.dimension)
        if self.above is not None and least <= self.above:
            raise ValueError(f"{value!r} is too small|{wanted}, more than {self._shown(self.above)}")
        if self.lowest is not None and least < self.lowest:
            raise ValueError(f"{value!r} is too small|{wanted}, at least {self._shown(self.lowest)}")
        if self.highest is not None and most > self.highest:
            raise ValueError(f"{value!r} is too large|{wanted}, at most {self._shown(self.highest)}")
        return quantity

    def _parsed(self, value: object) -> Toleranced:
        try:
            return parse_quantity(value, self.dimension)
        except InputError as fault:
            raise ValueError(f"{fault.what}|{fault.expected}") from None

    def _shown(self, bound: float) -> str:
        return "zero" if bound == 0 else write_quantity(bound, self.dimension)

    def write(self, value: float | Toleranced) -> str | float:
        """Write the value as it stands in a file: a bare number where it has neither unit nor tolerance."""
        if self.dimension == "number" and not (isinstance(value, Toleranced) and value.plus_minus is not None):
            number = value.nominal if isinstance(value, Toleranced) else value
            return int(number) if number.is_integer() else number
        return write_quantity(value, self.dimension)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Tell an editor how it is written."""
        described = {
            "pattern": pattern(self.dimension),
            "description": expectation(self.dimension),
            "examples": [_EXAMPLES[self.dimension]],
        }
        if self.dimension == "number":
            return {"anyOf": [{"type": "number"}, {"type": "string", **described}]}
        return {"type": "string", **described}

    def _core_schema(self, read: core_schema.NoInfoValidatorFunction) -> core_schema.CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(self.write, when_used="json")
        return core_schema.no_info_plain_validator_function(read, serialization=writer)


@dataclass(frozen=True)
class WithTolerance(_Written):
    """Marks a field that may state its tolerance; its value is a `Toleranced`.

    Parameters
    ----------
    dimension
        One of the keys of ``UNITS``.
    lowest, above, highest
        Range in the unit used inside, which the whole tolerance has to keep; None where there is none.
    """

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Read and write through this mark."""
        return self._core_schema(self.read)


@dataclass(frozen=True)
class OrWord:
    """Marks a field that holds a quantity or, where there is none, the one word that says so.

    Parameters
    ----------
    quantity
        How the quantity is written.
    word
        The word.
    """

    quantity: WithTolerance | Plain
    word: str

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Read and write through this mark."""
        writer = core_schema.plain_serializer_function_ser_schema(self._write, when_used="json")
        return core_schema.no_info_plain_validator_function(self._read, serialization=writer)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Tell an editor how it is written."""
        return {"anyOf": [self.quantity.__get_pydantic_json_schema__(schema, handler), {"const": self.word}]}

    def _read(self, value: object) -> object:
        if value == self.word:
            return value
        read = self.quantity.read_plain if isinstance(self.quantity, Plain) else self.quantity.read
        try:
            return read(value)
        except ValueError as fault:
            raise ValueError(f"{fault}, or the word {self.word}") from None

    def _write(self, value: float | Toleranced | str) -> str | float:
        return value if isinstance(value, str) else self.quantity.write(value)


@dataclass(frozen=True)
class Plain(_Written):
    """Marks a field that has no tolerance; its value is a float.

    Parameters
    ----------
    dimension
        One of the keys of ``UNITS``.
    lowest, above, highest
        Range in the unit used inside; None where there is none.
    """

    def read_plain(self, value: object) -> float:
        """Read what stands in the file; the fault's text is ``what|expected``.

        Parameters
        ----------
        value
            A written quantity.

        Returns
        -------
        float
            The value in the unit used inside.

        Raises
        ------
        ValueError
            When it is not such a quantity, is out of range or has a tolerance.
        """
        quantity = self.read(value)
        if quantity.plus_minus is not None:
            raise ValueError(f"{value!r} has a tolerance|{expectation(self.dimension)} without tolerance")
        return quantity.nominal

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Read and write through this mark."""
        return self._core_schema(self.read_plain)

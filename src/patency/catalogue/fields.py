"""The field types every description is made of: written quantities, limits, names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, StringConstraints, WithJsonSchema

from patency.errors import InputError
from patency.quantities import INSIDE_UNIT, Limit, Toleranced, expectation, parse_quantity, pattern

if TYPE_CHECKING:
    from collections.abc import Callable

_SUFFIXES = ("_m3_s", "_m_s", "_us_cm", "_rpm", "_pa", "_kg", "_deg", "_m3", "_c", "_k", "_m", "_s", "_n")


def written_name(field: str) -> str:
    """Return the key that stands in the file for a field: the field's name without its unit.

    Parameters
    ----------
    field
        A field's name such as ``bore_m``.

    Returns
    -------
    str
        Such as ``bore``; the unit stands in the value, as in ``bore: 4.2 mm``.

    Examples
    --------
    >>> written_name("flow_m3_s"), written_name("name")
    ('flow', 'name')
    """
    for suffix in _SUFFIXES:
        if field.endswith(suffix):
            return field.removesuffix(suffix)
    return field


class Described(BaseModel):
    """Base of every description: frozen, no unknown keys, units written in the values."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=written_name,
        populate_by_name=True,
        use_attribute_docstrings=True,
        allow_inf_nan=False,
    )


def _toleranced(dimension: str) -> Callable[[object], Toleranced]:
    def read(value: object) -> Toleranced:
        if isinstance(value, Toleranced):
            return value
        try:
            return parse_quantity(value, dimension)
        except InputError as fault:
            raise ValueError(f"{fault.what}|{fault.expected}") from None

    return read


def _plain(dimension: str, *, lowest: float | None = None, above: float | None = None) -> Callable[[object], float]:
    read = _toleranced(dimension)

    def read_plain(value: object) -> float:
        quantity = read(value)
        if quantity.plus_minus is not None:
            raise ValueError(f"{value!r} has a tolerance|{expectation(dimension)} without tolerance")
        number = quantity.nominal
        if lowest is not None and number < lowest:
            raise ValueError(f"{value!r} is too small|at least {lowest:g} {INSIDE_UNIT[dimension]}")
        if above is not None and number <= above:
            raise ValueError(f"{value!r} is too small|more than {above:g} {INSIDE_UNIT[dimension]}")
        return number

    return read_plain


def _positive(dimension: str) -> Callable[[object], Toleranced]:
    read = _toleranced(dimension)

    def read_positive(value: object) -> Toleranced:
        quantity = read(value)
        if quantity.nominal - (quantity.plus_minus or 0.0) <= 0:
            raise ValueError(
                f"{value!r} can be zero or less|{expectation(dimension)} above zero with all its tolerance"
            )
        return quantity

    return read_positive


def _schema(dimension: str) -> WithJsonSchema:
    if dimension == "number":
        return WithJsonSchema({"type": "number"})
    return WithJsonSchema(
        {
            "type": "string",
            "pattern": pattern(dimension),
            "description": f"{expectation(dimension)}; may carry ± tolerance",
        }
    )


def _read_limit(dimension: str) -> Callable[[object], object]:
    def read(value: object) -> object:
        if not isinstance(value, dict) or "value" not in value:
            return value
        read_value = _plain(dimension)
        return {**value, "value": read_value(value["value"]), "unit": INSIDE_UNIT[dimension]}

    return read


Name = Annotated[str, StringConstraints(min_length=1, max_length=120, strip_whitespace=True)]
Source = Annotated[str, StringConstraints(min_length=3, strip_whitespace=True)]

Bore = Annotated[Toleranced, BeforeValidator(_positive("length")), _schema("length")]
Length = Annotated[Toleranced, BeforeValidator(_positive("length")), _schema("length")]
Distance = Annotated[float, BeforeValidator(_plain("length", lowest=0.0)), _schema("length")]
Coordinate = Annotated[float, BeforeValidator(_plain("length")), _schema("length")]
Size = Annotated[float, BeforeValidator(_plain("length", above=0.0)), _schema("length")]
Roughness = Annotated[Toleranced, BeforeValidator(_toleranced("length")), _schema("length")]
Duration = Annotated[float, BeforeValidator(_plain("time", lowest=0.0)), _schema("time")]
Temperature = Annotated[float, BeforeValidator(_plain("temperature")), _schema("temperature")]
Pressure = Annotated[float, BeforeValidator(_plain("pressure")), _schema("pressure")]
Flow = Annotated[float, BeforeValidator(_plain("flow", lowest=0.0)), _schema("flow")]
Volume = Annotated[float, BeforeValidator(_plain("volume", lowest=0.0)), _schema("volume")]
Mass = Annotated[float, BeforeValidator(_plain("mass", above=0.0)), _schema("mass")]
Angle = Annotated[float, BeforeValidator(_plain("angle")), _schema("angle")]
Loss = Annotated[Toleranced, BeforeValidator(_toleranced("number")), WithJsonSchema({"type": ["number", "string"]})]

TimeLimit = Annotated[Limit, BeforeValidator(_read_limit("time"))]
TemperatureLimit = Annotated[Limit, BeforeValidator(_read_limit("temperature"))]
TemperatureDifferenceLimit = Annotated[Limit, BeforeValidator(_read_limit("temperature difference"))]
PressureLimit = Annotated[Limit, BeforeValidator(_read_limit("pressure"))]
FlowLimit = Annotated[Limit, BeforeValidator(_read_limit("flow"))]
VelocityLimit = Annotated[Limit, BeforeValidator(_read_limit("velocity"))]
LengthLimit = Annotated[Limit, BeforeValidator(_read_limit("length"))]
AngleLimit = Annotated[Limit, BeforeValidator(_read_limit("angle"))]
ShareLimit = Annotated[Limit, BeforeValidator(_read_limit("share"))]
NumberLimit = Annotated[Limit, BeforeValidator(_read_limit("number"))]
ConductivityLimit = Annotated[Limit, BeforeValidator(_read_limit("conductivity"))]
RotationLimit = Annotated[Limit, BeforeValidator(_read_limit("rotation"))]

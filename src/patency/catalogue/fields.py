"""The field types every description is made of: names, written quantities, days and times."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    NaiveDatetime,
    StringConstraints,
    WithJsonSchema,
)

from patency.catalogue.written import Plain, WithTolerance
from patency.quantities import Toleranced

if TYPE_CHECKING:
    from collections.abc import Callable

_SUFFIXES = ("_m3_s", "_m_s", "_us_cm", "_rpm", "_pa", "_kg", "_deg", "_m3", "_c", "_k", "_m", "_s", "_n")

_LOCAL_TIME = r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?"
_BREAKING = {"Cc", "Cs", "Zl", "Zp"}  # Unicode's control characters, lone surrogates, line and paragraph separators


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


def _one_line(text: str) -> str:
    if any(unicodedata.category(letter) in _BREAKING for letter in text):
        raise ValueError(f"{text!r} has a line break or control character|one line of text")
    if text != text.strip():
        raise ValueError(f"{text!r} begins or ends with a space|text without spaces around it")
    return text


def _read_day(value: object) -> object:
    return _read_time(value, r"\d{4}-\d\d-\d\d", date.fromisoformat, "a day such as 2026-03-31")


def _read_local_time(value: object) -> object:
    return _read_time(value, _LOCAL_TIME, datetime.fromisoformat, "a local time without zone, such as 2026-03-31T11:50")


def _read_time(value: object, shape: str, read: Callable[[str], date], expected: str) -> object:
    """Read one way of writing only; a lenient reader takes ``20260331`` for seconds since 1970."""
    if not isinstance(value, str):
        return value
    try:
        if re.fullmatch(shape, value, re.ASCII):
            return read(value)
    except ValueError:  # such as 30 February
        pass
    raise ValueError(f"{value!r} cannot be read|{expected}")


Name = Annotated[str, StringConstraints(min_length=1, max_length=120), AfterValidator(_one_line)]
Source = Annotated[str, StringConstraints(min_length=3), AfterValidator(_one_line)]
Language = Annotated[str, Field(pattern="^[a-z]{2}$", description="Two small letters of ISO 639", examples=["en"])]
CalendarDay = Annotated[date, BeforeValidator(_read_day)]
# JSON Schema's own format for a time asks for a zone.
LocalTime = Annotated[
    NaiveDatetime, BeforeValidator(_read_local_time), WithJsonSchema({"type": "string", "pattern": f"^{_LOCAL_TIME}$"})
]

Bore = Annotated[Toleranced, WithTolerance("length", above=0.0)]
Length = Annotated[Toleranced, WithTolerance("length", above=0.0)]
Roughness = Annotated[Toleranced, WithTolerance("length", lowest=0.0)]
Loss = Annotated[Toleranced, WithTolerance("number", lowest=0.0)]
Distance = Annotated[float, Plain("length", lowest=0.0)]
Coordinate = Annotated[float, Plain("length")]
Size = Annotated[float, Plain("length", above=0.0)]
Duration = Annotated[float, Plain("time", lowest=0.0)]
Temperature = Annotated[float, Plain("temperature", lowest=-273.15)]
Flow = Annotated[float, Plain("flow", lowest=0.0)]
Volume = Annotated[float, Plain("volume", lowest=0.0)]
Mass = Annotated[float, Plain("mass", above=0.0)]
Angle = Annotated[float, Plain("angle", lowest=0.0, highest=90.0)]
Opening = Annotated[float, Plain("angle", above=0.0, highest=180.0)]
Elevation = Annotated[float, Plain("angle", lowest=-90.0, highest=90.0)]
Direction = Annotated[float, Plain("angle", lowest=-180.0, highest=180.0)]
Rotation = Annotated[float, Plain("rotation", above=0.0)]
Pressure = Annotated[float, Plain("pressure", above=0.0)]
Conductivity = Annotated[float, Plain("conductivity", lowest=0.0)]

"""The field types every description is made of: names, written quantities, days and times."""

from __future__ import annotations

import re
import unicodedata
from datetime import date
from typing import TYPE_CHECKING, Annotated

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, NaiveDatetime, StringConstraints

from patency.catalogue.written import Plain, WithTolerance
from patency.quantities import Toleranced

if TYPE_CHECKING:
    from collections.abc import Callable

_SUFFIXES = ("_m3_s", "_m_s", "_us_cm", "_rpm", "_pa", "_kg", "_deg", "_m3", "_c", "_k", "_m", "_s", "_n")

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
    return text


def _written_like(shape: str, expected: str) -> Callable[[object], object]:
    """Refuse what a lenient reader would take for seconds since 1970."""

    def check(value: object) -> object:
        if isinstance(value, str) and not re.fullmatch(shape, value):
            raise ValueError(f"{value!r} cannot be read|{expected}")
        return value

    return check


Name = Annotated[str, StringConstraints(min_length=1, max_length=120, strip_whitespace=True), AfterValidator(_one_line)]
Source = Annotated[str, StringConstraints(min_length=3, strip_whitespace=True), AfterValidator(_one_line)]
Language = Annotated[str, StringConstraints(pattern="^[a-z]{2}$")]
CalendarDay = Annotated[date, BeforeValidator(_written_like(r"\d{4}-\d\d-\d\d", "a day such as 2026-03-31"))]
LocalTime = Annotated[
    NaiveDatetime,
    BeforeValidator(
        _written_like(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?", "a local time without zone, such as 2026-03-31T11:50")
    ),
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

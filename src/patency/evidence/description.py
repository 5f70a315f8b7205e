"""The description beside a cycle record: what each column holds, in which unit, from where, how sure."""

from __future__ import annotations

import difflib
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, StringConstraints, ValidationError, model_validator

from patency.errors import InputError, InputErrors
from patency.evidence.marked import KeyPath, Marked, read_marked
from patency.evidence.units import RECORD_UNITS

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Word = Annotated[str, StringConstraints(min_length=1, max_length=120, strip_whitespace=True)]
Bound = Annotated[float, Strict()]


class _Described(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, use_attribute_docstrings=True
    )


class SensorColumn(_Described):
    """What every sensor's column tells about itself."""

    quantity: str
    unit: str
    place: Word
    """Where it measures: ``chamber``, ``load``, ``circulation``, an arm, the name of a dosed agent."""
    uncertainty: Annotated[float, Field(ge=0)] | None = None
    """Expanded (k = 2) uncertainty in the column's unit; None when not known."""
    range: Annotated[tuple[Bound, Bound], Field(strict=False)] | None = None
    """Lowest and highest value the sensor can show, in the column's unit; outside it a value is not a measurement."""
    calibrated: date | None = None

    @model_validator(mode="after")
    def _range_in_order(self) -> SensorColumn:
        if self.range is not None and self.range[0] >= self.range[1]:
            raise ValueError(f"range {list(self.range)} is out of order|the lowest value first, then the highest")
        return self


class TemperatureColumn(SensorColumn):
    """A temperature."""

    quantity: Literal["temperature"]
    unit: Literal["degC", "°C", "degF", "K"]


class PressureColumn(SensorColumn):
    """A pressure, and against what it is measured."""

    quantity: Literal["pressure"]
    unit: Literal["Pa", "kPa", "mbar", "bar", "psi"]
    reference: Literal["gauge", "absolute"]


class RotationColumn(SensorColumn):
    """The speed of a spray arm."""

    quantity: Literal["rotation"]
    unit: Literal["rpm"]


class ConductivityColumn(SensorColumn):
    """The conductivity of the water, referred to 25 °C by the sensor."""

    quantity: Literal["conductivity"]
    unit: Literal["uS/cm", "µS/cm"]


class DosedVolumeColumn(SensorColumn):
    """The volume of an agent dosed so far; its place is the agent's name."""

    quantity: Literal["dosed volume"]
    unit: Literal["mL", "L"]


class StageColumn(_Described):
    """The machine's own word for the stage it is in."""

    quantity: Literal["stage"]


Column = Annotated[
    TemperatureColumn | PressureColumn | RotationColumn | ConductivityColumn | DosedVolumeColumn | StageColumn,
    Field(discriminator="quantity"),
]
_COLUMNS: dict[str, type[BaseModel]] = {
    "temperature": TemperatureColumn,
    "pressure": PressureColumn,
    "rotation": RotationColumn,
    "conductivity": ConductivityColumn,
    "dosed volume": DosedVolumeColumn,
    "stage": StageColumn,
}

_EXPECTED_BY = {
    "string_type": "a word or a phrase",
    "string_too_short": "a word or a phrase",
    "float_type": "a number",
    "finite_number": "a finite number",
    "greater_than_equal": "a number from 0 up",
    "model_attributes_type": "keys with their values",
    "model_type": "keys with their values",
    "dict_type": "keys with their values",
    "date_type": "a date such as 2026-05-01",
    "tuple_type": "two numbers, the lowest and the highest value",
    "too_short": "at least one column",
}
_EXPECTED_AT = {
    "format": "patency-record/1",
    "time": "the time column and its unit, such as {column: time, unit: s}",
    "columns": "the columns with their quantities",
    "unit": "the unit the column is written in",
    "reference": "gauge or absolute",
    "place": "where the sensor measures, such as chamber, load, circulation",
    "column": "the name of the time column",
}


class TimeColumn(_Described):
    """Where the time stands: seconds from the start, or ISO 8601 stamps with their offset."""

    column: Word
    unit: Literal["s", "iso8601"]


class RecordDescription(_Described):
    """The description of a cycle record."""

    format: Literal["patency-record/1"]
    time: TimeColumn
    decimal: Literal[".", ","] = "."
    columns: Annotated[dict[Word, Column], Field(min_length=1)]
    machine: Word | None = None
    programme: Word | None = None

    @model_validator(mode="after")
    def _columns_agree(self) -> RecordDescription:
        if self.time.column in self.columns:
            raise ValueError(f"column {self.time.column!r} is described twice|the time column under time only")
        stages = [name for name, column in self.columns.items() if isinstance(column, StageColumn)]
        if len(stages) > 1:
            raise ValueError(f"two stage columns: {', '.join(stages)}|at most one")
        return self


def read_description(text: str, name: str = "description") -> RecordDescription:
    """Read the description of a cycle record.

    Parameters
    ----------
    text
        The YAML text.
    name
        What the text is called in messages, such as its file's name.

    Returns
    -------
    RecordDescription
        The description, checked.

    Raises
    ------
    InputErrors
        With every fault at once, each with its line and key path.

    Examples
    --------
    >>> description = read_description('''
    ... format: patency-record/1
    ... time: {column: time, unit: s}
    ... columns:
    ...   T1: {quantity: temperature, unit: degC, place: load, uncertainty: 0.3}
    ... ''')
    >>> description.columns["T1"].uncertainty
    0.3
    """
    try:
        marked = read_marked(text, name)
    except InputError as fault:
        raise InputErrors([fault]) from None
    if not isinstance(marked.values, dict):
        raise InputErrors([InputError(marked.place(()), "no keys found", "format, time, columns")])
    try:
        return RecordDescription.model_validate(marked.values)
    except ValidationError as faults:
        ordered = sorted(faults.errors(), key=lambda error: marked.line_of(_path(error["loc"])))
        raise InputErrors([_fault(error, marked) for error in ordered]) from None


def _fault(error: ErrorDetails, marked: Marked) -> InputError:
    path = _path(error["loc"])
    place = marked.place(path)
    kind, context = error["type"], error.get("ctx", {})
    if kind == "missing":
        return InputError(place, "key is missing", _EXPECTED_AT.get(str(path[-1]), "a value"))
    if kind == "extra_forbidden":
        return _unknown_key(path, marked)
    if kind == "union_tag_not_found":
        return InputError(place, "quantity is missing", ", ".join(RECORD_UNITS) + ", stage")
    if kind == "union_tag_invalid":
        return InputError(place, f"quantity {context['tag']!r} is not known", str(context["expected_tags"]))
    if kind == "value_error":
        what, _, expected = str(context["error"]).partition("|")
        return InputError(place, what, expected)
    expected = str(context.get("expected") or _EXPECTED_BY.get(kind, error["msg"]))
    return InputError(place, f"{error['input']!r} cannot be used", expected)


def _path(location: tuple[int | str, ...]) -> KeyPath:
    """Leave out what the validator adds third under ``columns``: the kind of column it took, or that it read a key."""
    return (*location[:2], *location[3:]) if location[:1] == ("columns",) else location


def _unknown_key(path: KeyPath, marked: Marked) -> InputError:
    owner: Any = marked.values
    for part in path[:-1]:
        owner = owner[part]
    models = {"time": TimeColumn, "columns": _COLUMNS.get(str(owner.get("quantity")))}
    model = (models.get(str(path[0])) if len(path) > 1 else None) or RecordDescription
    keys = list(model.model_fields)
    near = difflib.get_close_matches(str(path[-1]), keys, n=1, cutoff=0.7)
    expected = f"perhaps {near[0]}; the keys are {', '.join(keys)}" if near else f"one of {', '.join(keys)}"
    return InputError(marked.place(path), "unknown key", expected)


def description_schema() -> dict[str, Any]:
    """Return the JSON Schema of a record's description, ``patency-record/1``.

    Returns
    -------
    dict
        The schema (draft 2020-12).
    """
    return RecordDescription.model_json_schema()

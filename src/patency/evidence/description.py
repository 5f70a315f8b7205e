"""The description beside a cycle record: what each column holds, in which unit, from where, how sure."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, StringConstraints, Tag, model_validator

from patency.catalogue import CalendarDay, read_described, schema_of, told_apart_by

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
    """Where it measures: ``chamber``, ``load``, ``circulation``, ``dock``, a circuit, ``surroundings``, an arm, a dosed
    agent's name."""
    uncertainty: Annotated[float, Field(ge=0)] | None = None
    """Expanded (k = 2) uncertainty in the column's unit; None when not known."""
    range: Annotated[tuple[Bound, Bound], Field(strict=False)] | None = None
    """Lowest and highest value the sensor can show, in the column's unit; outside it a value is not a measurement."""
    calibrated: CalendarDay | None = None

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


class FlowColumn(SensorColumn):
    """The flow of the water; its place is ``circulation``, ``dock`` or a circuit of the carrier."""

    quantity: Literal["flow"]
    unit: Literal["m3/s", "L/min", "mL/min"]


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
    Annotated[TemperatureColumn, Tag("quantity: temperature")]
    | Annotated[PressureColumn, Tag("quantity: pressure")]
    | Annotated[FlowColumn, Tag("quantity: flow")]
    | Annotated[RotationColumn, Tag("quantity: rotation")]
    | Annotated[ConductivityColumn, Tag("quantity: conductivity")]
    | Annotated[DosedVolumeColumn, Tag("quantity: dosed volume")]
    | Annotated[StageColumn, Tag("quantity: stage")],
    told_apart_by("quantity"),
]


class TimeColumn(_Described):
    """Where the time stands: seconds from the start, or ISO 8601 stamps with their offset."""

    column: Word
    unit: Literal["s", "iso8601"]


class SurroundingsStated(_Described):
    """The pressure of the surroundings during the cycle, for sensors of absolute pressure."""

    pressure: Annotated[float, Field(gt=0)]
    """Absolute, as read there and then; not reduced to the level of the sea."""
    unit: Literal["Pa", "kPa", "mbar", "bar", "psi"]
    uncertainty: Annotated[float, Field(ge=0)] | None = None
    """Expanded (k = 2) uncertainty in the same unit; None when not known."""
    source: Word
    """Who or what read it, such as the barometer of the plant room."""


class RecordDescription(_Described):
    """The description of a cycle record."""

    format: Literal["patency-record/1"]
    time: TimeColumn
    """Where the time stands, such as ``{column: time, unit: s}``."""
    decimal: Literal[".", ","] = "."
    columns: Annotated[dict[Word, Column], Field(min_length=1)]
    """The columns with what each holds, by their names in the header."""
    surroundings: SurroundingsStated | None = None
    """Needed where a pressure is absolute and no column measures it at the place ``surroundings``."""
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
        With every fault at once: ``name:line: path: what (expected: …)``.

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
    return read_described(RecordDescription, text, name)


def description_schema() -> dict[str, Any]:
    """Return the JSON Schema of a record's description, ``patency-record/1``.

    Returns
    -------
    dict
        The schema (draft 2020-12).
    """
    return schema_of(RecordDescription, "The description of a cycle record")

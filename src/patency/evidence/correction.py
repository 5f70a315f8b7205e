"""What a sensor was found to show too much, taken off its readings: a record as that sensor should have written it.

Nothing is filled in and nothing is thrown away: a corrected record is judged like any other, and says that it was
corrected.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from patency.catalogue import CalendarDay, read_described
from patency.evidence.description import SensorColumn, Word
from patency.evidence.findings import Finding, FindingKind
from patency.evidence.units import to_inside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.evidence.record import CycleRecord


class _Stated(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, use_attribute_docstrings=True
    )


class SensorCorrection(_Stated):
    """What one sensor of one machine was found to show too much, in the records of some days."""

    machine: Word
    """The machine, as its records name it."""
    column: Word
    """The sensor's column."""
    shows_too_much: float
    """In the column's own unit as a difference; negative where it shows too little."""
    uncertainty: Annotated[float, Field(ge=0)] | None = None
    """Expanded (k = 2) uncertainty of the corrected readings in that unit; None keeps what the description says."""
    first_day: CalendarDay | None = None
    """First day of the cycles it concerns; None where it is not known, and then all earlier ones are."""
    last_day: CalendarDay | None = None
    """Last day of the cycles it concerns; None where it goes on."""
    source: Word
    """Who found it, such as the number of the calibration certificate."""

    @model_validator(mode="after")
    def _days_in_order(self) -> SensorCorrection:
        if self.first_day is not None and self.last_day is not None and self.last_day < self.first_day:
            raise ValueError(f"last day {self.last_day}, before {self.first_day}|last_day after first_day")
        return self

    def concerns(self, machine: str | None, day: date) -> bool:
        """Tell whether a cycle's record holds readings of this sensor.

        Parameters
        ----------
        machine
            The machine the record names; None where it names none.
        day
            The day of the cycle.

        Returns
        -------
        bool
            False for a record that names no machine.
        """
        begins, ends = self.first_day or date.min, self.last_day or date.max
        return machine == self.machine and begins <= day <= ends


class SensorCorrections(_Stated):
    """Corrections of sensors, as written down."""

    format: Literal["patency-corrections/1"]
    corrections: Annotated[tuple[SensorCorrection, ...], Field(min_length=1, strict=False)]


def read_corrections(text: str, name: str = "corrections") -> tuple[SensorCorrection, ...]:
    """Read the corrections of sensors.

    Parameters
    ----------
    text
        The YAML text.
    name
        What the text is called in messages.

    Returns
    -------
    tuple
        The corrections.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(SensorCorrections, text, name).corrections


def corrected(record: CycleRecord, corrections: Sequence[SensorCorrection], day: date) -> CycleRecord:
    """Take off a record's readings what its sensors were found to show too much.

    Parameters
    ----------
    record
        The record as written.
    corrections
        What was found of sensors, of any machine.
    day
        The day of the cycle.

    Returns
    -------
    CycleRecord
        The record with each correction named as a finding; the same record where none concerns it.
    """
    traces, noticed = dict(record.traces), []
    for one in corrections:
        described = record.description.columns.get(one.column)
        if not one.concerns(record.description.machine, day) or not isinstance(described, SensorColumn):
            continue
        factor, _ = to_inside(described.quantity, described.unit)
        trace = traces[one.column]
        uncertainty = trace.uncertainty if one.uncertainty is None else one.uncertainty * factor
        values = trace.values - one.shows_too_much * factor
        traces[one.column] = replace(trace, values=values, uncertainty=uncertainty)
        message = f"corrected by {-one.shows_too_much:+g} {described.unit} ({one.source})"
        noticed.append(Finding(FindingKind.CORRECTED, message, one.column))
    return replace(record, traces=traces, findings=(*record.findings, *noticed)) if noticed else record

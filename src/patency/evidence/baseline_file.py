"""The file in which a baseline is kept: the readings of earlier cycles of one load kind in one machine."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from patency.catalogue import CalendarDay, read_described, schema_of

Digest = Annotated[str, StringConstraints(pattern="^[0-9a-f]{64}$")]
Word = Annotated[str, StringConstraints(min_length=1, max_length=120, strip_whitespace=True)]


class _Kept(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)


class BaselineColumn(_Kept):
    """One reading that every cycle has."""

    stage: Word
    """What the wet stage is called."""
    sensor: Word
    """The sensor's key in its kind of machine."""
    unit: Literal["Pa", "m3/s"]


class BaselineCycle(_Kept):
    """What one earlier cycle showed."""

    record: Digest
    """SHA-256 of the record as it came."""
    kept_on: CalendarDay
    seen_by: Word
    """Who saw at unloading that every hose and sleeve was in place."""
    readings: tuple[float, ...]
    """In the order of the columns; a pressure above the surroundings at the level of the sump's water."""


class BaselineFile(_Kept):
    """A baseline: earlier cycles without fault of one load kind in one machine."""

    format: Literal["patency-baseline/1"]
    load_kind: Digest
    """What makes loads the same to the water, as an id."""
    carrier: Word
    programme: Word
    machine: Word
    columns: Annotated[tuple[BaselineColumn, ...], Field(min_length=1)]
    count: Annotated[int, Field(ge=1)]
    """How many cycles were kept; where one was lost the alarm would be blunter, so the file is refused."""
    cycles: Annotated[tuple[BaselineCycle, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _whole(self) -> BaselineFile:
        if len(self.cycles) != self.count:
            there = len(self.cycles)
            raise ValueError(f"count says {self.count} cycles and {there} are there|each cycle that was kept")
        named = [(column.stage, column.sensor) for column in self.columns]
        if len(set(named)) < len(named):
            raise ValueError("a column stands twice|each stage and sensor once")
        for place, cycle in enumerate(self.cycles):
            if len(cycle.readings) != len(named):
                raise ValueError(f"cycle {place + 1} has {len(cycle.readings)} readings|{len(named)}, one a column")
        records = [cycle.record for cycle in self.cycles]
        if len(set(records)) < len(records):
            raise ValueError("a record stands twice|each record once")
        return self


def read_baseline(text: str, name: str = "baseline") -> BaselineFile:
    """Read a baseline.

    Parameters
    ----------
    text
        The text, JSON or YAML.
    name
        What the text is called in messages, such as its file's name.

    Returns
    -------
    BaselineFile
        The baseline, checked.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(BaselineFile, text, name)


def write_baseline(kept: BaselineFile) -> str:
    """Write a baseline.

    Parameters
    ----------
    kept
        The baseline.

    Returns
    -------
    str
        JSON text.
    """
    return json.dumps(kept.model_dump(mode="json"), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def baseline_schema() -> dict[str, Any]:
    """Return the JSON Schema of ``patency-baseline/1``.

    Returns
    -------
    dict
        The schema (draft 2020-12).
    """
    return schema_of(BaselineFile, "A baseline of earlier cycles")

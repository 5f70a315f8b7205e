"""Results of inspection and testing as a table, and the settings by which they are charted."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Tag, model_validator

from patency.catalogue import read_described, told_apart_by
from patency.errors import InputError, InputErrors
from patency.evidence.description import Word

if TYPE_CHECKING:
    from collections.abc import Mapping

GROUPS = ("family", "position", "machine")
"""Columns by which results can be told apart."""
_NEEDED = ("at", "result", "sample")
_VALUES = ("value", "inspected", "found")


class Scale(StrEnum):
    """Whether a value or its logarithm is charted."""

    PLAIN = "plain"
    LOGARITHM = "logarithm"


class _Settings(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, use_attribute_docstrings=True
    )


RunLength = Annotated[float, Field(ge=20, le=100_000)]


class MeasuredSettings(_Settings):
    """How measured values, such as residual protein, ATP or TOC, are charted."""

    chart: Literal["individuals", "ewma"]
    unit: Word
    run_length: RunLength
    """Mean number of values until a false alarm."""
    weight: Annotated[float, Field(gt=0, le=1)] = 0.2
    """Weight of the newest value in a moving average."""
    step: Annotated[float, Field(ge=0)] = 0.0
    """Smallest step in which plain values are written, in the unit; values that never differ spread by no less."""
    scale: Annotated[Scale, Field(strict=False)] = Scale.PLAIN
    """``logarithm`` for values that spread by factors, as residues do."""


class CountedSettings(_Settings):
    """How findings among pieces looked at are charted."""

    chart: Literal["counts"]
    run_length: RunLength
    """Mean number of looks until a false alarm, at least."""
    acceptable: Annotated[float, Field(gt=0, lt=1)]
    """Findings per piece that are accepted."""
    unacceptable: Annotated[float, Field(gt=0, lt=1)]
    """Findings per piece to be detected soon."""

    @model_validator(mode="after")
    def _in_order(self) -> CountedSettings:
        if self.unacceptable <= self.acceptable:
            raise ValueError(f"unacceptable {self.unacceptable:g} is not more than acceptable|a larger share")
        return self


Settings = Annotated[
    Annotated[MeasuredSettings, Tag("chart: individuals")]
    | Annotated[MeasuredSettings, Tag("chart: ewma")]
    | Annotated[CountedSettings, Tag("chart: counts")],
    told_apart_by("chart"),
]


class ChartSettings(_Settings):
    """Which results are charted, and how."""

    format: Literal["patency-charts/1"]
    results: Annotated[dict[Word, Settings], Field(min_length=1)]
    """What is charted, by the name it has in the column ``result``."""


@dataclass(frozen=True, slots=True)
class Result:
    """One row of the table.

    Parameters
    ----------
    at
        When it was found.
    sample
        The sample or the look, as people find it again.
    groups
        Family, position and machine, as far as the table has them; empty text where a row leaves one out.
    value
        Measured value as charted; not-a-number for findings.
    pieces, found
        How many pieces were looked at and how many findings there were; 0 for measured values.
    """

    at: datetime
    sample: str
    groups: Mapping[str, str]
    value: float
    pieces: int
    found: int


def read_settings(text: str, name: str = "settings") -> ChartSettings:
    """Read how results are charted.

    Parameters
    ----------
    text
        YAML, format ``patency-charts/1``.
    name
        What the text is called in messages.

    Returns
    -------
    ChartSettings
        The settings.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(ChartSettings, text, name)


def read_results(text: str, settings: ChartSettings, name: str = "results") -> dict[str, list[Result]]:
    """Read results as a table.

    Parameters
    ----------
    text
        CSV with a header: ``at`` (ISO 8601 with offset), ``result``, ``sample``, any of ``family``, ``position`` and
        ``machine``, and ``value``, or ``inspected`` and ``found``. A value below what the method can tell is written
        ``<5`` and counts as 5.
    settings
        What is charted and how.
    name
        What the text is called in messages.

    Returns
    -------
    dict
        What was charted to its results in the order of time; results the settings do not name are a fault.

    Raises
    ------
    InputErrors
        With every fault: ``name:line: column: what (expected: …)``.
    """
    rows = csv.DictReader(io.StringIO(text), restkey="", strict=True)
    faults: list[InputError] = []
    found: dict[str, list[Result]] = {}
    try:
        heads = list(rows.fieldnames or [])
        missing = [head for head in _NEEDED if head not in heads]
        if missing or len(set(heads)) < len(heads):
            what = f"no column {missing[0]!r}" if missing else "a column twice"
            raise InputErrors([InputError(f"{name}:1", what, ", ".join((*_NEEDED, *GROUPS, *_VALUES)))])
        for row in rows:
            try:
                charted, result = _row(row, settings, f"{name}:{rows.line_num}", len(heads))
            except InputError as fault:
                faults.append(fault)
            else:
                found.setdefault(charted, []).append(result)
    except csv.Error as error:
        faults.append(InputError(f"{name}:{rows.reader.line_num}", f"not a table: {error}", "one line for each result"))
    if faults:
        raise InputErrors(faults)
    if not found:
        raise InputErrors([InputError(f"{name}:1", "no result in it", "at least one row")])
    return {key: sorted(results, key=lambda one: one.at) for key, results in found.items()}


def _row(row: Mapping[str, object], settings: ChartSettings, where: str, columns: int) -> tuple[str, Result]:
    """Read one row: what was charted and its result."""
    if "" in row:
        raise InputError(where, "more cells than columns", f"{columns} cells")
    cells = {key: str(value or "").strip() for key, value in row.items()}
    charted = settings.results.get(cells["result"])
    if charted is None:
        raise InputError(f"{where}: result", repr(cells["result"][:40]), f"one of: {', '.join(settings.results)}")
    return cells["result"], _result(cells, charted, where)


def _result(cells: Mapping[str, str], charted: MeasuredSettings | CountedSettings, where: str) -> Result:
    at = read_moment(cells["at"], f"{where}: at")
    if not cells["sample"]:
        raise InputError(f"{where}: sample", "empty", "the sample's name, so that it is found again")
    groups = {group: cells[group] for group in GROUPS if group in cells}
    if isinstance(charted, CountedSettings):
        pieces = _count(cells.get("inspected", ""), f"{where}: inspected", least=1)
        seen = _count(cells.get("found", ""), f"{where}: found", least=0)
        return Result(at, cells["sample"], groups, math.nan, pieces, seen)
    value = _number(cells.get("value", ""), f"{where}: value")
    if charted.scale is Scale.LOGARITHM:
        if value <= 0:
            raise InputError(f"{where}: value", f"{value:g} has no logarithm", "a value above 0, or <limit")
        value = math.log(value)
    return Result(at, cells["sample"], groups, value, 0, 0)


def read_moment(text: str, where: str) -> datetime:
    """Read a moment with its offset.

    Parameters
    ----------
    text
        Such as ``2026-03-31T06:30+02:00``.
    where
        Where it stands, for messages.

    Returns
    -------
    datetime
        The moment.

    Raises
    ------
    InputError
        When it is none.
    """
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise InputError(where, repr(text[:40]), "a moment with its offset, such as 2026-03-31T06:30+02:00")
    return at


def _number(text: str, where: str) -> float:
    try:
        value = float(text.removeprefix("<"))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(where, repr(text[:40]), "a number, or <5 for less than 5")
    return value


def _count(text: str, where: str, *, least: int) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 8 and int(text) >= least):
        raise InputError(where, repr(text[:40]), f"a whole number of at least {least}")
    return int(text)

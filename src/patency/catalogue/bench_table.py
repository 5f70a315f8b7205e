"""Readings of the bench as a table: one row a reading, as many rows of one reading as were made."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from pydantic import ValidationError

from patency.catalogue.commissioning import BenchReading
from patency.catalogue.faults import faults_of
from patency.catalogue.nodes import path_text
from patency.catalogue.schema_walk import SchemaWalk
from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from patency.catalogue.commissioning import Measurements

_VALUES = ("volume", "time", "pressure", "flow", "on")


def readings_from_table(measurements: Measurements, text: str, file: str) -> Measurements:
    """Fill measurements with the readings of a table.

    Parameters
    ----------
    measurements
        What was to be measured.
    text
        CSV with commas or semicolons and a header: ``reading``, the number of a reading in the measurements counted
        from 1, and any of ``volume``, ``time``, ``pressure``, ``flow`` and ``on``, written with their units.
    file
        What the text is called in messages.

    Returns
    -------
    Measurements
        The same set-ups with one reading for each row; empty rows are left out.

    Raises
    ------
    InputErrors
        With every fault: ``file:line: column: what (expected: …)``.
    """
    first = text.partition("\n")[0]
    rows = csv.reader(io.StringIO(text), delimiter=";" if first.count(";") > first.count(",") else ",")
    faults: list[InputError] = []
    readings = []
    try:
        heads = _heads(next(rows, []), file)
        for row in rows:
            where = f"{file}:{rows.line_num}"
            if len(row) > len(heads):
                faults.append(InputError(where, "more cells than columns", f"{len(heads)} cells"))
                continue
            cells = dict.fromkeys(heads, "") | {head: cell.strip() for head, cell in zip(heads, row, strict=False)}
            if any(cells.values()):
                reading = _reading(measurements, cells, where, faults)
                readings += [] if reading is None else [reading]
    except csv.Error as error:
        faults.append(InputError(f"{file}:{rows.line_num}", f"not a table: {error}", "one line for each reading"))
    if faults:
        raise InputErrors(faults)
    if not readings:
        raise InputErrors([InputError(f"{file}:1", "no reading in it", "at least one row")])
    return measurements.model_copy(update={"readings": readings})


def _heads(row: list[str], file: str) -> list[str]:
    """Read the names of the columns."""
    heads = [head.strip() for head in row]
    wrong = [f"column {head!r}" for head in heads if head not in ("reading", *_VALUES)]
    wrong += [f"column {head!r} twice" for head in heads if heads.count(head) > 1]
    if "reading" not in heads:
        wrong.append("no column 'reading'")
    if wrong:
        raise InputErrors([InputError(f"{file}:1", wrong[0], f"reading, {', '.join(_VALUES)}")])
    return heads


def _reading(
    measurements: Measurements, cells: dict[str, str], where: str, faults: list[InputError]
) -> BenchReading | None:
    number = cells["reading"]
    most = len(measurements.readings)
    if not (number.isascii() and number.isdigit() and len(number) < 6 and 1 <= int(number) <= most):
        faults.append(InputError(f"{where}: reading", f"{number[:20]!r}", f"a number from 1 to {most}"))
        return None
    asked = measurements.readings[int(number) - 1]
    data = {"setup": asked.setup, "instrument": asked.instrument, "at": asked.at}
    data |= {name: cells[name] for name in _VALUES if cells.get(name)}
    try:
        return BenchReading.model_validate(data).model_copy(update={"height_m": asked.height_m})
    except ValidationError as error:
        for found in faults_of(error, SchemaWalk(BenchReading.model_json_schema(by_alias=True))):
            column = f"{where}: {path_text(found.path)}" if found.path else where
            faults.append(InputError(column, found.what, found.expected))
        return None

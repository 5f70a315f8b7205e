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
    rows = csv.DictReader(io.StringIO(text), delimiter=";" if first.count(";") > first.count(",") else ",")
    heads = [head.strip() for head in rows.fieldnames or []]
    wrong = [head for head in heads if head not in ("reading", *_VALUES)]
    if "reading" not in heads or wrong:
        what = f"column {wrong[0]!r}" if wrong else "no column 'reading'"
        raise InputErrors([InputError(f"{file}:1", what, f"reading, {', '.join(_VALUES)}")])
    rows.fieldnames = heads
    faults: list[InputError] = []
    readings = []
    for row in rows:
        where = f"{file}:{rows.line_num}"
        if None in row:
            faults.append(InputError(where, "more cells than columns", f"{len(heads)} cells"))
            continue
        cells = {head: (cell or "").strip() for head, cell in row.items()}
        if any(cells.values()):
            reading = _reading(measurements, cells, where, faults)
            readings += [] if reading is None else [reading]
    if faults:
        raise InputErrors(faults)
    if not readings:
        raise InputErrors([InputError(f"{file}:1", "no reading in it", "at least one row")])
    return measurements.model_copy(update={"readings": readings})


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

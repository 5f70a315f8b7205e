"""Reading a cycle record: text and description in, arrays and findings out."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError, InputErrors
from patency.evidence.cells import NO_VALUE, read_numbers, read_stamps
from patency.evidence.description import PressureColumn, RecordDescription, SensorColumn, StageColumn
from patency.evidence.findings import Counted, Finding, FindingKind
from patency.evidence.record import CycleRecord, Trace
from patency.evidence.table import Table, read_table, table_of
from patency.evidence.timing import Spacing, TimeAxis, lay_out_time
from patency.evidence.unit_doubts import unit_doubt
from patency.evidence.units import to_inside

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

# The stages of washer-disinfectors and those of sterilizers; one record holds one of the two sets.
STAGE_WORDS = (
    frozenset({"flush", "clean", "rinse", "disinfect", "dry"}),
    frozenset({"pulse", "heat", "hold", "exhaust", "dry"}),
)
# Values no sensor of such a machine can mean, in the unit used inside: they keep sums finite where no range is
# described. Absolute zero is physics; the other ends are far beyond any such machine.
_CONCEIVABLE = {"temperature": (-273.15, 1000.0)}
_CONCEIVABLE_ELSE = (-1e9, 1e9)
_LONGEST_S = 1e12
_FAULTS_SHOWN = 50


@dataclass(frozen=True, slots=True, eq=False)
class _Raw:
    """The rows that can be used, as written."""

    stamps_s: NDArray[np.float64]
    values: dict[str, NDArray[np.float64]]
    stages: tuple[str, ...] | None
    findings: tuple[Finding, ...]


def read_record(csv_text: str, description: RecordDescription, name: str = "record") -> CycleRecord:
    r"""Read a cycle record.

    Parameters
    ----------
    csv_text
        The record's text, a header and one row per sample.
    description
        What its columns hold.
    name
        What the text is called in messages, such as its file's name.

    Returns
    -------
    CycleRecord
        The record with everything that was noticed.

    Raises
    ------
    InputErrors
        With every cell, row or column that cannot be used, each with its line and column.

    Examples
    --------
    >>> from patency.evidence.description import read_description
    >>> description = read_description('''
    ... format: patency-record/1
    ... time: {column: time, unit: s}
    ... columns: {T1: {quantity: temperature, unit: degF, place: load, uncertainty: 0.9}}
    ... ''')
    >>> record = read_record("time,T1\n0,176\n10,194\n", description)
    >>> record.traces["T1"].values.round(6).tolist(), record.time_s.tolist()
    ([80.0, 90.0], [0.0, 10.0])
    """
    digest = hashlib.sha256(csv_text.encode("utf-8", "surrogatepass")).hexdigest()
    return _record(read_table(csv_text, description.time.column, name), description, digest)


def read_columns(
    columns: Mapping[str, tuple[str, ...] | NDArray[np.float64]],
    description: RecordDescription,
    sha256: str,
    name: str = "record",
) -> CycleRecord:
    """Read a cycle record that came as columns, such as from a Parquet file.

    Parameters
    ----------
    columns
        Column name to cells of text, or to numbers with not-a-number where there is none; all of one length.
    description
        What they hold.
    sha256
        Digest of the record as it came, in hexadecimal.
    name
        What the record is called in messages, such as its file's name.

    Returns
    -------
    CycleRecord
        The same as of a text with the same cells; findings and faults count rows in place of lines.

    Raises
    ------
    InputErrors
        With every cell, row or column that cannot be used, each with its row and column.
    """
    record = _record(table_of(columns, description.time.column, name), description, sha256)
    findings = tuple(replace(finding, counted=Counted.ROWS) for finding in record.findings)
    return replace(record, findings=findings)


def _record(table: Table, description: RecordDescription, digest: str) -> CycleRecord:
    raw = _raw(table, description)
    axis = lay_out_time(raw.stamps_s)
    if axis is None:
        fault = InputError(
            table.place(0, description.time.column), "time does not advance", "two samples or more in order"
        )
        raise InputErrors([fault])
    lines = np.array(table.lines, dtype=np.int64)
    traces, noticed = _traces(raw, description, axis, lines)
    others = {column: table.cells(column) for column in table.columns if column not in _described(description)}
    unknown = [Finding(FindingKind.UNKNOWN_COLUMN, "no description: kept as written, not judged", n) for n in others]
    iso = description.time.unit == "iso8601"
    return CycleRecord(
        description=description,
        started=datetime.fromtimestamp(float(raw.stamps_s[axis.kept[0]]), UTC) if iso else None,
        axis=axis,
        lines=lines[axis.kept],
        traces=traces,
        stages=tuple(raw.stages[row] for row in axis.kept) if raw.stages is not None else None,
        others=others,
        findings=(*table.findings, *raw.findings, *_time_findings(raw.stamps_s, axis, lines), *noticed, *unknown),
        sha256=digest,
    )


def _described(description: RecordDescription) -> set[str]:
    return {description.time.column, *description.columns}


def _sensor_columns(description: RecordDescription) -> dict[str, SensorColumn]:
    return {name: column for name, column in description.columns.items() if isinstance(column, SensorColumn)}


def _raw(table: Table, description: RecordDescription) -> _Raw:
    """Read every described column, refuse what cannot be used, leave out a last row that is cut short."""
    absent = [column for column in description.columns if column not in table.columns]
    if absent:
        have = ", ".join(table.columns)
        raise InputErrors([InputError(table.head, f"no column {c!r}", f"one of {have}") for c in absent])
    time = description.time.column
    stamps = read_stamps(table, time) if description.time.unit == "iso8601" else None
    stamps = stamps or read_numbers(table, time, description.decimal)
    cells = {name: read_numbers(table, name, description.decimal) for name in _sensor_columns(description)}
    stages, faults = _stages(table, description)
    faults += [fault for column in (stamps, *cells.values()) for fault in column.faults]
    at_fault = {row for row, _ in faults}
    timeless = np.flatnonzero(~(np.abs(stamps.values) < _LONGEST_S))
    faults += [
        (int(row), InputError(table.place(int(row), time), "no usable time", "a time for every sample"))
        for row in timeless
        if int(row) not in at_fault
    ]
    rows = len(table.lines)
    cut: tuple[Finding, ...] = ()
    if faults and table.last_is_open and {row for row, _ in faults} == {rows - 1}:
        cut = (Finding(FindingKind.CUT_SHORT, "a cell breaks off; the row is left out", lines=table.lines[-1:]),)
        rows -= 1
    elif faults:
        raise InputErrors([fault for _, fault in sorted(faults, key=lambda item: item[0])][:_FAULTS_SHOWN])
    kept = {name: column.values[:rows] for name, column in cells.items()}
    return _Raw(stamps.values[:rows], kept, stages[:rows] if stages is not None else None, cut)


def _stages(
    table: Table, description: RecordDescription
) -> tuple[tuple[str, ...] | None, list[tuple[int, InputError]]]:
    column = next((name for name, column in description.columns.items() if isinstance(column, StageColumn)), None)
    if column is None:
        return None, []
    words = tuple("" if cell.strip().lower() in NO_VALUE else cell.strip().lower() for cell in table.cells(column))
    used = set(words) - {""}
    allowed = max(STAGE_WORDS, key=lambda known: len(used & known))
    if used <= allowed:
        return words, []
    expected = "one of " + ", ".join(sorted(allowed))
    return words, [
        (row, InputError(table.place(row, column), f"stage {word[:40]!r} is not known here", expected))
        for row, word in enumerate(words)
        if word and word not in allowed
    ]


def _traces(
    raw: _Raw, description: RecordDescription, axis: TimeAxis, lines: NDArray[np.int64]
) -> tuple[dict[str, Trace], list[Finding]]:
    traces = {}
    findings = []
    for name, column in _sensor_columns(description).items():
        factor, offset = to_inside(column.quantity, column.unit)
        values = raw.values[name][axis.kept] * factor + offset
        empty = np.isnan(values)
        low, high = _CONCEIVABLE.get(column.quantity, _CONCEIVABLE_ELSE)
        if column.range is not None:
            low, high = max(low, column.range[0] * factor + offset), min(high, column.range[1] * factor + offset)
        outside = (values < low) | (values > high)
        values[outside] = np.nan
        for kind, where, message in (
            (FindingKind.EMPTY_CELL, empty, "no value; counted as missing"),
            (FindingKind.OUT_OF_RANGE, outside, "not a measurement; counted as missing"),
        ):
            if where.any():
                findings.append(Finding(kind, message, name, tuple(lines[axis.kept[where]].tolist())))
        uncertainty = None if column.uncertainty is None else column.uncertainty * factor
        gauge = not isinstance(column, PressureColumn) or column.reference == "gauge"
        traces[name] = Trace(name, column.quantity, column.place, values, uncertainty, gauge, column.calibrated)
        doubt = unit_doubt(traces[name], column.unit, raw.values[name][axis.kept])
        findings += [doubt] if doubt else []
    return traces, findings


def _time_findings(stamps_s: NDArray[np.float64], axis: TimeAxis, lines: NDArray[np.int64]) -> list[Finding]:
    steps = np.diff(stamps_s[axis.kept])
    after = lines[axis.kept[1:]]
    stray = np.setdiff1d(np.arange(stamps_s.size), axis.kept)
    findings = []
    if stray.size:
        message = "time stamp out of order; the sample is set aside"
        findings.append(Finding(FindingKind.STRAY_STAMP, message, lines=tuple(lines[stray].tolist())))
    for kind, spacing, message in (
        (FindingKind.REPEATED_STAMP, Spacing.REPEATED, "time stamp repeated; no time counted in between"),
        (
            FindingKind.CLOCK_STEP,
            Spacing.CLOCK_STEP,
            "clock set back by up to {:.6g} s; the time in between is unknown, none counted",
        ),
        (FindingKind.GAP, Spacing.GAP, "gap of up to {:.6g} s; credited with no more than its lower neighbour"),
    ):
        where = axis.spacing == spacing
        if where.any():
            longest = float(np.abs(steps[where]).max())
            findings.append(Finding(kind, message.format(longest), lines=tuple(after[where].tolist())))
    return findings

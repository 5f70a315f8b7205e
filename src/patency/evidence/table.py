"""A record as a table of untouched cells, each row with its place."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError, InputErrors
from patency.evidence.findings import Counted, Finding, FindingKind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

_DELIMITERS = (";", "\t", ",")
_FAULTS_SHOWN = 50


@dataclass(frozen=True, slots=True)
class Table:
    """The cells as written.

    Parameters
    ----------
    name
        What the record is called in messages.
    columns
        Column name to its cells in the order of the rows: as written, or numbers where they came as such.
    lines
        Line of each row in the text, counted from 1; number of the row where the record is no text.
    findings
        What was noticed and set aside on the way.
    last_is_open
        Whether the text ends without a line end, so that the last row may be cut short.
    counted
        What ``lines`` counts.
    """

    name: str
    columns: Mapping[str, tuple[str, ...] | NDArray[np.float64]]
    lines: tuple[int, ...]
    findings: tuple[Finding, ...]
    last_is_open: bool
    counted: Counted = Counted.LINES

    def place(self, row: int, column: str) -> str:
        """Say where a cell stands.

        Parameters
        ----------
        row
            Position of the row, counted from 0.
        column
            Name of the column.

        Returns
        -------
        str
            Such as ``record.csv, line 12, column T1``.
        """
        return f"{self.name}, {self.counted.value} {self.lines[row]}, column {column}"

    @property
    def head(self) -> str:
        """Where the names of the columns stand."""
        return f"{self.name}, line 1" if self.counted is Counted.LINES else self.name

    def cells(self, column: str) -> tuple[str, ...]:
        """Return a column as text.

        Parameters
        ----------
        column
            Name of the column.

        Returns
        -------
        tuple
            The cells as written; numbers in their shortest form, empty where there is none.
        """
        found = self.columns[column]
        if isinstance(found, np.ndarray):
            return tuple("" if np.isnan(value) else repr(value) for value in found.tolist())
        return found


def table_of(columns: Mapping[str, tuple[str, ...] | NDArray[np.float64]], time_column: str, name: str) -> Table:
    """Take columns that came apart as a table.

    Parameters
    ----------
    columns
        Column name to cells of text, or to numbers with not-a-number where there is none; all of one length.
    time_column
        Name of the time column.
    name
        What the record is called in messages.

    Returns
    -------
    Table
        Its rows counted from 1.

    Raises
    ------
    InputErrors
        When there is no time column, or no row.
    """
    if time_column not in columns:
        expected = f"a column {time_column!r}"
        raise InputErrors([InputError(name, "the record has no time column", expected)])
    rows = len(columns[time_column])
    if not rows:
        raise InputErrors([InputError(name, "no samples", "one row per sample")])
    return Table(name, columns, tuple(range(1, rows + 1)), (), last_is_open=False, counted=Counted.ROWS)


def read_table(text: str, time_column: str, name: str) -> Table:
    """Cut a record's text into cells.

    Parameters
    ----------
    text
        The text: a header row, then one row per sample, separated by semicolons, tabulators or commas.
    time_column
        Name of the time column, by which the separator is recognised.
    name
        What the text is called in messages.

    Returns
    -------
    Table
        The cells; blank lines and a last line cut short are left out and reported.

    Raises
    ------
    InputErrors
        When there is no usable header or a row has too few or too many cells.
    """
    findings = []
    if text.startswith("\ufeff"):
        findings.append(Finding(FindingKind.BYTE_ORDER_MARK, "the text starts with a byte order mark, skipped"))
    header, rows = _header_and_rows(text.removeprefix("\ufeff"), time_column, name)
    last_is_open = not text.endswith(("\n", "\r"))
    if last_is_open and rows and len(rows[-1][1]) < len(header):
        line, cells = rows.pop()
        message = f"ends after {len(cells)} of {len(header)} cells; the row is left out"
        findings.append(Finding(FindingKind.CUT_SHORT, message, lines=(line,)))
        last_is_open = False
    blank = tuple(line for line, cells in rows if not cells)
    if blank:
        findings.append(Finding(FindingKind.BLANK_LINE, "skipped", lines=blank))
    rows = [row for row in rows if row[1]]
    faults = [
        InputError(f"{name}, line {line}", f"{len(cells)} cells", f"{len(header)} as in the header")
        for line, cells in rows
        if len(cells) != len(header)
    ]
    if faults:
        raise InputErrors(faults[:_FAULTS_SHOWN])
    if not rows:
        raise InputErrors([InputError(f"{name}, line 2", "no samples", "one row per sample below the header")])
    columns = dict(zip(header, zip(*(cells for _, cells in rows), strict=True), strict=True))
    return Table(name, columns, tuple(line for line, _ in rows), tuple(findings), last_is_open)


def _header_and_rows(text: str, time_column: str, name: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Separate the header from the rows, trying the separators until the header holds the time column."""
    first, _, _ = text.partition("\n")
    delimiter = delimiter_of(first, time_column)
    if delimiter is None:
        expected = f"a column {time_column!r}, columns separated by semicolon, tabulator or comma"
        raise InputErrors([InputError(f"{name}, line 1", "the header has no time column", expected)])
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        rows = [(reader.line_num, cells) for cells in reader]
    except csv.Error as fault:
        raise InputErrors([InputError(f"{name}, line {reader.line_num}", f"{fault}", "one row of cells")]) from None
    header = [cell.strip() for cell in rows[0][1]]
    faults = [
        InputError(
            f"{name}, line 1, column {place}",
            "column without a name" if not cell else f"{cell!r} stands twice",
            "a name of its own",
        )
        for place, cell in enumerate(header, start=1)
        if not cell or cell in header[: place - 1]
    ]
    if faults:
        raise InputErrors(faults)
    return header, rows[1:]


def delimiter_of(header: str, time_column: str) -> str | None:
    """Tell how the cells of a record are parted.

    Parameters
    ----------
    header
        The header.
    time_column
        Name of the time column, by which the separator is recognised.

    Returns
    -------
    str or None
        Semicolon, tabulator or comma; None where no one gives such a column.
    """
    return next((mark for mark in _DELIMITERS if time_column in _names(header, mark)), None)


def _names(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cells in csv.reader([line], delimiter=delimiter) for cell in cells]
    except csv.Error:
        return []

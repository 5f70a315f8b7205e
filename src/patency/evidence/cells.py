"""Cells of a table as numbers and times: fast where all is regular, cell by cell where something is not."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.evidence.table import Table

# What loggers write where they have no value; compared without regard to case.
NO_VALUE = frozenset({"", "-", "--", "---", "nan"})
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)

_SWAPPED = str.maketrans(",.", ".,")


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """A column as read.

    Parameters
    ----------
    values
        One number per row, as written; not-a-number where the cell holds no value or is at fault.
    faults
        Row and fault of every cell that cannot be used.
    """

    values: NDArray[np.float64]
    faults: tuple[tuple[int, InputError], ...] = ()


def read_numbers(table: Table, column: str, decimal: str) -> Cells:
    """Read a column of numbers.

    Parameters
    ----------
    table
        The table.
    column
        Name of the column.
    decimal
        The decimal sign, ``.`` or ``,``.

    Returns
    -------
    Cells
        The numbers as written, in the column's unit.
    """
    cells = table.columns[column]
    expected = f"a number with {decimal!r} as decimal sign"
    if isinstance(cells, np.ndarray):
        endless = np.flatnonzero(np.isinf(cells)).tolist()
        faults = (InputError(table.place(row, column), f"'{cells[row]}' cannot be read", expected) for row in endless)
        return Cells(cells, tuple(zip(endless, faults, strict=True)))
    if set("".join(cells)) <= set("0123456789+-eE" + decimal):
        try:
            values = np.array([cell.replace(",", ".") for cell in cells], dtype=np.float64)
        except ValueError:  # an empty cell, a sign alone
            pass
        else:
            if np.isfinite(values).all():
                return Cells(values)
    return _cell_by_cell(table, column, expected, lambda cell: _number(cell, decimal))


def read_stamps(table: Table, column: str) -> Cells:
    """Read a column of ISO 8601 stamps.

    Parameters
    ----------
    table
        The table.
    column
        Name of the column.

    Returns
    -------
    Cells
        Seconds since 1970-01-01 00:00 UTC.
    """
    return _cell_by_cell(table, column, "a stamp with its offset, such as 2026-05-01T14:05:00+02:00", _stamp)


def _cell_by_cell(table: Table, column: str, expected: str, read: Callable[[str], float]) -> Cells:
    values = np.full(len(table.lines), np.nan)
    faults = []
    for row, cell in enumerate(table.cells(column)):
        stripped = cell.strip()
        if stripped.lower() in NO_VALUE:
            continue
        try:
            values[row] = read(stripped)
        except ValueError:
            faults.append((row, InputError(table.place(row, column), f"{stripped[:40]!r} cannot be read", expected)))
    return Cells(values, tuple(faults))


def _number(cell: str, decimal: str) -> float:
    written = cell if decimal == "." else cell.translate(_SWAPPED)
    if not _NUMBER.fullmatch(written) or not math.isfinite(float(written)):
        raise ValueError(cell)
    return float(written)


def _stamp(cell: str) -> float:
    moment = datetime.fromisoformat(cell)
    if moment.utcoffset() is None or not 1900 <= moment.year < 3000:
        raise ValueError(cell)
    return moment.timestamp()

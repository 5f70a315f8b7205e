"""Parquet files read and written. The one place that knows the library, and it is imported only on use."""

from __future__ import annotations

from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.errors import InputError
from patency.steps.files import LARGEST_BYTES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

PARQUET_SUFFIX = ".parquet"
# A cycle of two hours with twenty columns at one sample a second has 144,000 cells.
_MOST_CELLS = 20_000_000
_NUMBERS: tuple[str, ...] = (
    "TINYINT",
    "SMALLINT",
    "INTEGER",
    "BIGINT",
    "HUGEINT",
    "UTINYINT",
    "USMALLINT",
    "UINTEGER",
    "UBIGINT",
)
_NUMBERS += ("UHUGEINT", "FLOAT", "DOUBLE", "DECIMAL")
_SETTINGS: dict[str, Any] = {
    "autoinstall_known_extensions": False,  # nothing is ever fetched
    "autoload_known_extensions": False,
    "threads": 1,
    "memory_limit": "1GB",
}


def connection() -> Any:  # noqa: ANN401 - the library is known here alone
    """Reach the library, opened once on nothing but memory, one thread and a bound to it.

    Returns
    -------
    Any
        A connection of its own; close it after use.
    """
    return _opened().cursor()


@contextmanager
def refusing(where: str, expected: str) -> Iterator[None]:
    """Tell what the library cannot do with a file as a fault of that file.

    Parameters
    ----------
    where
        The file.
    expected
        What it should have been.

    Yields
    ------
    None
        While the file is used.

    Raises
    ------
    InputError
        In place of the library's own error.
    """
    import duckdb

    try:
        yield
    except duckdb.Error as fault:
        raise InputError(where, str(fault).partition("\n")[0][:200], expected) from fault


@cache
def _opened() -> Any:  # noqa: ANN401
    import duckdb

    return duckdb.connect(":memory:", config=_SETTINGS)


def read_parquet_columns(path: Path) -> dict[str, tuple[str, ...] | NDArray[np.float64]]:
    """Read a Parquet file of one record.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    dict
        Column to its cells: numbers with not-a-number where there is none, everything else as text. A moment with its
        zone becomes an ISO 8601 stamp in UTC, one without stays without.

    Raises
    ------
    InputError
        When the file cannot be read, is no Parquet file or holds more than one cycle can.
    """
    if set("*?[") & set(str(path)):
        raise InputError(str(path), "a name with *, ? or [", "a name without them")
    try:
        size = path.stat().st_size
        with path.open("rb"):
            pass
    except OSError as fault:
        raise InputError(str(path), fault.strerror or "cannot be read", "a readable file") from fault
    with refusing(str(path), "a Parquet file of one record"), connection() as opened:
        source = opened.read_parquet(str(path))
        described = list(zip(source.columns, (str(kind) for kind in source.types), strict=True))
        (rows,) = opened.execute("SELECT count(*) FROM read_parquet(?)", [str(path)]).fetchone()
        if size > LARGEST_BYTES or rows * len(described) > _MOST_CELLS:
            what = f"{rows} rows of {len(described)} columns, which is more than one cycle can hold"
            raise InputError(str(path), what, "one cycle or test in a file")
        asked = ", ".join(_asked(name, kind) for name, kind in described)
        found = opened.execute(f"SELECT {asked} FROM read_parquet(?)", [str(path)]).fetchnumpy()  # noqa: S608
    return {name: _column(found[name], kind) for name, kind in described}


def quoted(name: str) -> str:
    """Write a column's name as the library reads it.

    Parameters
    ----------
    name
        The name.

    Returns
    -------
    str
        The name in double quotes.
    """
    return '"' + name.replace('"', '""') + '"'


def _is_number(kind: str) -> bool:
    return kind.partition("(")[0] in _NUMBERS


def _asked(name: str, kind: str) -> str:
    column = quoted(name)
    if _is_number(kind):
        return f"CAST({column} AS DOUBLE) AS {column}"
    if kind == "TIMESTAMP WITH TIME ZONE":
        return f"strftime({column} AT TIME ZONE 'UTC', '%Y-%m-%dT%H:%M:%S.%f+00:00') AS {column}"
    return f"CAST({column} AS VARCHAR) AS {column}"


def _column(found: Any, kind: str) -> tuple[str, ...] | NDArray[np.float64]:  # noqa: ANN401
    missing = np.ma.getmaskarray(found)
    if _is_number(kind):
        values = np.array(np.ma.getdata(found), dtype=np.float64)
        values[missing] = np.nan
        return values
    return tuple("" if gone else str(cell) for cell, gone in zip(np.ma.getdata(found), missing, strict=True))

"""Cuts cycles out of a file too large for one: line by line, bit for bit, with no more in memory than a line.

A logger that runs for weeks writes files of a gigabyte and more. Its cycles are told apart by a column that names them,
or one is cut out by its time. What is cut is a record like any other: the header, then the rows as they stand.
"""

from __future__ import annotations

import csv
import math
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from urllib.parse import quote

from patency.errors import InputError
from patency.evidence import delimiter_of, read_description
from patency.steps.files import LARGEST_BYTES, read_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from typing import BinaryIO

    from patency.evidence import RecordDescription

_LONGEST_LINE = 2**20
_BUFFER = 2**20
_MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class CutOut:
    """One record cut out.

    Parameters
    ----------
    name
        Name of its file.
    first_line, last_line
        Its rows in the large file, counted from 1 with the header: line n of the record is line first_line + n - 2.
    size
        Its size [byte].
    """

    name: str
    first_line: int
    last_line: int
    size: int


@dataclass(frozen=True, slots=True)
class CuttingDone:
    """What came of cutting a file.

    Parameters
    ----------
    records
        The records cut out, in the order of the file.
    faults
        What could not be cut out and why, one line each.
    """

    records: tuple[CutOut, ...]
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Head:
    """How a file begins: its header as it stands, how its cells are parted, what its columns are called."""

    line: bytes
    delimiter: str
    names: list[str]

    def cell(self, line: bytes, place: int) -> str:
        """Return a cell of a row; empty where the row has none."""
        if b'"' not in line:
            cells: list[bytes] = line.split(self.delimiter.encode("ascii"), place + 1)
            return cells[place].strip().decode("utf-8", "replace") if place < len(cells) else ""
        with suppress(csv.Error, StopIteration, IndexError):
            return next(csv.reader([line.decode("utf-8", "replace")], delimiter=self.delimiter, strict=True))[
                place
            ].strip()
        return ""

    def place(self, column: str, path: Path) -> int:
        """Find a column."""
        if column not in self.names:
            raise InputError(f"{path}, line 1", f"no column {column!r}", f"one of {', '.join(self.names)}")
        return self.names.index(column)


def cut_cycles(path: Path, description: Path, column: str, out: Path) -> CuttingDone:
    """Cut every cycle out of a file whose rows name the cycle they belong to.

    Parameters
    ----------
    path
        The file, CSV of any size.
    description
        What its columns hold.
    column
        The column that names the cycle; rows where it is empty belong to none and are left out.
    out
        Where the records go, one file for each cycle.

    Returns
    -------
    CuttingDone
        The records. A cycle that lies in two places of the file, or is larger than a record may be, is not cut out.

    Raises
    ------
    InputError
        When the file cannot be read, its header lacks the column, no row names a cycle, or nothing can be written.
    """
    described = read_description(read_text(description), str(description))
    cutter = _Cutter(path, out)
    try:
        with path.open("rb", buffering=_BUFFER) as file:
            head = _head(file, described, path)
            place = head.place(column, path)
            out.mkdir(parents=True, exist_ok=True)
            for number, line in _lines(file, path):
                cutter.take(head, head.cell(line, place), number, line)
            cutter.close()
            if not (cutter.done or cutter.faults):
                what = f"no row names a cycle in the column {column!r}"
                raise InputError(str(path), what, "rows with as many cells as the header, the cycle among them")
    except OSError as fault:
        where = str(fault.filename or path)
        raise InputError(where, fault.strerror or "cannot be used", "a file that can be used") from fault
    finally:
        cutter.drop()
    return CuttingDone(tuple(cutter.done.values()), tuple(cutter.faults))


class _Cutter:
    """Writes one cycle after the other, each beside its place first."""

    def __init__(self, path: Path, out: Path) -> None:
        self.path, self.out = path, out
        self.done: dict[str, CutOut] = {}
        self.faults: list[str] = []
        self._refused: set[str] = set()
        self._cycle = ""
        self._file: BinaryIO | None = None
        self._lines, self._size = (0, 0), 0

    def take(self, head: _Head, cycle: str, number: int, line: bytes) -> None:
        if cycle != self._cycle:
            self.close()
            if cycle and self._may_begin(cycle, number):
                self._file = self._draft(cycle).open("wb", buffering=_BUFFER)
                self._size, self._lines = self._file.write(head.line), (number, number)
            self._cycle = cycle
        if self._file is None:
            return
        self._size += self._file.write(line)
        self._lines = (self._lines[0], number)
        if self._size > LARGEST_BYTES:
            self.drop()
            self._refuse(cycle, f"from line {self._lines[0]} on is larger than {LARGEST_BYTES // 2**20} MiB")

    def close(self) -> None:
        """Put the cycle in its place."""
        if self._file is None:
            return
        self._file.close()
        self._file = None
        name = self._name(self._cycle)
        self._draft(self._cycle).replace(self.out / name)
        self.done[self._cycle] = CutOut(name, *self._lines, self._size)

    def drop(self) -> None:
        """Leave nothing half written."""
        if self._file is not None:
            self._file.close()
            self._file = None
            self._draft(self._cycle).unlink()

    def _may_begin(self, cycle: str, number: int) -> bool:
        before = self.done.pop(cycle, None)
        if before is not None:
            (self.out / before.name).unlink()
            lines = f"lines {before.first_line} to {before.last_line}"
            self._refuse(cycle, f"stands in {lines} and begins again at line {number}")
        return cycle not in self._refused

    def _refuse(self, cycle: str, what: str) -> None:
        self._refused.add(cycle)
        self.faults.append(InputError(str(self.path), f"cycle {cycle!r} {what}", "each cycle in one piece").line)

    def _name(self, cycle: str) -> str:
        return f"{self.path.stem}-{quote(cycle, safe=' ')}.csv"

    def _draft(self, cycle: str) -> Path:
        return self.out / f"{self._name(cycle)}.part"


def cut_time(path: Path, description: Path, begin: str, end: str, out: Path) -> CuttingDone:
    """Cut out of a file the rows from the first to the last whose time lies between two moments.

    Parameters
    ----------
    path
        The file, CSV of any size.
    description
        What its columns hold.
    begin
        The first moment, as the file writes it: seconds, or an ISO 8601 stamp with its offset.
    end
        The last moment.
    out
        Where the record goes.

    Returns
    -------
    CuttingDone
        The record. Rows whose time cannot be read are cut out where they lie between two that can.

    Raises
    ------
    InputError
        When the file or a moment cannot be read, no row lies between them, or what does is larger than a record may be.
    """
    described = read_description(read_text(description), str(description))
    moments = [_time(moment, described) for moment in (begin, end)]
    for moment, word in zip(moments, (begin, end), strict=True):
        if math.isnan(moment):
            raise InputError("--from, --until", f"{word!r} cannot be read", f"a time in {described.time.unit}")
    try:
        with path.open("rb", buffering=_BUFFER) as file:
            head = _head(file, described, path)
            first, last = _between(file, path, head, described, (moments[0], moments[1]))
            if first is None or last is None:
                raise InputError(str(path), f"no row from {begin} until {end}", "a time in the file")
            size = last[1] - first[1]
            if size > LARGEST_BYTES:
                what = f"{size / 2**20:.0f} MiB from line {first[0]} to line {last[0]}"
                raise InputError(str(path), what, f"at most {LARGEST_BYTES // 2**20} MiB for a record")
            file.seek(first[1])
            content = head.line + file.read(size)
        name = f"{path.stem}-lines-{first[0]}-{last[0]}.csv"
        out.mkdir(parents=True, exist_ok=True)
        draft = out / f"{name}.part"
        draft.write_bytes(content)
        draft.replace(out / name)
    except OSError as fault:
        where = str(fault.filename or path)
        raise InputError(where, fault.strerror or "cannot be used", "a file that can be used") from fault
    return CuttingDone((CutOut(name, first[0], last[0], len(content)),), ())


_Place = tuple[int, int]


def _between(
    file: BinaryIO, path: Path, head: _Head, description: RecordDescription, moments: tuple[float, float]
) -> tuple[_Place | None, _Place | None]:
    """Return line and offset at which the first such row begins, and line and offset at which the last one ends."""
    place = head.place(description.time.column, path)
    offset = file.tell()
    first = last = None
    for number, line in _lines(file, path):
        if moments[0] <= _time(head.cell(line, place), description) <= moments[1]:
            first = first or (number, offset)
            last = (number, offset + len(line))
        offset += len(line)
    return first, last


def _time(cell: str, description: RecordDescription) -> float:
    """Read a time; not-a-number where it cannot be read."""
    with suppress(ValueError):
        if description.time.unit == "s":
            return float(cell.replace(",", ".") if description.decimal == "," else cell)
        moment = datetime.fromisoformat(cell)
        return moment.timestamp() if moment.tzinfo else math.nan
    return math.nan


def _head(file: BinaryIO, description: RecordDescription, path: Path) -> _Head:
    line = file.readline(_LONGEST_LINE)
    text = line.removeprefix(_MARK).decode("utf-8", "replace")
    delimiter = delimiter_of(text, description.time.column)
    if delimiter is None or not line.endswith(b"\n"):
        expected = f"a header with a column {description.time.column!r}"
        raise InputError(f"{path}, line 1", "the header has no time column", expected)
    names = [name.strip() for name in next(csv.reader([text], delimiter=delimiter))]
    return _Head(line, delimiter, names)


def _lines(file: BinaryIO, path: Path) -> Iterator[tuple[int, bytes]]:
    """Yield each line behind the header with its number."""
    number = 1
    while line := file.readline(_LONGEST_LINE):
        number += 1
        if len(line) == _LONGEST_LINE and not line.endswith(b"\n"):
            raise InputError(f"{path}, line {number}", "longer than 1 MiB", "one row of cells in a line")
        yield number, line

"""The parts an archive consists of: Parquet files below folders of site, machine and month.

A part is two files. ``….samples.parquet`` has one row per sample: ``cycle`` (place of its cycle in the part),
``elapsed_s``, ``stage`` and one column for each sensor, named with its place in the description. ``….cycles.parquet``
has one row per cycle, with the raw record as it came and its digest, its description, verdict and what it was judged
against. The file of the cycles is put in its place last and in one step: without it the part is not there.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib.metadata import version
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

import numpy as np

from patency.errors import InputError
from patency.evidence import parts_digest, read_description, sensor_names
from patency.steps.parquet_files import connection, quoted, refusing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

CYCLES = ".cycles.parquet"
SAMPLES = ".samples.parquet"
# One part is read at a time by each process: with ten columns 160 MB.
MOST_SAMPLES = 2_000_000
ROW_GROUP = 122_880


@dataclass(frozen=True, slots=True)
class CycleKept:
    """One cycle as it is kept, without its samples.

    Parameters
    ----------
    sha256
        Digest of the raw record, by which the cycle is known.
    name
        Name of the record's file.
    record
        The raw record.
    description
        Text of its description.
    site, machine, month, day
        Where it belongs: partition, and the day of the cycle.
    samples
        How many samples it has.
    axis
        What beside the elapsed time makes its time axis, as JSON.
    stages
        The stages found, as JSON; empty where there is no programme.
    against
        What it was judged against: name to JSON, as JSON.
    outline
        Its criteria in outline, as JSON.
    verdict
        The verdict: met, not met or not evaluated.
    evidence
        All of the evidence, as JSON.
    version
        Version of the package that judged it.
    """

    sha256: str
    name: str
    record: bytes
    description: str
    site: str
    machine: str
    month: str
    day: str
    samples: int
    axis: str
    stages: str
    against: str
    outline: str
    verdict: str
    evidence: str
    version: str

    @property
    def folder(self) -> str:
        """The partition it belongs to."""
        parts = (("site", self.site), ("machine", self.machine), ("month", self.month))
        return "/".join(f"{name}={quote(value, safe='')}" for name, value in parts)

    @property
    def row_sha256(self) -> str:
        """Digest over all that is kept of it but the samples, which follow from the record."""
        kept = asdict(self)
        kept["record"] = self.sha256
        return hashlib.sha256(json.dumps(kept, sort_keys=True).encode("utf-8")).hexdigest()


@dataclass(frozen=True, slots=True, eq=False)
class SamplesKept:
    """The samples of a cycle.

    Parameters
    ----------
    time_s
        Elapsed time, shape (n,) [s].
    stage
        The machine's words as numbers, shape (n,); None where it named none.
    values
        Sensor column to readings, each of shape (n,), in the order of the description.
    """

    time_s: NDArray[np.float64]
    stage: NDArray[np.int8] | None
    values: dict[str, NDArray[np.float64]]

    @property
    def layout(self) -> tuple[bool, tuple[str, ...]]:
        """What samples must share to stand in one file."""
        return (self.stage is not None, tuple(self.values))


@lru_cache(maxsize=256)
def judging_version() -> str:
    """Name the package and the parts of a verdict with which it judges.

    Returns
    -------
    str
        Version of the package and digest of the parts.
    """
    return f"{version('patency')}+{parts_digest()}"


@lru_cache(maxsize=256)
def part_sensors(description: str) -> dict[str, str]:
    """Name the columns of the sensors of a record in the file of samples.

    The place among the sensors stands before the name: so names that differ in case alone stay apart.

    Parameters
    ----------
    description
        Text of the record's description.

    Returns
    -------
    dict
        Sensor's column in the record to that in the file of samples, such as ``2 T2``.
    """
    names = sensor_names(read_description(description))
    return {name: f"{place} {name}" for place, name in enumerate(names, start=1)}


def write_part(archive: Path, cycles: Sequence[tuple[CycleKept, SamplesKept]]) -> Path:
    """Write cycles of one partition and one layout as a part, whole or not at all.

    Parameters
    ----------
    archive
        The archive's folder.
    cycles
        The cycles with their samples, at least one.

    Returns
    -------
    Path
        The file of the cycles.

    Raises
    ------
    InputError
        When it cannot be written.
    """
    folder = archive / cycles[0][0].folder
    name = hashlib.sha256("".join(cycle.sha256 for cycle, _ in cycles).encode("ascii")).hexdigest()[:16]
    target = folder / f"{name}{CYCLES}"
    expected = "a folder that can be written to"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with refusing(str(archive), expected), connection() as opened:
            _copy(opened, _sample_columns([samples for _, samples in cycles]), folder / f"{name}{SAMPLES}")
            _copy(opened, _cycle_columns([cycle for cycle, _ in cycles]), target)
    except OSError as fault:
        raise InputError(str(archive), fault.strerror or "cannot be written", expected) from fault
    return target


def _copy(opened: Any, columns: dict[str, Any], target: Path) -> None:  # noqa: ANN401
    """Write columns beside their place, make sure they lie on the disk, and move them there in one step."""
    draft = target.with_name(f"{target.name}.{os.getpid()}.part")
    opened.register("kept", columns)
    place = str(draft).replace("'", "''")
    opened.execute(f"COPY kept TO '{place}' (FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE {ROW_GROUP})")
    opened.unregister("kept")
    with draft.open("rb") as written:
        os.fsync(written.fileno())
    draft.replace(target)


def _sample_columns(kept: list[SamplesKept]) -> dict[str, NDArray[Any]]:
    sizes = [samples.time_s.size for samples in kept]
    columns: dict[str, NDArray[Any]] = {
        "cycle": np.repeat(np.arange(len(kept), dtype=np.int32), sizes),
        "elapsed_s": np.concatenate([samples.time_s for samples in kept]),
    }
    if kept[0].stage is not None:
        columns["stage"] = np.concatenate([samples.stage for samples in kept if samples.stage is not None])
    for place, name in enumerate(kept[0].values, start=1):
        columns[f"{place} {name}"] = np.concatenate([samples.values[name] for samples in kept])
    return columns


def _cycle_columns(kept: list[CycleKept]) -> dict[str, NDArray[Any]]:
    rows = [{**{name: getattr(cycle, name) for name in CycleKept.__slots__}, "row": cycle.row_sha256} for cycle in kept]
    columns = {}
    for name in rows[0]:
        kind = np.int64 if name == "samples" else object
        column = np.empty(len(rows), dtype=kind)
        column[:] = [row[name] for row in rows]
        columns[name] = column
    return columns


def parts_of(archive: Path) -> list[Path]:
    """List the parts of an archive, in one order on every machine.

    Parameters
    ----------
    archive
        The archive's folder.

    Returns
    -------
    list[Path]
        Their files of cycles.

    Raises
    ------
    InputError
        When there is no such folder.
    """
    if not archive.is_dir():
        raise InputError(str(archive), "no such folder", "an archive's folder")
    return sorted(archive.glob(f"site=*/machine=*/month=*/*{CYCLES}"))


def part_site(part: Path) -> str:
    """Tell the site a part belongs to.

    Parameters
    ----------
    part
        Its file of cycles.

    Returns
    -------
    str
        The site.
    """
    return unquote(part.parents[2].name.removeprefix("site="))


def samples_path(part: Path) -> Path:
    """Tell where the samples of a part lie.

    Parameters
    ----------
    part
        Its file of cycles.

    Returns
    -------
    Path
        Their file.
    """
    return part.with_name(part.name.removesuffix(CYCLES) + SAMPLES)


def cycles_of(part: Path, *columns: str) -> list[dict[str, Any]]:
    """Read the cycles of a part.

    Parameters
    ----------
    part
        Its file of cycles.
    columns
        Which columns; all where none is named.

    Returns
    -------
    list
        One mapping for each cycle.

    Raises
    ------
    InputError
        When the file is damaged.
    """
    asked = columns or (*CycleKept.__slots__, "row")
    with refusing(str(part), "a file of cycles of an archive"), connection() as opened:
        found = opened.execute(_selecting(asked), [_plain(part)]).fetchall()
    return [dict(zip(asked, row, strict=True)) for row in found]


def samples_of(part: Path, columns: Sequence[str], cycles: tuple[int, int] | None = None) -> dict[str, NDArray[Any]]:
    """Read columns of the samples of a part.

    Parameters
    ----------
    part
        Its file of cycles.
    columns
        Which columns.
    cycles
        The place of the first cycle to read and of the first one not to; all of the part where left out.

    Returns
    -------
    dict
        Column to its values.

    Raises
    ------
    InputError
        When the file is damaged or not there.
    """
    path = samples_path(part)
    with refusing(str(path), "a file of samples of an archive"), connection() as opened:
        query = _selecting(columns)
        known: list[str | int] = [_plain(path)]
        if cycles is not None:
            query, known = f"{query} WHERE cycle BETWEEN ? AND ?", [*known, cycles[0], cycles[1] - 1]
        found = opened.sql(query, params=known).fetchnumpy()  # so it knows how many there are before it hands them out
    return {name: np.ma.filled(found[name], np.nan) for name in columns}  # what is missing is no number in the file


def _selecting(columns: Sequence[str]) -> str:
    names = ", ".join(quoted(name) for name in columns)
    return f"SELECT {names} FROM read_parquet(?, hive_partitioning=false)"  # noqa: S608


def _plain(path: Path) -> str:
    """Keep the library from reading a pattern into a name."""
    return "".join(f"[{sign}]" if sign in "*?[" else sign for sign in str(path))


def known_cycles(archive: Path) -> Iterator[str]:
    """Tell which cycles an archive holds.

    Parameters
    ----------
    archive
        The archive's folder; it may not exist yet.

    Yields
    ------
    str
        The digest of each raw record.
    """
    if archive.is_dir():
        for part in parts_of(archive):
            yield from (row["sha256"] for row in cycles_of(part, "sha256"))

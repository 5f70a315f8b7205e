"""Checks that all of an archive is as it was put there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.steps.archive_parts import CYCLES, SAMPLES, CycleKept, cycles_of, part_sensors, parts_of, samples_of
from patency.steps.archiving import RawRecord, samples_kept

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path
    from typing import Any


@dataclass(frozen=True, slots=True)
class ArchiveCheck:
    """What came of checking an archive.

    Parameters
    ----------
    parts, cycles, samples
        How many lie there.
    faults
        What is not as it was put there, one line each.
    """

    parts: int
    cycles: int
    samples: int
    faults: tuple[str, ...]


def verify_archive(archive: Path) -> ArchiveCheck:
    """Check every cycle of an archive: digests, and the samples against the raw record read anew.

    Parameters
    ----------
    archive
        The archive's folder.

    Returns
    -------
    ArchiveCheck
        What lies there and what is wrong with it.
    """
    parts, cycles, samples = parts_of(archive), 0, 0
    seen: dict[str, str] = {}
    faults = []
    for part in parts:
        try:
            rows = [_of_row(row) for row in cycles_of(part)]
            faults += [f"{part}: {fault}" for fault in _faults_of_part(part, rows)]
        except InputError as fault:
            faults.append(fault.line)
            continue
        for cycle, _ in rows:
            if cycle.sha256 in seen:
                faults.append(f"{part}: record {cycle.name!r} is kept twice, also in {seen[cycle.sha256]}")
            seen[cycle.sha256] = str(part)
            cycles, samples = cycles + 1, samples + cycle.samples
    whole = {part.name.removesuffix(CYCLES) for part in parts}
    left = [path for path in archive.rglob(f"*{SAMPLES}") if path.name.removesuffix(SAMPLES) not in whole]
    faults += [f"{path}: left over from a part that was never finished; it counts as nothing" for path in sorted(left)]
    return ArchiveCheck(len(parts), cycles, samples, tuple(faults))


def _of_row(row: dict[str, Any]) -> tuple[CycleKept, str]:
    digest = row.pop("row")
    return CycleKept(**row), digest


def _faults_of_part(part: Path, rows: list[tuple[CycleKept, str]]) -> Iterable[str]:
    places = list(part_sensors(rows[0][0].description).values())
    columns = ["cycle", "elapsed_s", *places]
    kept = samples_of(part, columns)
    bounds = np.searchsorted(kept["cycle"], np.arange(len(rows) + 1))
    for place, (cycle, digest) in enumerate(rows):
        raw = RawRecord(cycle.name, cycle.record)
        if raw.sha256 != cycle.sha256:
            yield f"the raw record of {cycle.name!r} is not what it was"
            continue
        if cycle.row_sha256 != digest:
            yield f"what is kept beside record {cycle.name!r} is not what it was"
            continue
        read = samples_kept(raw.read(cycle.description, "description"))
        now = slice(bounds[place], bounds[place + 1])
        same = np.array_equal(read.time_s, kept["elapsed_s"][now]) and all(
            np.array_equal(values, kept[column][now], equal_nan=True)
            for values, column in zip(read.values.values(), places, strict=True)
        )
        if not same:
            yield f"the samples of {cycle.name!r} are not those of its record"

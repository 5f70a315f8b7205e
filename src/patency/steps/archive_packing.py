"""Packs the small parts of an archive together: a folder that is watched adds one cycle at a time."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence import StageColumn, read_description
from patency.steps.archive_parts import (
    CYCLES,
    MOST_SAMPLES,
    SAMPLES,
    CycleKept,
    SamplesKept,
    cycles_of,
    part_sensors,
    parts_of,
    samples_of,
    write_part,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path


def pack_archive(archive: Path) -> tuple[int, int]:
    """Pack the parts of each partition together as far as a part may grow.

    A part is removed after the one that holds its cycles has been put in its place. Where that is interrupted cycles
    lie there twice, which `verify_archive` tells and packing again mends.

    Parameters
    ----------
    archive
        The archive's folder.

    Returns
    -------
    tuple
        How many parts there were and how many there are.
    """
    before = parts_of(archive)
    for _, parts in groupby(before, key=lambda part: part.parent):
        small = [(part, size) for part in parts if (size := _samples(part)) < MOST_SAMPLES // 2]
        for together in _fitting(small):
            _pack(archive, together)
    return len(before), len(parts_of(archive))


def _samples(part: Path) -> int:
    return sum(row["samples"] for row in cycles_of(part, "samples"))


def _fitting(parts: Sequence[tuple[Path, int]]) -> Iterator[list[Path]]:
    """Gather neighbours until a part would grow too large."""
    together: list[Path] = []
    samples = 0
    for part, size in parts:
        if together and samples + size > MOST_SAMPLES:
            yield together
            together, samples = [], 0
        together.append(part)
        samples += size
    yield from [together] if together else []


def _pack(archive: Path, parts: Sequence[Path]) -> None:
    groups: dict[object, list[tuple[CycleKept, SamplesKept]]] = {}
    seen: set[str] = set()
    for part in parts:
        for cycle, samples in _read(part):
            if cycle.sha256 not in seen:
                groups.setdefault(samples.layout, []).append((cycle, samples))
            seen.add(cycle.sha256)
    if len(groups) == len(parts):
        return
    written = {write_part(archive, cycles) for cycles in groups.values()}
    for part in set(parts) - written:
        part.unlink()
        part.with_name(part.name.removesuffix(CYCLES) + SAMPLES).unlink()


def _read(part: Path) -> Iterator[tuple[CycleKept, SamplesKept]]:
    rows = cycles_of(part)
    sensors = part_sensors(rows[0]["description"])
    described = read_description(rows[0]["description"]).columns.values()
    words = ["stage"] if any(isinstance(column, StageColumn) for column in described) else []
    kept = samples_of(part, ["elapsed_s", *words, *sensors.values()])
    bounds = np.cumsum([0, *(row["samples"] for row in rows)])
    for row, first, last in zip(rows, bounds[:-1], bounds[1:], strict=True):
        del row["row"]
        values = {name: kept[column][first:last] for name, column in sensors.items()}
        stage = kept["stage"][first:last] if words else None
        yield CycleKept(**row), SamplesKept(kept["elapsed_s"][first:last], stage, values)

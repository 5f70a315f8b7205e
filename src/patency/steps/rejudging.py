"""Judges a whole archive again, under changed limits or with corrected sensors; nothing in the archive is changed."""

from __future__ import annotations

import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from itertools import repeat
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any, cast

from patency.evidence import (
    EVERY_PART,
    TESTS,
    CycleAgainst,
    StageColumn,
    SteamAgainst,
    against_of_texts,
    axis_of_text,
    corrected,
    find_stages,
    judge_again,
    outlines_of_text,
    parts_touched,
    quantities_of,
    read_description,
    record_of_samples,
    sensor_names,
    stages_of_text,
    steam_parts_touched,
)
from patency.steps.archive_parts import judging_version, part_sensors, part_site, parts_of
from patency.steps.archive_pieces import cycles_of_piece, pieces_of, samples_of_cycles
from patency.steps.interlocking import tests_of_cycle

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from patency.catalogue import CycleLimits, SteamLimits
    from patency.evidence import Criterion, JudgedAgain, RecordDescription, SensorCorrection
    from patency.steps.interlocking import Interlock

_KNOWN = ("sha256", "name", "machine", "day", "samples", "version")
_OUTLINE = (*_KNOWN, "axis", "stages", "against", "outline", "description")


@dataclass(frozen=True, slots=True)
class Revision:
    """What is other than when the cycles were judged.

    Parameters
    ----------
    on
        The day on which limits must hold.
    limits
        The limits now; None keeps those each cycle was judged against, and the day too.
    corrections
        What was found of sensors.
    everything
        Judge every criterion again, even those that the change cannot touch.
    interlock
        The calendar of tests, asked where they stood when each cycle ran; None leaves them as they were judged.
    steam_limits
        The limits of steam sterilizers now; None keeps those each cycle was judged against, and the day too.
    version
        Version of the package and of the parts of a verdict; what another one judged is judged again whole.
    """

    on: date
    limits: CycleLimits | None = None
    corrections: tuple[SensorCorrection, ...] = ()
    everything: bool = False
    interlock: Interlock | None = None
    steam_limits: SteamLimits | None = None
    version: str = field(default_factory=judging_version)


@dataclass(frozen=True, slots=True)
class CycleChanged:
    """A cycle whose verdict changes.

    Parameters
    ----------
    sha256, name
        Its raw record.
    machine, day
        Where and when it ran.
    judged
        Verdicts before and after, and the criteria whose state changes.
    """

    sha256: str
    name: str
    machine: str
    day: str
    judged: JudgedAgain


@dataclass(slots=True)
class Rejudged:
    """What came of judging an archive again.

    Parameters
    ----------
    cycles, samples, values
        How many were looked at: cycles, rows of their records, and single readings read from the archive.
    judged
        How many cycles had a criterion that the change could touch.
    elsewhere
        How many cycles keep their verdict although the state of a criterion changes.
    changed
        The cycles whose verdict changes.
    """

    cycles: int = 0
    samples: int = 0
    values: int = 0
    judged: int = 0
    elsewhere: int = 0
    changed: tuple[CycleChanged, ...] = ()

    def with_part(self, other: Rejudged) -> Rejudged:
        """Add what came of another part.

        Parameters
        ----------
        other
            The other part.

        Returns
        -------
        Rejudged
            Both together.
        """
        return Rejudged(
            self.cycles + other.cycles,
            self.samples + other.samples,
            self.values + other.values,
            self.judged + other.judged,
            self.elsewhere + other.elsewhere,
            (*self.changed, *other.changed),
        )


def rejudge_archive(archive: Path, revision: Revision, *, site: str | None = None, processes: int = 1) -> Rejudged:
    """Judge every cycle of an archive again; of each only the parts that the change can touch.

    Parameters
    ----------
    archive
        The archive's folder.
    revision
        What is other than before.
    site
        Only the cycles of this site; None for all.
    processes
        How many processes share the parts, of large ones pieces.

    Returns
    -------
    Rejudged
        What was looked at and what changes. Each process holds no more in memory than a part's cycles without samples,
        one row group of its samples and one cycle.

    Raises
    ------
    InputError
        When there is no such folder or a part is damaged.
    """
    parts = [part for part in parts_of(archive) if site is None or part_site(part) == site]
    whole = Rejudged()
    for found in _each(parts, revision, processes):
        whole = whole.with_part(found)
    return whole


def _each(parts: Sequence[Path], revision: Revision, processes: int) -> Iterator[Rejudged]:
    pieces = [(part, (number, of)) for part in parts for of in [pieces_of(part)] for number in range(of)]
    if processes == 1 or len(pieces) < 2:
        yield from (rejudge_part(part, revision) for part in parts)
        return
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        where, which = zip(*pieces, strict=True)
        yield from pool.map(rejudge_part, where, [revision] * len(pieces), which)


def rejudge_part(part: Path, revision: Revision, piece: tuple[int, int] = (0, 1)) -> Rejudged:
    """Judge the cycles of one part again.

    Parameters
    ----------
    part
        Its file of cycles.
    revision
        What is other than before.
    piece
        Which piece of it, and of how many.

    Returns
    -------
    Rejudged
        What was looked at and what changes.
    """
    result = Rejudged()
    changed = []
    for one in cycles_again(part, revision, piece):
        result.cycles += 1
        result.samples += one.row["samples"]
        result.values += one.values
        if one.judged is None:
            continue
        result.judged += 1
        if one.judged.before is not one.judged.after:
            row = one.row
            judged = replace(one.judged, judged=())  # what changed is told; all the rest stays where it was judged
            changed.append(CycleChanged(row["sha256"], row["name"], row["machine"], row["day"], judged))
        elif one.judged.changes:
            result.elsewhere += 1
    result.changed = tuple(changed)
    return result


@dataclass(frozen=True, slots=True)
class CycleAgain:
    """A cycle of an archive, judged again.

    Parameters
    ----------
    row
        What is kept of it.
    values
        How many single readings of it were read, its time among them.
    judged
        What came of it; None where the change can touch nothing of it.
    """

    row: Mapping[str, Any]
    values: int
    judged: JudgedAgain | None


def cycles_again(part: Path, revision: Revision, piece: tuple[int, int] = (0, 1)) -> Iterator[CycleAgain]:
    """Judge the cycles of one part again, one after the other.

    Parameters
    ----------
    part
        Its file of cycles.
    revision
        What is other than before.
    piece
        Which piece of it, and of how many.

    Yields
    ------
    CycleAgain
        Each cycle, in the order of the part.
    """
    limits = "" if revision.limits is None else revision.limits.model_dump_json()
    rows, first_row = cycles_of_piece(part, piece, _OUTLINE)
    tasks = [_task(row, revision, limits) for row in rows]
    columns = sorted({column for task in tasks for column in task.columns})
    sizes = [row["samples"] for row in rows]
    samples = samples_of_cycles(part, columns, sizes, first_row) if columns else repeat({}, len(tasks))
    for task, kept in zip(tasks, samples, strict=True):
        judged = task.judge(kept) if task.columns else None
        yield CycleAgain(task.row, len(task.columns) * task.row["samples"], judged)


@dataclass(frozen=True, slots=True)
class _Task:
    """What is to be done with one cycle."""

    row: Mapping[str, Any]
    description: RecordDescription
    after: CycleAgainst | SteamAgainst
    parts: frozenset[int]
    columns: tuple[str, ...]
    corrections: tuple[SensorCorrection, ...]
    anew: bool
    tests: tuple[Criterion, ...] | None

    def judge(self, kept: Mapping[str, NDArray[Any]]) -> JudgedAgain:
        """Judge the cycle again from its samples."""
        time_s = kept[_TIME]
        record = record_of_samples(
            self.description,
            axis_of_text(self.row["axis"]),
            time_s,
            {name: kept[column] for name, column in part_sensors(self.row["description"]).items() if column in kept},
            kept.get(_STAGE),
            self.row["sha256"],
        )
        programme = None if isinstance(self.after, SteamAgainst) else self.after.programme
        found = None
        if self.anew:
            record = corrected(record, self.corrections, date.fromisoformat(self.row["day"]))
            found = None if programme is None else find_stages(record, programme)
        elif programme is not None:
            found = stages_of_text(self.row["stages"], programme, time_s.size)
        return judge_again(record, self.after, found, outlines_of_text(self.row["outline"]), self.parts, self.tests)


_TIME, _STAGE = "elapsed_s", "stage"


def _task(row: Mapping[str, Any], revision: Revision, limits: str) -> _Task:
    texts, description = json.loads(row["against"]), _description(row["description"])
    before = after = against_of_texts(texts)
    touched: frozenset[int] = frozenset()
    if isinstance(before, SteamAgainst):
        if revision.steam_limits is not None:
            after = before.model_copy(update={"limits": revision.steam_limits, "on": revision.on})
            touched = steam_parts_touched(before, after)
    elif revision.limits is not None:
        after = before.model_copy(update={"limits": revision.limits, "on": revision.on})
        touched = _touched(texts["limits"], texts["machine"], before.on, limits, revision.on)
    day = date.fromisoformat(row["day"])
    sensors = sensor_names(description)
    concerned = tuple(one for one in revision.corrections if one.concerns(description.machine, day))
    concerned = tuple(one for one in concerned if one.column in sensors)
    anew = bool(concerned) or isinstance(before, SteamAgainst) or before.programme is None
    if concerned or revision.everything or row["version"] != revision.version:
        touched = EVERY_PART
    tests = _tests(row, after, revision)
    columns = _columns(row["description"], touched, anew=anew) or (() if tests is None else (_TIME,))
    return _Task(row, description, after, touched, columns, concerned, anew, tests)


def _tests(
    row: Mapping[str, Any], after: CycleAgainst | SteamAgainst, revision: Revision
) -> tuple[Criterion, ...] | None:
    """Ask again where the tests stood that a cycle relied on."""
    if after.programme is None or (revision.interlock is None and _asked_before(row, revision)):
        return None
    started, machine = axis_of_text(row["axis"]).started, _description(row["description"]).machine
    return tests_of_cycle(revision.interlock, started, machine, after.programme_key).criteria


def _asked_before(row: Mapping[str, Any], revision: Revision) -> bool:
    """Tell whether the tests were asked for when a cycle was kept; earlier editions never did."""
    return row["version"] == revision.version or any(one.part == TESTS for one in outlines_of_text(row["outline"]))


def _columns(description: str, parts: frozenset[int], *, anew: bool) -> tuple[str, ...]:
    """Name the columns of the samples that are needed; what is judged as a whole needs all there are."""
    if not parts:
        return ()
    read, sensors = _description(description), part_sensors(description)
    if anew:
        words = any(isinstance(column, StageColumn) for column in read.columns.values())
        return (_TIME, *((_STAGE,) if words else ()), *sensors.values())
    wanted = quantities_of(parts)
    return (_TIME, *(column for name, column in sensors.items() if read.columns[name].quantity in wanted))


@lru_cache(maxsize=256)
def _description(text: str) -> RecordDescription:
    return read_description(text)


@lru_cache(maxsize=4096)
def _touched(limits: str, machine: str, on: date, limits_now: str, on_now: date) -> frozenset[int]:
    """Tell what other limits touch; many cycles share them, so they are compared once."""
    texts = dict.fromkeys(CycleAgainst.model_fields, "null")
    before = against_of_texts({**texts, "limits": limits, "machine": machine, "on": f'"{on}"'})
    after = against_of_texts({**texts, "limits": limits_now, "machine": machine, "on": f'"{on_now}"'})
    return parts_touched(cast("CycleAgainst", before), cast("CycleAgainst", after))

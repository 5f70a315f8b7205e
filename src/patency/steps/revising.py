"""Judges the cycles of one part of an archive again, one after the other."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from itertools import repeat
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
    layout_of,
    outlines_of_text,
    parts_touched,
    quantities_of,
    read_description,
    record_of_samples,
    sensor_names,
    stages_of_text,
    steam_parts_touched,
)
from patency.steps.archive_parts import cycles_of, judging_version, part_sensors
from patency.steps.archive_pieces import samples_of_cycles
from patency.steps.interlocking import tests_of_cycle

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from patency.catalogue import CycleLimits, SteamLimits
    from patency.evidence import Criterion, JudgedAgain, Layout, RecordDescription, SensorCorrection
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


def cycles_again(part: Path, revision: Revision) -> Iterator[CycleAgain]:
    """Judge the cycles of one part again, one after the other.

    Parameters
    ----------
    part
        Its file of cycles.
    revision
        What is other than before.

    Yields
    ------
    CycleAgain
        Each cycle, in the order of the part.
    """
    limits = "" if revision.limits is None else revision.limits.model_dump_json()
    rows = cycles_of(part, *_OUTLINE)
    terms: dict[tuple[str, ...], _Terms] = {}
    tasks = [_task(row, revision, limits, terms) for row in rows]
    columns = sorted({column for task in tasks for column in task.columns})
    sizes = [row["samples"] for row in rows]
    samples = samples_of_cycles(part, columns, sizes) if columns else repeat({}, len(tasks))
    for task, kept in zip(tasks, samples, strict=True):
        judged = task.judge(kept) if task.columns else None
        yield CycleAgain(task.row, len(task.columns) * task.row["samples"], judged)


@dataclass(frozen=True, slots=True)
class _Terms:
    """On what terms cycles are judged again that were judged against the same and have the same description."""

    layout: Layout
    sensors: dict[str, str]
    after: CycleAgainst | SteamAgainst
    parts: frozenset[int]
    columns: tuple[str, ...]
    corrections: tuple[SensorCorrection, ...]
    anew: bool
    alike: dict[Hashable, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Task:
    """What is to be done with one cycle."""

    row: Mapping[str, Any]
    terms: _Terms
    tests: tuple[Criterion, ...] | None

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns of the samples that are needed; tests alone need no more than the time."""
        return self.terms.columns or (() if self.tests is None else (_TIME,))

    def judge(self, kept: Mapping[str, NDArray[Any]]) -> JudgedAgain:
        """Judge the cycle again from its samples."""
        row, terms, time_s = self.row, self.terms, kept[_TIME]
        record = record_of_samples(
            terms.layout,
            axis_of_text(row["axis"]),
            time_s,
            {name: kept[column] for name, column in terms.sensors.items() if column in kept},
            kept.get(_STAGE),
            row["sha256"],
        )
        programme = None if isinstance(terms.after, SteamAgainst) else terms.after.programme
        found, alike = None, terms.alike
        if terms.anew:
            record = corrected(record, terms.corrections, date.fromisoformat(row["day"]))
            found = None if programme is None else find_stages(record, programme)
            alike = {}  # what is said of its sensors may have been corrected too
        elif programme is not None:
            found = stages_of_text(row["stages"], programme, time_s.size)
        return judge_again(record, terms.after, found, outlines_of_text(row["outline"]), terms.parts, self.tests, alike)


_TIME, _STAGE = "elapsed_s", "stage"


def _task(row: Mapping[str, Any], revision: Revision, limits: str, known: dict[tuple[str, ...], _Terms]) -> _Task:
    day = row["day"] if revision.corrections else ""
    same = (row["against"], row["description"], row["version"], day)
    terms = known.get(same)
    if terms is None:
        terms = known[same] = _terms(row, revision, limits)
    return _Task(row, terms, _tests(row, terms.after, revision))


def _terms(row: Mapping[str, Any], revision: Revision, limits: str) -> _Terms:
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
    return _Terms(
        layout_of(description),
        part_sensors(row["description"]),
        after,
        touched,
        _columns(row["description"], touched, anew=anew),
        concerned,
        anew,
    )


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

"""Judging again: the same criteria under other limits or with corrected sensors, no more than the change touches.

What the stages are does not depend on limits, and a criterion depends on no more than its `Part` names. So of a cycle
whose readings stay what they are only those parts are judged again whose limits changed; by the same functions, on the
same numbers, with the same result to the last bit. Where a sensor is corrected everything is judged again, stages too.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from patency.evidence.against import SteamAgainst
from patency.evidence.case import Case
from patency.evidence.criteria import CriterionState, limit_fault
from patency.evidence.outcome import overall
from patency.evidence.parts import PARTS, judged
from patency.evidence.stages import find_stages
from patency.evidence.verdict import evidence_of
from patency.evidence.weighing import as_weighed

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence
    from datetime import date

    from patency.catalogue import CycleLimits, Programme, SteamLimits
    from patency.evidence.against import CycleAgainst
    from patency.evidence.criteria import Criterion
    from patency.evidence.found_stages import StagesFound
    from patency.evidence.prediction import LoadMachine
    from patency.evidence.record import CycleRecord
    from patency.evidence.steam import SteamEvidence
    from patency.evidence.verdict import Evidence
    from patency.evidence.weighing import Weighed

    _Limits = TypeVar("_Limits", CycleLimits, SteamLimits)

# The tests of machines follow from a calendar and from no reading: a part by itself, the same in every edition.
TESTS = -1
# What is not judged part by part, without a programme or of a steam sterilizer, is all of one part.
WHOLE = 0


class Outlined(NamedTuple):
    """One criterion in outline, as it is kept for comparing.

    Parameters
    ----------
    part
        Which part of the verdict it belongs to.
    name, stage, sensor, unit
        As in `Criterion`.
    value
        What was found.
    state
        What became of it.
    """

    part: int
    name: str
    stage: str | None
    sensor: str | None
    unit: str
    value: float | None
    state: str

    @property
    def key(self) -> tuple[str, str | None, str | None]:
        """What is asked of which stage and sensor."""
        return (self.name, self.stage, self.sensor)


@dataclass(frozen=True, slots=True)
class Change:
    """A criterion whose state changes.

    Parameters
    ----------
    before, after
        In outline; None where it was not asked before, or is not any more.
    """

    before: Outlined | None
    after: Outlined | None


@dataclass(frozen=True, slots=True)
class JudgedAgain:
    """What came of judging a cycle again.

    Parameters
    ----------
    before, after
        The verdicts.
    changes
        The criteria whose state changes.
    judged
        Every criterion judged again as numbers, by its part.
    """

    before: CriterionState
    after: CriterionState
    changes: tuple[Change, ...]
    judged: tuple[tuple[int, Weighed], ...] = field(default=(), compare=False)

    @property
    def criteria(self) -> tuple[tuple[int, Criterion], ...]:
        """Every criterion judged again in words, by its part."""
        return tuple((part, one.told()) for part, one in self.judged)


def _case(
    record: CycleRecord,
    against: CycleAgainst,
    programme: Programme,
    found: StagesFound,
    alike: dict[Hashable, Any],
) -> Case:
    return Case(
        record,
        against.limits,
        against.on,
        found.moist,
        programme,
        found,
        against.prediction,
        against.eye_check,
        against.programme_key,
        against.machine,
        alike,
    )


def judge_to_keep(
    record: CycleRecord, against: CycleAgainst | SteamAgainst
) -> tuple[Evidence | SteamEvidence, StagesFound | None, tuple[Outlined, ...]]:
    """Judge a record and return beside the evidence what judging it again starts from.

    Parameters
    ----------
    record
        The record.
    against
        What it is judged against.

    Returns
    -------
    tuple
        The evidence; the stages found, None where there is no programme or it is one of steam; the criteria in outline.
    """
    if isinstance(against, SteamAgainst) or against.programme is None:
        alone = against.judge(record)
        return alone, None, tuple(_outlined(WHOLE, as_weighed(criterion)) for criterion in alone.criteria)
    found = find_stages(record, against.programme)
    case = _case(record, against, against.programme, found, {})
    criteria = judged(case)
    evidence = evidence_of(case, tuple(one.told() for _, one in criteria))
    return evidence, found, tuple(_outlined(place, one) for place, one in criteria)


def outlines_of_tests(criteria: Iterable[Criterion]) -> tuple[Outlined, ...]:
    """Return the criteria of a calendar's tests in outline.

    Parameters
    ----------
    criteria
        The criteria.

    Returns
    -------
    tuple
        To be kept behind those of `judge_to_keep`.
    """
    return tuple(_outlined(TESTS, as_weighed(criterion)) for criterion in criteria)


def judge_again(
    record: CycleRecord,
    against: CycleAgainst | SteamAgainst,
    found: StagesFound | None,
    before: Sequence[Outlined],
    parts: frozenset[int],
    tests: Sequence[Criterion] | None = None,
    alike: dict[Hashable, Any] | None = None,
) -> JudgedAgain:
    """Judge parts of a cycle again.

    Parameters
    ----------
    record
        The record; only the quantities of the parts have to be there.
    against
        What it is now judged against.
    found
        Its stages; None where there is no programme or it is one of steam.
    before
        Its criteria in outline, as judged before.
    parts
        The parts to judge again: `parts_touched`, or `EVERY_PART` where the record is not what it was.
    tests
        The criteria of the tests the cycle relied on, asked again; None leaves them as they were judged.
    alike
        What cycles share that are judged against the same and have the same sensors, as in `Case`; None where it is a
        cycle by itself.

    Returns
    -------
    JudgedAgain
        Verdicts and changes.
    """
    criteria: list[tuple[int, Weighed]] = []
    if isinstance(against, SteamAgainst) or against.programme is None or found is None:
        if parts:
            criteria = [(WHOLE, as_weighed(criterion)) for criterion in against.judge(record).criteria]
            parts = frozenset({WHOLE})
    else:
        case = _case(record, against, against.programme, found, {} if alike is None else alike)
        criteria = judged(case, parts)
    if tests is not None:
        criteria += [(TESTS, as_weighed(criterion)) for criterion in tests]
        parts |= {TESTS}
    states = {CriterionState(state) for state in {one.state for one in before if one.part not in parts}}
    verdict = overall(states.union([one.state for _, one in criteria]))
    decided = overall(CriterionState(state) for state in {one.state for one in before})
    changes = _changed([one for one in before if one.part in parts], criteria)
    return JudgedAgain(decided, verdict, changes, tuple(criteria))


def _outlined(part: int, one: Weighed) -> Outlined:
    asked = one.asked
    return Outlined(part, asked.name, asked.stage, asked.sensor, asked.unit, one.value, one.state.value)


def _changed(before: list[Outlined], judged: Sequence[tuple[int, Weighed]]) -> tuple[Change, ...]:
    """Tell which criteria are in another state; mostly the same ones are asked in the same order and none is."""
    if len(before) == len(judged):
        for (_, name, stage, sensor, _, _, state), (_, one) in zip(before, judged, strict=True):
            asked = one.asked
            if state != one.state or (name, stage, sensor) != (asked.name, asked.stage, asked.sensor):
                break
        else:
            return ()
    return tuple(_changes(before, [_outlined(part, one) for part, one in judged]))


def _changes(before: Iterable[Outlined], after: Iterable[Outlined]) -> list[Change]:
    """Pair criteria that ask the same of the same stage and sensor, in their order; keep those whose state differs."""
    old: dict[tuple[str, str | None, str | None], list[Outlined]] = {}
    for one in before:
        old.setdefault(one.key, []).append(one)
    changes = []
    for one in after:
        paired = old.get(one.key)
        was = paired.pop(0) if paired else None
        if was is None or was.state != one.state:
            changes.append(Change(was, one))
    gone = [Change(one, None) for left in old.values() for one in left]
    return [*changes, *gone]


def parts_touched(before: CycleAgainst, after: CycleAgainst) -> frozenset[int]:
    """Tell which parts of a verdict other limits or another day can change, as long as all else stays.

    Parameters
    ----------
    before
        What a cycle was judged against.
    after
        The same with other limits, or another day.

    Returns
    -------
    frozenset
        The parts, as positions in ``PARTS``.
    """
    changed = _limits_changed(before.limits, before.on, after.limits, after.on)
    touched = {place for place, part in enumerate(PARTS) if changed & set(part.limits)}
    if before.on != after.on:
        touched |= {place for place, part in enumerate(PARTS) if part.by_day}
    if _offsets_known(before.machine, before.on) != _offsets_known(before.machine, after.on):
        touched |= {place for place, part in enumerate(PARTS) if "pressure" in part.quantities}
    return frozenset(touched)


def steam_parts_touched(before: SteamAgainst, after: SteamAgainst) -> frozenset[int]:
    """Tell whether other limits or another day can change the verdict on a cycle of a steam sterilizer.

    Parameters
    ----------
    before
        What a cycle was judged against.
    after
        The same with other limits, or another day.

    Returns
    -------
    frozenset
        All of it, or nothing.
    """
    aged = before.on != after.on  # calibrations, and what was entered, are judged by their age
    changed = _limits_changed(before.limits, before.on, after.limits, after.on)
    return frozenset({WHOLE}) if changed or aged else frozenset()


def _limits_changed(before: _Limits, on: date, after: _Limits, then: date) -> set[str]:
    """Name the limits that are not what they were, or say something else of their validity."""
    changed = set()
    for name in type(before).model_fields:
        old, new = getattr(before, name), getattr(after, name)
        unit = "" if old is None else old.unit
        if old != new or limit_fault(old, unit, on) != limit_fault(new, unit, then):
            changed.add(name)
    return changed


def _offsets_known(machine: LoadMachine | None, on: date) -> list[bool]:
    """Tell of each offset of a sensor whether it had been found by a day."""
    if machine is None:
        return []
    return [offset.found_on <= on for sensors in machine.offsets.values() for offset in sensors.values()]


def outlines_as_text(outlines: Iterable[Outlined]) -> str:
    """Write criteria in outline as JSON.

    Parameters
    ----------
    outlines
        The criteria.

    Returns
    -------
    str
        One list for each.
    """
    return json.dumps([list(one) for one in outlines], ensure_ascii=False, separators=(",", ":"))


# A whole archive has millions of them, and `_make` takes thrice as long.
_outlined_as_kept = partial(tuple.__new__, Outlined)


def outlines_of_text(text: str) -> tuple[Outlined, ...]:
    """Read what `outlines_as_text` wrote.

    Parameters
    ----------
    text
        The JSON.

    Returns
    -------
    tuple
        The criteria.
    """
    return tuple(map(_outlined_as_kept, json.loads(text)))


@lru_cache(maxsize=256)
def quantities_of(parts: frozenset[int]) -> frozenset[str]:
    """Return the quantities whose readings some parts look at.

    Parameters
    ----------
    parts
        The parts.

    Returns
    -------
    frozenset
        Such as ``temperature``.
    """
    return frozenset(quantity for place in parts for quantity in PARTS[place].quantities)

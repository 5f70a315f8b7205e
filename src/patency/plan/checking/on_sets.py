"""Rules on sets: which may be planned, and that each stays whole."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.plan.checking.finding import Observation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import InstructionsVersion
    from patency.plan.checking.case import Case

# Activities of ISO 17664-1:2021 without which a set cannot be brought from the sink to the next patient.
ACTIVITIES_NEEDED = ("preparation", "cleaning", "disinfection", "drying", "inspection", "packaging", "sterilization")


def every_set_once(case: Case) -> Iterator[Observation]:
    """Find waiting sets that are in no load and not left out, or in more than one place."""
    planned = Counter(name for load in case.plan.loads for name in load.sets)
    left = Counter(out.set for out in case.plan.left_out)
    for waiting in case.day.waiting:
        name = waiting.set
        if planned[name] + left[name] == 0:
            yield Observation("it waits and is neither in a load nor left out", set=name)
    for name in planned.keys() | left.keys():
        if planned[name] > 1:
            yield Observation(f"it is in {planned[name]} loads", set=name)
        if planned[name] and left[name]:
            yield Observation("it is in a load and left out as well", set=name)
    for out in case.plan.left_out:
        if not out.why.strip():
            yield Observation("it is left out without a reason", set=out.set)


def only_waiting_sets(case: Case) -> Iterator[Observation]:
    """Find planned sets that do not wait on this day."""
    waiting = {waiting.set for waiting in case.day.waiting}
    for load in case.plan.loads:
        for name in load.sets:
            if name in case.department.sets and name not in waiting:
                yield Observation("it does not wait on this day", load=load.id, set=name)


def whole_sets(case: Case) -> Iterator[Observation]:
    """Find pieces that are missing, double, invented or away from the load of their set."""
    for load in case.plan.loads:
        placed = Counter((piece.set, piece.piece) for piece in load.pieces)
        expected = {(name, key) for name in load.sets if name in case.contents for key in case.contents[name]}
        for (name, key), count in placed.items():
            if (name, key) not in expected:
                why = "is not a piece of this set" if name in load.sets else "its set is not in this load"
                yield Observation(f"{key} of {name} {why}", load.id, name, key)
            elif count > 1:
                yield Observation(f"it is placed {count} times", load.id, name, key)
        for name, key in sorted(expected - placed.keys()):
            yield Observation("it is not placed", load.id, name, key)


def no_held_set(case: Case) -> Iterator[Observation]:
    """Find planned sets on hold."""
    for load in case.plan.loads:
        for name in load.sets:
            described = case.department.sets.get(name)
            if described is not None and described.hold is not None:
                yield Observation(f"it is on hold: {described.hold}", load.id, name)


def instructions(case: Case) -> Iterator[Observation]:
    """Find planned sets with an instrument that lacks approved, readable, complete instructions in force."""
    for load in case.plan.loads:
        for name in load.sets:
            described = case.department.sets.get(name)
            for instrument in described.contents if described else ():
                fault = _fault(case, instrument)
                if fault:
                    yield Observation(f"{instrument}: {fault}", load.id, name)


def in_force(case: Case, instrument: str) -> InstructionsVersion | None:
    """Return the instructions of an instrument in force on the day.

    Parameters
    ----------
    case
        The plan beside the catalogue.
    instrument
        Key of the instrument type.

    Returns
    -------
    InstructionsVersion | None
        The version issued last of those issued and approved by the day; None where there is none.
    """
    described = case.department.instruments.get(instrument)
    key = described.instructions if described else None
    versions = case.department.instructions[key].versions if key in case.department.instructions else []
    day = case.day.date
    valid = [v for v in versions if v.approval and v.approval.on <= day and v.issued <= day]
    return max(valid, key=lambda version: version.issued, default=None)


def _fault(case: Case, instrument: str) -> str:
    version = in_force(case, instrument)
    if version is None:
        return f"no approved instructions are in force on {case.day.date}"
    if version.language not in case.department.languages:
        return f"its instructions in force are in language {version.language}, which is not read here"
    missing = [activity for activity in ACTIVITIES_NEEDED if getattr(version, activity) is None]
    return f"its instructions in force say nothing of {', '.join(missing)}" if missing else ""

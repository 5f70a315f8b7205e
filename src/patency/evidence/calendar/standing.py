"""Where each test stands at a moment, and what is blocked by it. What is not known blocks."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from patency.evidence.calendar.stated import TestResult
from patency.texts import people_moment

if TYPE_CHECKING:
    from datetime import datetime

    from patency.evidence.calendar.stated import Calendar, RequiredTest, TestDone


class TestState(StrEnum):
    """Where a test stands."""

    __test__ = False

    IN_DATE = "in date"
    OVERDUE = "overdue"
    FAILED = "failed"
    NOT_JUDGED = "not judged"
    NEVER_DONE = "never done"


@dataclass(frozen=True, slots=True)
class Standing:
    """Where one test stands at a moment.

    Parameters
    ----------
    test
        Its name in the calendar.
    required
        What has to be done.
    last
        The last time it was done by then; None where it never was.
    state
        Where it stands.
    until
        Until when the last result counts; None where it does not.
    why
        The reason in words.
    """

    test: str
    required: RequiredTest
    last: TestDone | None
    state: TestState
    until: datetime | None
    why: str

    @property
    def holds(self) -> bool:
        """Whether nothing is blocked by it."""
        return self.state is TestState.IN_DATE


def standings(calendar: Calendar, at: datetime) -> list[Standing]:
    """Tell where every test stands.

    A result counts from the moment of the test for the interval; what was entered for later does not count yet. The
    last result decides: a failed test blocks until it was passed again.

    Parameters
    ----------
    calendar
        The calendar.
    at
        The moment, with its zone.

    Returns
    -------
    list
        In the order of the calendar.
    """
    found = []
    for name, required in calendar.tests.items():
        done = [one for one in calendar.done if one.test == name and one.at <= at]
        # Of two at the same moment the failed one counts.
        last = max(done, key=lambda one: (one.at, one.result is TestResult.FAILED), default=None)
        found.append(_standing(name, required, last, at))
    return found


def _standing(name: str, required: RequiredTest, last: TestDone | None, at: datetime) -> Standing:
    if last is None:
        return Standing(name, required, None, TestState.NEVER_DONE, None, "nobody has entered that it was done")
    told = f"{last.result.value} at {people_moment(last.at)}, {last.by}"
    until = last.at + required.interval
    missed = _missed(required, last, at)
    if last.result is TestResult.FAILED:
        return Standing(name, required, last, TestState.FAILED, None, told)
    if missed is not None:
        state, why = missed
        return Standing(name, required, last, state, None, f"{told}; {why}")
    if until < at:
        why = f"{told}; it counted until {people_moment(until)}"
        return Standing(name, required, last, TestState.OVERDUE, None, why)
    return Standing(name, required, last, TestState.IN_DATE, until, f"{told}; counts until {people_moment(until)}")


def _missed(required: RequiredTest, last: TestDone, at: datetime) -> tuple[TestState, str] | None:
    """Hold the measured value against its limit, whatever was entered as the result."""
    limit = required.limit
    if limit is None:
        return None
    if limit.valid_until is not None and limit.valid_until < at.date():
        return TestState.NOT_JUDGED, f"its limit held until {limit.valid_until}"
    if last.value is None:
        return TestState.NOT_JUDGED, "no measured value was entered"
    if last.unit != limit.unit:
        return TestState.NOT_JUDGED, f"the value is in {last.unit}, its limit in {limit.unit}"
    low = limit.lowest is not None and last.value < limit.lowest
    high = limit.highest is not None and last.value > limit.highest
    if low or high:
        end = limit.lowest if low else limit.highest
        return TestState.FAILED, f"{last.value:g} {limit.unit} is {'below' if low else 'above'} {end:g} {limit.unit}"
    return None


@dataclass(frozen=True, slots=True)
class Blocked:
    """What may not be used at a moment, each with the reasons.

    Parameters
    ----------
    machines, programmes, uses
        Name to reasons, one line each.
    """

    machines: dict[str, list[str]]
    programmes: dict[str, list[str]]
    uses: dict[str, list[str]]


def blocked(found: list[Standing]) -> Blocked:
    """List what is blocked.

    Parameters
    ----------
    found
        Where the tests stand.

    Returns
    -------
    Blocked
        Machines, programmes and other uses with their reasons.
    """
    result = Blocked({}, {}, {})
    for one in found:
        if one.holds:
            continue
        reason = f"{one.test}: {one.state.value}; {one.why}"
        for kind in ("machines", "programmes", "uses"):
            for name in getattr(one.required.blocks, kind):
                getattr(result, kind).setdefault(name, []).append(reason)
    return result


def calendar_document(found: list[Standing], at: datetime) -> dict[str, Any]:
    """Return where tests stand as plain values for JSON, format ``patency-standing/1``.

    Parameters
    ----------
    found
        Where they stand.
    at
        The moment.

    Returns
    -------
    dict
        Mappings, lists and text only.
    """
    block = blocked(found)
    return {
        "format": "patency-standing/1",
        "at": at.isoformat(),
        "tests": [
            {
                "test": one.test,
                "of": one.required.of.value,
                "name": one.required.name,
                "state": one.state.value,
                "until": None if one.until is None else one.until.isoformat(),
                "why": one.why,
                "source": one.required.source,
            }
            for one in found
        ],
        "blocked": {"machines": block.machines, "programmes": block.programmes, "uses": block.uses},
    }

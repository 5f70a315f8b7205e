"""What the statement on a load relies on, and whether that is still in date at a later look."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, ValidationError

from patency.errors import InputError
from patency.evidence.calendar.standing import TestState, standings
from patency.evidence.criteria import Criterion, CriterionState
from patency.texts import people_moment

if TYPE_CHECKING:
    from datetime import datetime

    from patency.evidence.calendar.standing import Standing
    from patency.evidence.calendar.stated import Calendar

NO_LONGER = "no longer in date"
TEST_CRITERION = "test in date"


def relied_on(calendar: Calendar, at: datetime, machine: str | None, programme: str | None) -> list[Standing]:
    """List the tests a cycle relies on: those that would have blocked its machine or its programme.

    Parameters
    ----------
    calendar
        The calendar.
    at
        When the cycle ran.
    machine
        Its machine; None where nobody knows, and then every test of any machine counts.
    programme
        Key of its programme; None where nobody knows.

    Returns
    -------
    list
        Where each stood then.
    """

    def concerns(one: Standing) -> bool:
        blocks = one.required.blocks
        by_machine = bool(blocks.machines) if machine is None else machine in blocks.machines
        by_programme = bool(blocks.programmes) if programme is None else programme in blocks.programmes
        return by_machine or by_programme

    return [one for one in standings(calendar, at) if concerns(one)]


def failed_since(
    calendar: Calendar, ran: datetime, at: datetime, machine: str | None, programme: str | None
) -> list[Standing]:
    """List the tests a cycle relies on that failed after it ran, whether they were passed again or not.

    Parameters
    ----------
    calendar
        The calendar.
    ran
        When the cycle ran.
    at
        The moment of the decision.
    machine
        Its machine; None where nobody knows.
    programme
        Key of its programme; None where nobody knows.

    Returns
    -------
    list
        Where each stood when it first failed.
    """
    first: dict[str, Standing] = {}
    for moment in sorted({one.at for one in calendar.done if ran < one.at <= at}):
        for one in relied_on(calendar, moment, machine, programme):
            if one.state is TestState.FAILED:
                first.setdefault(one.test, one)
    return list(first.values())


def criteria_of_tests(
    then: list[Standing], since: list[Standing], machine: str | None, ran: datetime | None, none_known: str
) -> list[Criterion]:
    """Judge the tests a cycle relies on: the interlock of release.

    Parameters
    ----------
    then
        Where they stood when the cycle ran.
    since
        Those that failed since: each counts against the cycle.
    machine
        Its machine; None where nobody knows.
    ran
        When it ran; None where nobody knows.
    none_known
        What is missing, and what to do about it, where no test of the machine is known.

    Returns
    -------
    list
        One criterion for each test, and one that is open where machine or moment are not known or there is no test.
    """
    states = {TestState.IN_DATE: CriterionState.MET, TestState.NOT_JUDGED: CriterionState.NOT_EVALUATED}
    failed = {one.test: one for one in since if one.state is TestState.FAILED}
    criteria = []
    for one in then:
        state, why = states.get(one.state, CriterionState.NOT_MET), f"{one.test}: {one.state.value}; {one.why}"
        since_then = failed.pop(one.test, None)
        if since_then is None or state is CriterionState.NOT_MET:
            criteria.append(_told(why, state, one))
        else:
            criteria.append(_failed_since(since_then))
    # A ledger tells of a test only once it was entered: what was first done after the cycle is not among those then.
    criteria += [_failed_since(one) for one in failed.values()]
    if ran is None:
        criteria.append(_told("the record does not say when the cycle ran", CriterionState.NOT_EVALUATED))
    if machine is None:
        criteria.append(_told("the record names no machine", CriterionState.NOT_EVALUATED))
    elif not then:
        criteria.append(_told(none_known, CriterionState.NOT_EVALUATED))
    return criteria


def no_calendar() -> Criterion:
    """Tell that nobody said which tests a cycle relies on and where they stand.

    Returns
    -------
    Criterion
        Not evaluated.
    """
    why = "no calendar was given: nobody says which tests have to be in date"
    return _told(why, CriterionState.NOT_EVALUATED)


def _failed_since(one: Standing) -> Criterion:
    return _told(f"{one.test}: failed since the cycle ran; {one.why}", CriterionState.NOT_MET, one)


def _told(why: str, state: CriterionState, one: Standing | None = None) -> Criterion:
    source = "calendar" if one is None else f"calendar: {one.required.source}"
    return Criterion(TEST_CRITERION, None, "", None, source, None, state, why)


class Relied(BaseModel):
    """A test a statement relied on, as a load file keeps it."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    test: str
    done: AwareDatetime | None
    """When the test was done that counted; None where none did."""
    until: AwareDatetime | None
    """Until when that counted; None where it did not."""
    state: TestState


class Statement(BaseModel):
    """The statement on a load with what it relied on; everything else in the file is left aside."""

    model_config = ConfigDict(frozen=True, extra="ignore", use_attribute_docstrings=True)

    format: Literal["patency-evidence/1", "patency-steam-evidence/1"]
    verdict: CriterionState
    machine: str | None = None
    relies_on: tuple[Relied, ...]
    """The tests; a file that does not say it cannot be looked at again."""


def relied(one: Standing) -> Relied:
    """Return what a statement keeps of a test it relies on.

    Parameters
    ----------
    one
        Where the test stood when the cycle ran.

    Returns
    -------
    Relied
        The test, when it was done and until when that counts.
    """
    return Relied(test=one.test, done=None if one.last is None else one.last.at, until=one.until, state=one.state)


def read_statement(text: str, name: str) -> Statement:
    """Read the statement of a load file.

    Parameters
    ----------
    text
        JSON as ``patency evidence judge`` and ``steam`` write it with ``--calendar``.
    name
        What the text is called in messages.

    Returns
    -------
    Statement
        What it relied on.

    Raises
    ------
    InputError
        When it is no such file or does not say what it relied on.
    """
    try:
        return Statement.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        expected = "a load file written with --calendar"
        raise InputError(f"{name}: {place}" if place else name, first["msg"], expected) from None


def aged(statement: Statement, calendar: Calendar, at: datetime) -> list[tuple[str, str, str]]:
    """Look at a statement again: what it relied on, and whether that still holds.

    Parameters
    ----------
    statement
        The statement.
    calendar
        The calendar as it is now.
    at
        The moment of the look.

    Returns
    -------
    list
        For each test its name, ``in date`` or ``no longer in date``, and why. A test done again since keeps its
        machine in date, not the statement, which relied on the result of then; that it was is told beside it.
    """
    now = {one.test: one for one in standings(calendar, at)}
    told = []
    for one in statement.relies_on:
        current = now.get(one.test)
        if current is None:
            told.append((one.test, NO_LONGER, "the calendar has no such test any more"))
        elif one.state is not TestState.IN_DATE or one.until is None:
            told.append((one.test, NO_LONGER, f"it was {one.state.value} when the cycle ran"))
        elif current.state in (TestState.FAILED, TestState.NOT_JUDGED):
            told.append((one.test, NO_LONGER, f"{current.state.value} since; {current.why}"))
        elif one.until < at:
            again = "" if current.state is TestState.OVERDUE else "; done again since"
            told.append((one.test, NO_LONGER, f"it counted until {people_moment(one.until)}{again}"))
        else:
            told.append((one.test, TestState.IN_DATE.value, f"counts until {people_moment(one.until)}"))
    return told

"""What people entered beside the record: the machine's tests of the day and the look at the load."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from patency.catalogue import LocalTime, read_described
from patency.evidence.criteria import Asked, Criterion, CriterionState, limit_fault, shown, unanswered
from patency.evidence.description import Word

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import SteamLimits
    from patency.evidence.steam.case import SteamCase
    from patency.quantities import Limit


_NOBODY = "nobody has entered it"


class Result(StrEnum):
    """How a test came out."""

    PASSED = "passed"
    FAILED = "failed"


class SterilizerTest(StrEnum):
    """A test of a sterilizer that its loads rest on."""

    STEAM_PENETRATION = "steam penetration"
    HOLLOW_LOAD = "hollow load"
    AIR_LEAKAGE = "air leakage"


class _Entered(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, use_attribute_docstrings=True)


class EnteredCheck(_Entered):
    """One test or look, as entered."""

    result: Annotated[Result, Field(strict=False)]
    at: LocalTime
    """When it was done, local time."""
    by: Word
    """Who did it."""


class EnteredChecks(_Entered):
    """The tests that stand behind a cycle, as entered; one left out was not entered."""

    format: Literal["patency-steam-checks/1"]
    machine: Word
    """The machine they were done on."""
    steam_penetration: EnteredCheck | None = None
    """The daily steam-penetration test."""
    hollow_load: EnteredCheck | None = None
    air_leakage: EnteredCheck | None = None
    load_dryness: EnteredCheck | None = None
    """Whether the load of this cycle was seen to be dry."""
    cycle_began: LocalTime | None = None
    """When the cycle began, local time: a test counts only for cycles that begin after it was done."""

    def of_no_one_cycle(self) -> EnteredChecks:
        """Take out what was entered for one cycle, where several are judged by the same entries.

        Returns
        -------
        EnteredChecks
            The tests of the machine alone: nobody has seen that each of the loads is dry, and each cycle began at a
            moment of its own. A load seen to be wet stays entered.
        """
        look = self.load_dryness
        wet = look if look is not None and look.result is Result.FAILED else None
        return self.model_copy(update={"load_dryness": wet, "cycle_began": None})


def read_entered(text: str, name: str = "checks") -> EnteredChecks:
    """Read what was entered.

    Parameters
    ----------
    text
        The YAML text.
    name
        What the text is called in messages.

    Returns
    -------
    EnteredChecks
        The checks.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(EnteredChecks, text, name)


def entered_criteria(case: SteamCase, entered: EnteredChecks | None) -> list[Criterion]:
    """Judge the tests of the machine by their results and their age, and the load by the look at it.

    Parameters
    ----------
    case
        The case.
    entered
        What was entered; None where nothing was.

    Returns
    -------
    list
        One criterion for each; not evaluated where it was not entered or is of another machine.
    """
    began = entered.cycle_began if entered else None
    criteria = []
    for test in SterilizerTest:
        check = _of_this_machine(case, entered, test.value.replace(" ", "_"))
        # What failed counts against the cycle whenever it was done.
        if isinstance(check, EnteredCheck) and check.result is Result.PASSED:
            check = _before(check, began)
        criteria.append(judge_sterilizer_test(test, check, case.limits, case.on, began))
    return [*criteria, _dryness(case, entered)]


def _before(check: EnteredCheck, began: datetime | None) -> EnteredCheck | str:
    if began is None:
        return f"{_done(check)}; nobody says when the cycle began"
    if check.at > began:
        return f"{_done(check)}, after the cycle began at {_shown(began)}"
    return check


def _of_this_machine(case: SteamCase, entered: EnteredChecks | None, name: str) -> EnteredCheck | str:
    check: EnteredCheck | None = getattr(entered, name) if entered else None
    if entered is None or check is None:
        return _NOBODY
    if case.record.description.machine != entered.machine:
        return f"it was entered for {entered.machine!r}, the record names {case.record.description.machine!r}"
    return _not_later(check, case.on)


def _not_later(check: EnteredCheck, on: date) -> EnteredCheck | str:
    if check.at.date() > on:
        return f"it was entered for {_shown(check.at)}, after the day of the decision"
    return check


def _shown(at: datetime) -> str:
    return at.isoformat(" ", "minutes")


def _done(check: EnteredCheck) -> str:
    return f"{check.result.value}, {check.by} at {_shown(check.at)}"


def _told(asked: Asked, check: EnteredCheck, state: CriterionState, source: str, why: str) -> Criterion:
    return Criterion(asked.name, None, "", None, source, None, state, f"{_done(check)}{why}")


def limit_of_test(test: SterilizerTest, limits: SteamLimits) -> Limit | None:
    """Find how long a test of a sterilizer counts.

    Parameters
    ----------
    test
        Which test.
    limits
        The site's limits.

    Returns
    -------
    Limit or None
        The longest time since the test [s]; None where the site states none.
    """
    return {
        SterilizerTest.STEAM_PENETRATION: limits.penetration_interval,
        SterilizerTest.HOLLOW_LOAD: limits.hollow_interval,
        SterilizerTest.AIR_LEAKAGE: limits.leakage_interval,
    }[test]


def judge_sterilizer_test(
    test: SterilizerTest,
    check: EnteredCheck | str | None,
    limits: SteamLimits,
    on: date,
    began: datetime | None = None,
) -> Criterion:
    """Judge a test of a sterilizer by its result and by its age when a cycle began, or at the end of a day.

    Parameters
    ----------
    test
        Which test.
    check
        What was entered; None for nothing, a sentence where it does not count.
    limits
        The site's limits: how long each test counts.
    on
        The day of the decision, on which the limit must hold.
    began
        When the cycle began that rests on it, local time; None for any cycle of the day, the last of which counts.

    Returns
    -------
    Criterion
        Not evaluated where nothing was entered that counts, or the site does not say how long it counts.
    """
    asked = Asked(f"{test.value.replace(' ', '-')} test", "")
    check = _not_later(check, on) if isinstance(check, EnteredCheck) else check or _NOBODY
    if isinstance(check, str):
        return unanswered(asked, check)
    limit = limit_of_test(test, limits)
    source = "" if limit is None else limit.source
    if check.result is Result.FAILED:
        return _told(asked, check, CriterionState.NOT_MET, source, "")
    fault = limit_fault(limit, "s", on)
    if limit is None or fault is not None:
        return _told(asked, check, CriterionState.NOT_EVALUATED, source, f"; how long it counts: {fault}")
    # Without a beginning the cycle may run at any time of the day: its end is the worst case.
    until = datetime.combine(on + timedelta(days=1), time.min) if began is None else began
    age_s = (until - check.at).total_seconds()
    old = age_s > limit.value
    when = f"before the end of {on}" if began is None else "before the cycle began"
    words = f"; {shown(age_s / 3600, 'h')} {when}, counts for {shown(limit.value / 3600, 'h')}"
    return _told(asked, check, CriterionState.NOT_MET if old else CriterionState.MET, source, words)


def _dryness(case: SteamCase, entered: EnteredChecks | None) -> Criterion:
    asked = Asked("load seen to be dry")
    check = _of_this_machine(case, entered, "load_dryness")
    began = entered.cycle_began if entered else None
    if isinstance(check, EnteredCheck) and check.result is Result.PASSED and (began is None or check.at <= began):
        check = f"{_done(check)}; " + ("nobody says when the cycle began" if began is None else "before the cycle")
    if isinstance(check, str):
        return unanswered(asked, check)
    state = CriterionState.MET if check.result is Result.PASSED else CriterionState.NOT_MET
    return _told(asked, check, state, "common practice; no record shows that a load is dry", "")

"""The calendar of tests as an interlock: what is blocked is neither planned nor said to meet its criteria."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, TypeVar, cast

from patency.evidence import (
    CriterionState,
    Evidence,
    SteamEvidence,
    aged,
    blocked,
    criteria_of_tests,
    failed_since,
    no_calendar,
    overall,
    read_calendar,
    read_statement,
    relied,
    relied_on,
    standings,
)
from patency.steps.files import read_text
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from patency.catalogue import Department
    from patency.evidence import Calendar, Criterion, CycleAgainst, Relied, Standing, SteamAgainst
    from patency.load import Plan

Judged = TypeVar("Judged", bound=Evidence | SteamEvidence)

_STRICTEST_FIRST = (CriterionState.NOT_MET, CriterionState.NOT_EVALUATED, CriterionState.MET)


class RelyingOn(Protocol):
    """Tells where the tests stand that a cycle relies on: by the calendar of a site, or by a ledger."""

    @property
    def ran(self) -> datetime | None:
        """When others than its record say that the cycle ran; None where nobody does."""

    def then(self, ran: datetime | None, machine: str | None, programme: str | None) -> list[Standing]:
        """Tell where they stood when the cycle ran; where they stand at the decision where nobody knows when."""

    def failed_since(self, ran: datetime, machine: str | None, programme: str | None) -> list[Standing]:
        """List those that failed after the cycle ran."""

    def none_known(self, machine: str | None) -> str:
        """Say what is missing where no test of a machine is known, and what to do about it."""


@dataclass(frozen=True, slots=True)
class Interlock:
    """A calendar and the moment at which it is asked.

    Parameters
    ----------
    calendar
        The calendar.
    at
        The moment, with its zone.
    ran
        When others than its record say that the cycle ran; None where nobody does.
    """

    calendar: Calendar
    at: datetime
    ran: datetime | None = None

    @classmethod
    def of(cls, file: Path, at: datetime) -> Interlock:
        """Read the calendar of a site, to be asked at a moment.

        Parameters
        ----------
        file
            The calendar.
        at
            The moment, with its zone.

        Returns
        -------
        Interlock
            Both.

        Raises
        ------
        InputErrors
            With every fault of the file.
        """
        return cls(read_calendar(read_text(file), str(file)), at)

    def then(self, ran: datetime | None, machine: str | None, programme: str | None) -> list[Standing]:
        """Tell where the tests a cycle relies on stood when it ran.

        Parameters
        ----------
        ran
            When it ran; None for the moment of the decision.
        machine
            Its machine; None where nobody knows.
        programme
            Key of its programme; None where nobody knows.

        Returns
        -------
        list
            In the order of the calendar.
        """
        return relied_on(self.calendar, ran or self.at, machine, programme)

    def failed_since(self, ran: datetime, machine: str | None, programme: str | None) -> list[Standing]:
        """List the tests a cycle relies on that failed after it ran.

        Parameters
        ----------
        ran
            When it ran.
        machine
            Its machine; None where nobody knows.
        programme
            Key of its programme; None where nobody knows.

        Returns
        -------
        list
            In the order of the calendar.
        """
        return failed_since(self.calendar, ran, self.at, machine, programme)

    def none_known(self, machine: str | None) -> str:
        """Say what is missing where no test of a machine is known, and what to do about it.

        Parameters
        ----------
        machine
            The machine.

        Returns
        -------
        str
            One line.
        """
        return f"no test in the calendar blocks {machine}: enter which tests it needs, and when each was done last"


def calendar_standing(file: Path, at: datetime) -> list[Standing]:
    """Tell where the tests of a calendar stand.

    Parameters
    ----------
    file
        The calendar.
    at
        The moment, with its zone.

    Returns
    -------
    list
        In the order of the calendar.

    Raises
    ------
    InputErrors
        With every fault of the file.
    """
    return standings(read_calendar(read_text(file), str(file)), at)


@dataclass(frozen=True, slots=True)
class CycleTests:
    """What a cycle relies on, as asked of a calendar.

    Parameters
    ----------
    criteria
        One for each test, or one that is open.
    relies_on
        The tests; None where no calendar was given.
    """

    criteria: tuple[Criterion, ...]
    relies_on: tuple[Relied, ...] | None


def tests_of_cycle(
    interlock: RelyingOn | None, started: datetime | None, machine: str | None, programme: str | None
) -> CycleTests:
    """Ask which tests a cycle relies on and where they stood when it ran.

    Parameters
    ----------
    interlock
        Where the tests stand. They count as they stood when the record began or when others say that the cycle ran,
        whichever leaves less in date: a record's clock can be wrong. At the decision where nobody says when it ran.
        None where nobody told: then it is not evaluated whether they are in date.
    started
        When the record began; None where it does not say.
    machine
        The machine the record names; None where it names none.
    programme
        Key of the programme; None where nobody knows.

    Returns
    -------
    CycleTests
        The criteria and what is relied on.
    """
    if interlock is None:
        return CycleTests((no_calendar(),), None)
    moments = [one for one in (started, interlock.ran) if one is not None]
    asked = [_asked_at(interlock, ran, machine, programme) for ran in moments or (None,)]
    return min(asked, key=lambda one: _STRICTEST_FIRST.index(overall(each.state for each in one.criteria)))


def _asked_at(interlock: RelyingOn, ran: datetime | None, machine: str | None, programme: str | None) -> CycleTests:
    then = interlock.then(ran, machine, programme)
    since = [] if ran is None else interlock.failed_since(ran, machine, programme)
    return CycleTests(
        tuple(criteria_of_tests(then, since, machine, ran, interlock.none_known(machine))),
        tuple(relied(one) for one in then),
    )


def judged_with_tests(judged: Judged, interlock: RelyingOn | None, programme: str | None) -> Judged:
    """Add to the evidence of a cycle the tests it relied on.

    Parameters
    ----------
    judged
        The evidence.
    interlock
        Where the tests stand, as in `tests_of_cycle`.
    programme
        Key of the programme; None where nobody knows.

    Returns
    -------
    Judged
        The same with one criterion more for each test, the verdict that follows, and what it relies on.
    """
    asked: CycleTests = tests_of_cycle(interlock, judged.started, judged.machine, programme)
    criteria = (*judged.criteria, *asked.criteria)
    verdict = overall(one.state for one in criteria)
    update = {"criteria": criteria, "verdict": verdict, "relies_on": asked.relies_on}
    return cast("Judged", judged.model_copy(update=update))


def asked_of_tests(judged: Judged, against: CycleAgainst | SteamAgainst, interlock: RelyingOn | None) -> Judged:
    """Ask of a cycle that was judged against a load which tests it relied on; of one judged by itself nothing is asked.

    Parameters
    ----------
    judged
        The evidence.
    against
        What the cycle was judged against.
    interlock
        Where the tests stand, as in `tests_of_cycle`.

    Returns
    -------
    Judged
        As `judged_with_tests`; the same where no programme was given, and then the verdict is not met anyway.
    """
    if against.programme is None:
        return judged
    return judged_with_tests(judged, interlock, against.programme_key)


@dataclass(frozen=True, slots=True)
class InDate:
    """A department without what is blocked.

    Parameters
    ----------
    department
        The department.
    left_out
        What was taken out and why, one line each.
    """

    department: Department
    left_out: tuple[str, ...]


def department_in_date(department: Department, interlock: Interlock) -> InDate:
    """Take out of a department the machines and programmes that are blocked.

    Parameters
    ----------
    department
        The department.
    interlock
        The calendar and the moment of the planning.

    Returns
    -------
    InDate
        What is left to plan with.
    """
    block = blocked(standings(interlock.calendar, interlock.at))
    machines = {
        name: machine.model_copy(
            update={"programmes": {key: of for key, of in machine.programmes.items() if key not in block.programmes}}
        )
        for name, machine in department.machines.items()
        if name not in block.machines
    }
    left_out = [
        f"{kind} {name} is blocked: {reason}"
        for kind, names, known in (
            ("machine", block.machines, department.machines),
            ("programme", block.programmes, department.programmes),
        )
        for name, reasons in names.items()
        if name in known
        for reason in reasons
    ]
    return InDate(department.model_copy(update={"machines": machines}), tuple(left_out))


def blocked_at(interlock: Interlock, folder: Path, plan: Plan) -> list[str]:
    """Say what was not planned with because a test blocks it, and which loads would start after a test ran out.

    Parameters
    ----------
    interlock
        The calendar and the moment of the planning, in the zone of the plan's local times.
    folder
        The department's folder.
    plan
        The plan.

    Returns
    -------
    list
        One line for each; empty where nothing is blocked all day.
    """
    lines = list(department_in_date(read_site(folder).department, interlock).left_out)
    for load in plan.loads:
        starts = load.starts.replace(tzinfo=interlock.at.tzinfo)
        lines += [
            f"load {load.id} must not start at {load.starts:%H:%M}: {one.test}: {one.why}"
            for one in relied_on(interlock.calendar, starts, load.machine, load.programme)
            if not one.holds
        ]
    return lines


def aged_statement(file: Path, calendar: Path, at: datetime) -> list[tuple[str, str, str]]:
    """Look at the statement of a load file again.

    Parameters
    ----------
    file
        The load file as JSON.
    calendar
        The calendar as it is now.
    at
        The moment of the look.

    Returns
    -------
    list
        For each test relied on its name, whether it is in date, and why.

    Raises
    ------
    InputErrors
        With every fault of either file.
    """
    statement = read_statement(read_text(file), str(file))
    return aged(statement, read_calendar(read_text(calendar), str(calendar)), at)

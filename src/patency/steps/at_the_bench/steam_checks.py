"""What people enter beside the record of a sterilizer: its tests of the day, and the look at the load's dryness."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from patency.evidence import (
    EnteredCheck,
    EnteredChecks,
    SterilizerTest,
    judge_sterilizer_test,
    limit_of_test,
)
from patency.ledger import Kind, LoadKind, Machine, Refused, Role, TestMachine
from patency.steps.at_the_bench.machine_tests import load_began
from patency.steps.at_the_bench.permission import CLEAN, not_permitted
from patency.steps.at_the_bench.seen_at_unloading import dry_check_of
from patency.steps.at_the_bench.sterilizing import steam_choice
from patency.steps.at_the_bench.workplace import hold

if TYPE_CHECKING:
    from datetime import date

    from patency.evidence import Criterion
    from patency.ledger import Circumstances, Command, LoadRecord
    from patency.steps.at_the_bench.workplace import Workplace

_TESTERS = CLEAN | {Role.ENGINEER}


@dataclass(frozen=True, slots=True)
class LastTest:
    """The last test of one sort of one sterilizer.

    Parameters
    ----------
    machine, test
        Which test of which sterilizer.
    check
        What was entered last; None where nothing was.
    until
        Until when it counts; None where nothing was entered or the site does not say how long.
    criterion
        Whether a load that is decided about on that day can rest on it, and why not.
    """

    machine: str
    test: SterilizerTest
    check: EnteredCheck | None
    until: datetime | None
    criterion: Criterion


def last_steam_tests(workplace: Workplace, on: date) -> tuple[LastTest, ...]:
    """List every test of every sterilizer as it was entered last.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    on
        The day, at whose end a test still has to count.

    Returns
    -------
    tuple[LastTest, ...]
        By sterilizer, each test once.
    """
    return tuple(
        _last(workplace, machine, test, check, on)
        for machine in steam_choice(workplace).machines
        for test, check in _tests_of(workplace, machine, None).items()
    )


def _last(workplace: Workplace, machine: str, test: SterilizerTest, check: EnteredCheck | None, on: date) -> LastTest:
    limits = workplace.department.limits.steam
    until = None if check is None else _until(workplace, test, check.at)
    return LastTest(machine, test, check, until, judge_sterilizer_test(test, check, limits, on))


def _until(workplace: Workplace, test: SterilizerTest, at: datetime) -> datetime | None:
    counts = limit_of_test(test, workplace.department.limits.steam)
    return None if counts is None else at + timedelta(seconds=counts.value)


def _tests_of(workplace: Workplace, machine: str, began: datetime | None) -> dict[SterilizerTest, EnteredCheck | None]:
    """List the last test of each sort: for a cycle the last before it began, or one that failed since."""
    found: dict[SterilizerTest, EnteredCheck | None] = dict.fromkeys(SterilizerTest)
    names = {one.value: one for one in SterilizerTest}
    for event in workplace.ledger.story(Kind.MACHINE, machine, event="machine tested"):
        told, at = event["what"], datetime.fromisoformat(event["at"])
        later = began is not None and at > began
        if told["test"] not in names or (later and told["passed"] and found[names[told["test"]]] is not None):
            continue
        found[names[told["test"]]] = EnteredCheck.model_validate({
            "result": "passed" if told["passed"] else "failed",
            "at": _local(at, began),
            "by": event["who"]["person"],
        })  # fmt: skip
    return found


def _local(at: datetime, beside: datetime | None) -> datetime:
    """Return a moment as the clock showed it, by the offset in force at another moment where there is one."""
    return (at if beside is None else at.astimezone(beside.tzinfo)).replace(tzinfo=None)


def note_steam_test(
    workplace: Workplace, machine: str, test: str, verdict: str, around: Circumstances
) -> Refused | None:
    """Write down how a test of a sterilizer came out; one that is not passed holds the sterilizer.

    Until it is passed again, and two people lift the hold, nothing starts in it and nothing of it is released.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    machine
        The sterilizer.
    test
        Which of :class:`~patency.evidence.SterilizerTest`.
    verdict
        ``met`` or ``not met``.
    around
        Who, when, where, under which key.

    Returns
    -------
    Refused or None
        Why it was not written; None where it was.
    """
    if workplace.did(around):
        return None
    where, found = f"machine {machine}", workplace.ledger.find(Machine, machine)
    if found is None or found.kind is not LoadKind.STEAM:
        return Refused.because(where, "is not known", "a sterilizer that was enrolled")
    if test not in {*SterilizerTest}:
        return Refused.because(where, f"has no test {test!r}", ", ".join(SterilizerTest))
    if verdict not in {"met", "not met"}:
        return Refused.because(where, f"verdict {verdict!r}", "met or not met")
    passed = verdict == "met"
    due = _until(workplace, SterilizerTest(test), around.at)
    commands: list[Command] = [TestMachine(machine=machine, test=test, passed=passed, due=due)]
    if not passed:
        commands.append(hold(around, Kind.MACHINE, machine, f"test not passed: {test}"))
    return not_permitted(workplace, around, _TESTERS) or workplace.write(around, commands)


def steam_checks_of(workplace: Workplace, record: LoadRecord) -> EnteredChecks:
    """Gather what was entered for a load: the last tests of its sterilizer, and the look at it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    record
        The load.

    Returns
    -------
    EnteredChecks
        What nobody entered is left out, and is not evaluated.
    """
    began = load_began(workplace, record)
    found = _tests_of(workplace, record.machine, began)
    tests = {test.value.replace(" ", "_"): check for test, check in found.items()}
    return EnteredChecks(
        format="patency-steam-checks/1",
        machine=record.machine,
        load_dryness=dry_check_of(workplace, record.load),
        cycle_began=None if began is None else _local(began, None),
        **tests,
    )

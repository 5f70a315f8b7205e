"""The tests of a machine as the ledger has them, for a cycle that relies on them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from patency.evidence import Blocks, RequiredTest, Standing, Subject, TestDone, TestResult, TestState
from patency.ledger import Kind
from patency.texts import people_moment

if TYPE_CHECKING:
    from datetime import tzinfo

    from patency.ledger import LoadRecord
    from patency.steps.at_the_bench.workplace import Workplace


@dataclass(frozen=True, slots=True)
class MachineTests:
    """Every test of one machine that was entered, and when the load in question was started.

    Parameters
    ----------
    machine
        The machine.
    entered
        The tests as the ledger exports them, in order.
    started
        When the load was started; None where it was not.
    """

    machine: str
    entered: tuple[dict[str, Any], ...]
    started: datetime | None

    @property
    def ran(self) -> datetime | None:
        """When the load was started, where its record does not say."""
        return self.started

    @property
    def zone(self) -> tzinfo:
        """In which the ledger tells times."""
        return UTC if self.started is None else self.started.tzinfo or UTC

    @property
    def known(self) -> tuple[int, ...]:
        """The events it rests on: what was judged before with fewer is to be judged anew."""
        return tuple(event["seq"] for event in self.entered)

    def then(self, ran: datetime | None, machine: str | None, programme: str | None) -> list[Standing]:
        """Tell where each test stood when the cycle ran.

        Parameters
        ----------
        ran
            When it ran; None for what was entered last.
        machine
            The machine the record names; that of the load is asked about, whatever it says.
        programme
            The programme; no test of the ledger is of one.

        Returns
        -------
        list
            By test; one that was first done later is not there.
        """
        del machine, programme
        done = sorted((event for event in self.entered if ran is None or _at(event) <= ran), key=_at)
        last = {event["what"]["test"]: event for event in done}
        return [self._stands(event, ran or _at(done[-1])) for event in last.values()]

    def failed_since(self, ran: datetime, machine: str | None, programme: str | None) -> list[Standing]:
        """List the tests that failed after the cycle ran.

        Parameters
        ----------
        ran
            When it ran.
        machine
            As above.
        programme
            As above.

        Returns
        -------
        list
            Each failure, also where it was passed again.
        """
        del machine, programme
        later = [event for event in self.entered if _at(event) > ran and not event["what"]["passed"]]
        return [self._stands(event, _at(event)) for event in later]

    def none_known(self, machine: str | None) -> str:
        """Say what is missing where no test of the machine was entered before the cycle, and what to do about it.

        Parameters
        ----------
        machine
            The machine the record names; that of the load is asked about, whatever it says.

        Returns
        -------
        str
            One line.
        """
        del machine
        later = ", ".join(dict.fromkeys(event["what"]["test"] for event in self.entered))
        if later:
            return f"{later} of {self.machine} was first done after the cycle began and does not count for it: hold it"
        return (
            f"no test of {self.machine} is on record, such as its daily test: whoever did it enters result, moment and "
            "until when it counts; where none was done before the cycle, it is not met"
        )

    def _stands(self, event: dict[str, Any], at: datetime) -> Standing:
        what, done_at = event["what"], _at(event)
        name = what["test"]
        due = datetime.fromisoformat(what["due"]) if what.get("due") else None
        passed = what["passed"]
        result = TestResult.PASSED if passed else TestResult.FAILED
        done = TestDone(test=name, at=done_at, by=event["who"]["person"], result=result)
        required = RequiredTest(
            of=Subject.MACHINE,
            name=self.machine,
            interval=timedelta(0) if due is None else due - done_at,
            blocks=Blocks(machines=(self.machine,)),
            source="entered in the ledger",
        )
        told = f"{result.value} at {people_moment(done_at)}, {done.by}"
        if not passed:
            return Standing(name, required, done, TestState.FAILED, None, told)
        if due is None:
            return Standing(name, required, done, TestState.NOT_JUDGED, None, f"{told}; nobody says how long it counts")
        counts = f"{told}; counts until {people_moment(due)}"
        return Standing(name, required, done, TestState.OVERDUE if due < at else TestState.IN_DATE, due, counts)


def _at(event: dict[str, Any]) -> datetime:
    return datetime.fromisoformat(event["at"])


def machine_tests_of(workplace: Workplace, record: LoadRecord) -> MachineTests:
    """Gather the tests of the machine a load ran in.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    record
        The load.

    Returns
    -------
    MachineTests
        All that were ever entered.
    """
    tested = workplace.ledger.story(Kind.MACHINE, record.machine, event="machine tested")
    return MachineTests(record.machine, tuple(tested), load_began(workplace, record))


def load_began(workplace: Workplace, record: LoadRecord) -> datetime | None:
    """Tell when a load was started.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    record
        The load.

    Returns
    -------
    datetime or None
        With its zone; None where it was not.
    """
    started = workplace.ledger.story(Kind.LOAD, record.load, event="load started")
    return _at(started[-1]) if started else None

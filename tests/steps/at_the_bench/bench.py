"""The demo department at the start of its day, with hands that do one step after the other."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING, TypeVar

from patency.catalogue import Placing
from patency.demo.bench_history import write_history
from patency.ledger import Circumstances, Confirmation, InstrumentSet, Refused, Who, open_ledger
from patency.load import Load, Plan
from patency.steps import (
    Loading,
    Workplace,
    all_seen,
    begin_load,
    bind_pod,
    confirm_step,
    dismantle_set,
    end_load,
    note_looked,
    receive_set,
    show_before_start,
    start_load,
)
from tests.demo.larkmere import LOADS, hand_made_load, larkmere

if TYPE_CHECKING:
    from patency.ledger import Ledger

T = TypeVar("T")
START = datetime(2026, 5, 12, 13, 20, tzinfo=UTC)


@cache
def plan_of_day() -> Plan:
    """Take the four loads put together by hand as the day's plan."""
    department = larkmere()
    assert department.day is not None
    return Plan(
        site=department.site,
        day=department.day.date,
        loads=tuple(_with_holders(hand_made_load(key)) for key in LOADS),
        loads_at_least=4,
        proven_fewest=False,
        objective={},
        bound={},
    )


def _with_holders(load: Load) -> Load:
    """Name the holder of each optic, as a planned load does."""
    pieces = tuple(
        piece.model_copy(update={"position": "optic_holder"}) if piece.placing is Placing.OPTIC_HOLDER else piece
        for piece in load.pieces
    )
    return load.model_copy(update={"pieces": pieces})


def begin(place: str) -> None:
    """Write what happened before the day."""
    ledger = open_ledger(place, create=True)
    write_history(ledger, larkmere(), datetime(2026, 5, 12, 23, 0, tzinfo=UTC))
    ledger.close()


class Hands:
    """People who work at the bench, a few seconds from one step to the next."""

    def __init__(self, ledger: Ledger) -> None:
        self.work = Workplace(ledger, larkmere(), plan_of_day())
        self.ledger = ledger
        self.at = START
        self.number = 0

    def around(self, who: str = "loader-1", second: str | None = None, key: str | None = None) -> Circumstances:
        self.at += timedelta(seconds=5)
        self.number += 1
        return Circumstances(
            command=key or f"hand-{self.number}",
            who=Who(person=who, confirmed=Confirmation.BADGE),
            second=Who(person=second, confirmed=Confirmation.BADGE) if second else None,
            at=self.at,
            clock="station clock",
            recorded=self.at,
            station="sink 1",
        )

    def set_now(self, name: str) -> InstrumentSet:
        found = self.ledger.find(InstrumentSet, name)
        assert found is not None
        return found

    def ready(self, *names: str) -> None:
        """Receive sets and take them apart, each with a pod of its own."""
        for name in names:
            done(receive_set(self.work, name, self.around()))
            done(bind_pod(self.work, name, f"pod of {name}", self.around()))
            done(dismantle_set(self.work, name, all_seen(self.set_now(name)), self.around()))

    def load_all(self, load_id: str, who: str = "loader-1", stop_after: int | None = None) -> Loading:
        """Confirm the steps of a load one after the other."""
        shown = done(begin_load(self.work, load_id, self.around(who)))
        count = 0
        while shown.now is not None and (stop_after is None or count < stop_after):
            shown = done(confirm_step(self.work, load_id, shown.now.key, (), self.around(who)))
            count += 1
        return shown

    def run(self, load_id: str) -> None:
        """Start a loaded load and take it out of its machine."""
        before = done(show_before_start(self.work, load_id))
        scans = (before.carrier, before.machine, before.programme)
        done(start_load(self.work, load_id, scans, before.checks, self.around()))
        self.at += timedelta(minutes=66)
        done(end_load(self.work, load_id, completed=True, around=self.around("assembler-1")))

    def looked(self, load_id: str) -> None:
        done(note_looked(self.work, load_id, self.around("assembler-1")))


def done(outcome: T | Refused) -> T:
    """Return what a step gave, or say why it was refused."""
    assert not isinstance(outcome, Refused), outcome.text
    return outcome


def refusal(outcome: object) -> str:
    """Return why a step was refused."""
    assert isinstance(outcome, Refused), outcome
    return outcome.text

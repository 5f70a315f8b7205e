"""The board: where every set stands, how long it has waited, and which are late."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, Kind, LoadRecord, LoadState, SetState

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.ledger import Ledger
    from patency.load import Load, Plan

_BEFORE_WASH = (
    SetState.ISSUED,
    SetState.IN_USE,
    SetState.USED,
    SetState.RECEIVED,
    SetState.DISMANTLED,
    SetState.LOADED,
    SetState.REWASH,
    SetState.MISSING_PART,
)
_TIGHT = timedelta(minutes=30)


class Urgency(enum.StrEnum):
    """How a set stands to the time by which its wash has to be over."""

    LATE = "late"
    TIGHT = "tight"
    IN_TIME = "in time"
    NO_NEED = "nothing presses"


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One set on the board.

    Parameters
    ----------
    set_key
        Which.
    state
        Where it stands.
    since
        Since when; None where nothing happened to it yet.
    washed_by
        When its wash has to be over; None where nothing presses.
    urgency
        How it stands to that.
    load
        The load it is in or planned for; None where there is none.
    load_starts
        When that load is planned to start.
    case
        The pseudonymous key of the case it was last issued to.
    holds
        Why nothing of it may move; empty where it may.
    """

    set_key: str
    state: SetState
    since: datetime | None
    washed_by: datetime | None
    urgency: Urgency
    load: str | None
    load_starts: datetime | None
    case: str | None
    holds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """All sets.

    Parameters
    ----------
    lines
        The most urgent first.
    at
        The moment it shows.
    """

    lines: tuple[BoardLine, ...]
    at: datetime

    def late(self) -> int:
        """Count the sets that are late.

        Returns
        -------
        int
            How many.
        """
        return sum(line.urgency is Urgency.LATE for line in self.lines)


def board_of(ledger: Ledger, department: Department, plan: Plan, now: datetime) -> Board:
    """Say where every set stands and which are late.

    A set is late when the time by which its wash has to be over cannot be kept any more: less of it is left than its
    programme takes, or it has passed.

    Parameters
    ----------
    ledger
        What happened.
    department
        The department, with the times its sets have to be washed by.
    plan
        The plan of the day.
    now
        The moment.

    Returns
    -------
    Board
        Late ones first, then by the time they have to be washed by.
    """
    waiting = {one.set: one for one in department.day.waiting} if department.day else {}
    over = {one.load for one in ledger.all_of(LoadRecord) if one.state is not LoadState.PLANNED}
    planned = {name: load for load in plan.loads for name in load.sets}
    lines = []
    for found in ledger.all_of(InstrumentSet):
        wait = waiting.get(found.set_key)
        planned_in = planned.get(found.set_key)
        # Where that load ran and the set waits, it waits for another; how long that takes is not shorter.
        load = None if planned_in and planned_in.id in over and found.load != planned_in.id else planned_in
        washed_by = zoned(wait.washed_by) if wait and wait.washed_by else None
        told = ledger.story(Kind.SET, found.set_key, last=1) if found.moved else []
        lines.append(
            BoardLine(
                set_key=found.set_key,
                state=found.state,
                since=datetime.fromisoformat(told[0]["at"]) if told else None,
                washed_by=washed_by,
                urgency=_urgency(found.state, washed_by, planned_in, now),
                load=found.load or (load.id if load and found.state in _BEFORE_WASH else None),
                load_starts=zoned(load.starts) if load and found.state in _BEFORE_WASH else None,
                case=found.case,
                holds=tuple(hold.reason for hold in ledger.holds(Kind.SET, found.set_key)),
            )
        )
    order = list(Urgency)
    last = datetime.max.replace(tzinfo=UTC)
    lines.sort(key=lambda line: (order.index(line.urgency), line.washed_by or last, line.set_key))
    return Board(tuple(lines), now)


def zoned(local: datetime) -> datetime:
    """Give a local time of a plan or a department its zone: the bench's clock runs in UTC.

    Parameters
    ----------
    local
        Without a zone.

    Returns
    -------
    datetime
        The same in UTC.
    """
    return local.replace(tzinfo=UTC)


def _urgency(state: SetState, washed_by: datetime | None, load: Load | None, now: datetime) -> Urgency:
    if washed_by is None or state not in _BEFORE_WASH:
        return Urgency.NO_NEED
    takes = load.ends - load.starts if load else timedelta()
    spare = washed_by - now - takes
    if spare < timedelta():
        return Urgency.LATE
    return Urgency.TIGHT if spare < _TIGHT else Urgency.IN_TIME

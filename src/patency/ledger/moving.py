"""Whether a set may go to its next state, and its last transition be taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import checks
from patency.ledger.events import MoveCorrected, SetMoved
from patency.ledger.fields import LoadKind
from patency.ledger.refusing import Objection, Refused
from patency.ledger.states import (
    BY_LOAD,
    CAN_BE_UNDONE,
    GOES_BACK,
    HELD_MAY_ENTER,
    Count,
    SetState,
    demand_of,
    next_states,
)
from patency.ledger.things import InstrumentSet, LoadRecord, LoadState

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger.commands import CorrectMove, MoveSet
    from patency.ledger.events import Payload
    from patency.ledger.fields import Circumstances
    from patency.ledger.state import State

LOAD_OF = {SetState.LOADED: LoadKind.WASH, SetState.STEAM_LOADED: LoadKind.STEAM}
_TO_THE_SIDE = frozenset(
    {
        SetState.QUARANTINE,
        SetState.REPAIR,
        SetState.LOAN_RETURN,
        SetState.RETIRED,
        SetState.REWASH,
        SetState.MISSING_PART,
    }
)


def move_set(state: State, command: MoveSet, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a set goes to its next state."""
    moved = state.find(InstrumentSet, command.set_key)
    if moved is None:
        return Refused((Objection(f"set {command.set_key}", "is not known", "a set that was enrolled"),))
    legal = tuple(_legal(moved, command.to))
    if legal:
        return Refused(legal)
    holds = checks.holds_on_set(state, moved)
    objections = (
        *_asked_of_people(state, moved, command, around),
        *_holds(moved, command.to, holds),
        *_pieces(state, moved, command, around),
        *_load(state, moved, command),
        *_issue(moved, command, around),
    )
    if objections:
        return Refused(objections)
    asked = command.model_dump(exclude={"do"})
    asked["override"] = command.override or moved.incomplete
    return (SetMoved.model_validate({**asked, "from_state": moved.state, "despite": holds}),)


def _goes_back(moved: InstrumentSet, to: SetState) -> bool:
    return moved.state in GOES_BACK and to is moved.came_from


def _legal(moved: InstrumentSet, to: SetState) -> Iterator[Objection]:
    where = f"set {moved.set_key}"
    following = next_states(moved.state, moved.came_from)
    if to not in following:
        yield Objection(where, f"is {moved.state} and cannot become {to}", ", ".join(sorted(following)) or "nothing")
    elif to in BY_LOAD and not _goes_back(moved, to):
        yield Objection(where, f"cannot be made {to} by hand", "the end or the release of its load")


def _asked_of_people(
    state: State, moved: InstrumentSet, command: MoveSet, around: Circumstances
) -> Iterator[Objection]:
    demand = demand_of(moved.state, command.to)
    yield from checks.authority(state, around, demand.roles, second=demand.second)
    if command.to in _TO_THE_SIDE and command.why is None:
        yield Objection(f"set {moved.set_key}", f"goes to {command.to} without a reason", "a reason")
    if command.to is SetState.LOAN_RETURN and not moved.loaned:
        yield Objection(f"set {moved.set_key}", "is not on loan", "a set on loan")


def _holds(moved: InstrumentSet, to: SetState, holds: tuple[str, ...]) -> Iterator[Objection]:
    if to not in HELD_MAY_ENTER or _goes_back(moved, to):
        yield from checks.held(f"set {moved.set_key}", holds)


def _pieces(state: State, moved: InstrumentSet, command: MoveSet, around: Circumstances) -> Iterator[Objection]:
    asked = demand_of(moved.state, command.to).count
    if asked is Count.PIECES:
        yield from checks.counted_now(state, moved, command.seen)
    elif command.seen:
        yield Objection(f"set {moved.set_key}", f"no count belongs to {command.to}", "a count of its own")
    if asked is Count.CLOSED:
        yield from checks.unchanged(moved)
    if asked is not Count.FACT:
        yield from checks.content(state, moved, command.override, around.at)


def _load(state: State, moved: InstrumentSet, command: MoveSet) -> Iterator[Objection]:
    where = f"set {moved.set_key}"
    if command.to not in LOAD_OF:
        if command.load is not None:
            yield Objection(where, f"no load belongs to {command.to}", "no load")
        if moved.state in LOAD_OF and moved.load and state.get(LoadRecord, moved.load).state is not LoadState.PLANNED:
            yield Objection(where, f"is in load {moved.load}, which is running", "the end of the load")
        return
    load = state.find(LoadRecord, command.load) if command.load else None
    if load is None:
        yield Objection(where, f"goes to {command.to} in no known load", "a load that was planned")
        return
    if load.kind is not LOAD_OF[command.to]:
        yield Objection(f"load {load.load}", f"is a {load.kind} load", f"a {LOAD_OF[command.to]} load")
    if load.state is not LoadState.PLANNED:
        yield Objection(f"load {load.load}", f"is {load.state}", "a load that has not started")
    if moved.set_key not in load.sets:
        yield Objection(f"load {load.load}", f"is not planned with set {moved.set_key}", "a plan that names the set")
    yield from checks.load_and_machine(state, load)


def _issue(moved: InstrumentSet, command: MoveSet, around: Circumstances) -> Iterator[Objection]:
    where = f"set {moved.set_key}"
    issued = command.to is SetState.ISSUED
    if issued != (command.case is not None):
        yield Objection(where, "is issued to a case, and only then", "the key of a case for issue, none otherwise")
    if command.to is SetState.PACKED and command.expires is None:
        yield Objection(where, "is packed without a date", "until when it may be issued")
    if issued and (moved.expires is None or moved.expires < around.at):
        until = moved.expires.isoformat() if moved.expires else "no known date"
        yield Objection(where, f"may be issued until {until}", "a set in date")


def correct_move(state: State, command: CorrectMove, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether the last transition of a set may be taken back."""
    where = f"set {command.set_key}"
    moved = state.find(InstrumentSet, command.set_key)
    if moved is None or moved.moved is None or moved.moved.seq != command.corrects:
        return Refused((Objection(where, f"event {command.corrects} is not its last transition", "its last one"),))
    last = moved.moved
    objections: list[Objection] = []
    if moved.state not in CAN_BE_UNDONE:
        objections.append(Objection(where, f"being {moved.state} cannot be taken back", "a new transition"))
    else:
        objections += checks.authority(state, around, demand_of(last.from_state, moved.state).roles)
        if moved.state in LOAD_OF and moved.load and state.get(LoadRecord, moved.load).state is not LoadState.PLANNED:
            objections.append(Objection(where, f"load {moved.load} has started", "a load that has not started"))
    if objections:
        return Refused(tuple(objections))
    return (
        MoveCorrected(
            set_key=moved.set_key,
            corrects=command.corrects,
            from_state=moved.state,
            to=last.from_state,
            why=command.why,
        ),
    )

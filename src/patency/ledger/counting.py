"""What follows from a count of an open set, and whether a piece may go to another place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import checks
from patency.ledger.events import PieceMoved, SetCounted, SetMoved
from patency.ledger.fields import Kind, Place, Where
from patency.ledger.identity import Seen
from patency.ledger.refusing import Objection, Refused
from patency.ledger.states import GOES_BACK, OPEN_STATES, WASHED_STATES, SetState, next_states
from patency.ledger.things import InstrumentSet, Piece

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger.commands import CountSet, MovePiece
    from patency.ledger.events import Payload
    from patency.ledger.fields import Circumstances
    from patency.ledger.state import State

_LEAD_DECIDES = frozenset({Where.REPAIR, Where.OWNER, Where.RETIRED})


def count_set(state: State, command: CountSet, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide what a count of an open set says: what is missing, what was found in it, where the set goes then.

    Parameters
    ----------
    state
        What is so now.
    command
        What was seen.
    around
        Who counted, when and where.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happened, or every reason against it.
    """
    where = f"set {command.set_key}"
    counted = state.find(InstrumentSet, command.set_key)
    if counted is None:
        return Refused((Objection(where, "is not known", "a set that was enrolled"),))
    objections = [
        *checks.authority(state, around, checks.HANDS),
        *checks.sightings(state, command.seen),
    ]
    if counted.state not in OPEN_STATES:
        objections.append(Objection(where, f"is {counted.state}", "a set that lies open"))
    gone = {key for key in command.seen if (piece := state.find(Piece, key)) and piece.place.where is Where.RETIRED}
    objections += [Objection(f"piece {key}", "is retired", "a piece in service") for key in sorted(gone)]
    if objections:
        return Refused(tuple(objections))
    missing = tuple(sorted(set(counted.pieces) - set(command.seen)))
    found = tuple(sorted(set(command.seen) - set(counted.pieces)))
    return (
        SetCounted(set_key=counted.set_key, seen=command.seen, missing=missing, found=found),
        *(_noticed(state, key, Place(where=Where.MISSING, key=counted.set_key), command) for key in missing),
        *(_noticed(state, key, Place(where=Where.SET, key=counted.set_key), command) for key in found),
        *_then(state, counted, missing, found),
    )


def _noticed(state: State, key: str, to: Place, command: CountSet) -> PieceMoved:
    return PieceMoved(
        piece=key,
        from_place=state.get(Piece, key).place,
        to=to,
        scanned=command.seen.get(key) is Seen.SCANNED,
        noticed=True,
        why=f"count of set {command.set_key}",
    )


def _then(state: State, counted: InstrumentSet, missing: tuple[str, ...], found: tuple[str, ...]) -> Iterator[SetMoved]:
    """Take the set aside where something is missing, and back to the wash where an unwashed piece lay in it."""
    unwashed = [key for key in found if not _washed(state, state.get(Piece, key))]
    to, why = SetState.MISSING_PART, f"missing: {', '.join(missing)}"
    if unwashed and counted.state in WASHED_STATES:
        to, why = SetState.REWASH, f"not washed and found in it: {', '.join(unwashed)}"
    elif not missing or counted.state in GOES_BACK:
        return
    if to in next_states(counted.state, counted.came_from):
        holds = checks.holds_on_set(state, counted)
        yield SetMoved(set_key=counted.set_key, from_state=counted.state, to=to, why=why, despite=holds)


def _washed(state: State, piece: Piece) -> bool:
    """Tell whether a piece went through a released wash load since it was last in use."""
    if piece.set_key is None:
        return piece.washed
    return state.get(InstrumentSet, piece.set_key).state in WASHED_STATES


def move_piece(state: State, command: MovePiece, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a piece goes to another place."""
    where = f"piece {command.piece}"
    piece = state.find(Piece, command.piece)
    if piece is None:
        return Refused((Objection(where, "is not known", "a piece that was enrolled"),))
    roles = checks.LEAD if command.to.where in _LEAD_DECIDES else checks.HANDS
    objections = [
        *checks.authority(state, around, roles),
        *_leaves(state, piece, command),
        *_arrives(state, piece, command),
        *_holds(state, piece, command.to),
    ]
    if objections:
        return Refused(tuple(objections))
    return (
        PieceMoved(
            piece=piece.piece,
            from_place=piece.place,
            to=command.to,
            scanned=command.scanned,
            result=command.result,
            why=command.why,
        ),
    )


def _holds(state: State, piece: Piece, to: Place) -> Iterator[Objection]:
    if to.where is not Where.QUARANTINE:
        holds = checks.holds_on_piece(state, piece)
        if piece.set_key is not None:
            holds += checks.holds_on(state, (Kind.SET, piece.set_key))
        yield from checks.held(f"piece {piece.piece}", holds)


def _leaves(state: State, piece: Piece, command: MovePiece) -> Iterator[Objection]:
    where = f"piece {piece.piece}"
    if command.from_place != piece.place:
        is_in, was_in = (f"{one.where} {one.key}" for one in (piece.place, command.from_place))
        yield Objection(where, f"is in {is_in} by now", f"a piece that is in {was_in}")
    if command.to == piece.place:
        yield Objection(where, f"is already in {piece.place.where} {piece.place.key}", "another place")
    if command.scanned and piece.mark is None:
        yield Objection(where, "has no mark and was reported as scanned", "an unmarked piece seen by eye")
    if piece.place.where is Where.RETIRED:
        yield Objection(where, "is retired", "a piece in service")
    if piece.set_key is not None:
        yield from _open(state, piece.set_key)
    accepted = command.result is not None and command.result.verdict == "met"
    if piece.place.where is Where.REPAIR and command.to.where is not Where.QUARANTINE and not accepted:
        yield Objection(where, "comes from repair without a test", "an acceptance test that is met")


def _arrives(state: State, piece: Piece, command: MovePiece) -> Iterator[Objection]:
    to = command.to
    if to.where is Where.MISSING:
        yield Objection(f"piece {piece.piece}", "cannot be moved to missing", "a count that does not find it")
    if to.where is not Where.SET:
        return
    into = state.find(InstrumentSet, to.key)
    if into is None:
        yield Objection(f"set {to.key}", "is not known", "a set that was enrolled")
        return
    yield from _open(state, to.key)
    yield from checks.held(f"set {to.key}", checks.holds_on_set(state, into))
    if into.state in WASHED_STATES and not _washed(state, piece):
        yield Objection(
            f"piece {piece.piece}", f"was not washed, set {to.key} was", "a piece from a released wash load"
        )


def _open(state: State, key: str) -> Iterator[Objection]:
    found = state.get(InstrumentSet, key)
    if found.state not in OPEN_STATES:
        yield Objection(f"set {key}", f"is {found.state}", "a set that lies open")

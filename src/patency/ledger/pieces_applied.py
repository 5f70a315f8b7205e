"""What is so after a piece was enrolled, moved or counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger.fields import Kind, Where
from patency.ledger.identity import Seen
from patency.ledger.rows import Row, Stay, touches
from patency.ledger.states import WASHED_STATES
from patency.ledger.things import InstrumentSet, Mark, Piece

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger import events
    from patency.ledger.events import Event
    from patency.ledger.state import State


def piece_enrolled(what: events.PieceEnrolled, state: State, event: Event) -> Iterator[Row]:
    """Let a piece be where it begins."""
    seq = event.seq
    piece = Piece(
        piece=what.piece, type_key=what.type_key, mark=what.mark, place=what.place, since=seq, doubt=seq, certain=seq
    )
    state.put(piece, seq)
    if what.mark is not None:
        state.put(Mark(mark=what.mark, piece=what.piece), seq)
    if piece.set_key is not None:
        _put_in(state, piece.set_key, piece.piece, seq)
        yield _stay(piece)
    yield from touches(seq, (Kind.PIECE, what.piece))


def _stay(piece: Piece, last: int | None = None) -> Stay:
    marked = int(piece.mark is not None)
    return Stay(piece.piece, piece.since, piece.place.key, last, piece.doubt, piece.type_key, marked)


def _put_in(state: State, set_key: str, piece: str, seq: int) -> None:
    into = state.get(InstrumentSet, set_key)
    state.put(into.model_copy(update={"pieces": tuple(sorted({*into.pieces, piece}))}), seq)


def _take_out(state: State, set_key: str, piece: str, seq: int) -> None:
    out_of = state.get(InstrumentSet, set_key)
    state.put(out_of.model_copy(update={"pieces": tuple(key for key in out_of.pieces if key != piece)}), seq)


def piece_moved(what: events.PieceMoved, state: State, event: Event) -> Iterator[Row]:
    """Let a piece be in another place, and in that one only."""
    before, seq = state.get(Piece, what.piece), event.seq
    washed = before.washed and before.place.where is not Where.REPAIR
    if before.set_key is not None:
        washed = state.get(InstrumentSet, before.set_key).state in WASHED_STATES
        _take_out(state, before.set_key, before.piece, seq)
        yield _stay(before, last=seq)
    # Nobody saw a piece go that was only noticed: it may have been here ever since it was last certain to be elsewhere.
    changes = {
        "place": what.to,
        "since": seq,
        "doubt": before.certain if what.noticed else seq,
        "certain": seq if what.scanned or not what.noticed else before.certain,
        "washed": washed,
    }
    after = before.model_copy(update=changes)
    state.put(after, seq)
    if after.set_key is not None:
        _put_in(state, after.set_key, after.piece, seq)
        yield _stay(after)
    sets = ((Kind.SET, place.key) for place in (before.place, what.to) if place.where is Where.SET)
    yield from touches(seq, (Kind.PIECE, what.piece), *sets)


def take_note(state: State, seen: dict[str, Seen], seq: int) -> tuple[str, ...]:
    """Take note of every mark that was read, and name the pieces.

    Parameters
    ----------
    state
        What is so; changed.
    seen
        The pieces, each with how it was seen.
    seq
        The event.

    Returns
    -------
    tuple[str, ...]
        Keys of the pieces that were scanned.
    """
    scanned = tuple(sorted(key for key, how in seen.items() if how is Seen.SCANNED))
    for key in scanned:
        state.put(state.get(Piece, key).model_copy(update={"certain": seq}), seq)
    return scanned


def set_counted(what: events.SetCounted, state: State, event: Event) -> Iterator[Row]:
    """Keep what lay in a set when it was counted."""
    counted = state.get(InstrumentSet, what.set_key)
    scanned = tuple(sorted(key for key, how in what.seen.items() if how is Seen.SCANNED))
    changes = {"counted": tuple(sorted(what.seen)), "counted_at": event.seq, "scanned": scanned}
    state.put(counted.model_copy(update=changes), event.seq)
    here = {key: how for key, how in what.seen.items() if key not in what.found}
    take_note(state, here, event.seq)  # what was found gets its own event
    yield from touches(event.seq, (Kind.SET, what.set_key))

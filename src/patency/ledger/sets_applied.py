"""What is so after a set came to another state, or a transition was taken back."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from patency.ledger.fields import Kind
from patency.ledger.loads_applied import LEAVES_LOAD, enter_load, last_move, leave_load
from patency.ledger.pieces_applied import take_note
from patency.ledger.rows import Row, Use, touches
from patency.ledger.states import GOES_BACK, SetState
from patency.ledger.things import InstrumentSet, LoadRecord, LoadState

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger import events
    from patency.ledger.events import Event
    from patency.ledger.state import State


def set_moved(what: events.SetMoved, state: State, event: Event) -> Iterator[Row]:
    """Let a set be in another state."""
    before, seq = state.get(InstrumentSet, what.set_key), event.seq
    changes: dict[str, object] = {
        "state": what.to,
        "came_from": before.state if what.to in GOES_BACK else None,
        "incomplete": what.override,
        "moved": last_move(before, seq),
    }
    if what.seen:
        scanned = take_note(state, what.seen, seq)
        changes |= {"counted": tuple(sorted(what.seen)), "counted_at": seq, "scanned": scanned}
    if what.to is SetState.PACKED:
        changes["expires"] = what.expires
    if what.to is SetState.ISSUED:
        changes["case"] = what.case
    out_of_quarantine = before.state is SetState.QUARANTINE and what.to is not before.came_from
    if what.to in LEAVES_LOAD or out_of_quarantine:
        changes["load"] = None
    if what.load is not None:
        changes["load"] = what.load
    after = before.model_copy(update=changes)
    state.put(after, seq)
    yield from _way(state, before, after, seq)


def _way(state: State, before: InstrumentSet, after: InstrumentSet, seq: int) -> Iterator[Row]:
    """Tell the trace of loads and cases that a set enters or leaves."""
    touched = [(Kind.SET, after.set_key)]
    if after.load is not None and after.load != before.load:
        touched.append((Kind.LOAD, after.load))
        yield enter_load(state, after, seq)
    elif (
        before.load is not None and after.load is None and state.get(LoadRecord, before.load).state is LoadState.PLANNED
    ):
        touched.append((Kind.LOAD, before.load))
        yield leave_load(state, before, seq)
    if after.state is SetState.ISSUED and after.case is not None:
        touched.append((Kind.CASE, after.case))
        yield Use(after.case, after.set_key, seq, None, None, json.dumps(after.scanned))
    elif after.state is SetState.IN_USE and before.case is not None and before.moved is not None:
        touched.append((Kind.CASE, before.case))
        yield Use(before.case, after.set_key, before.moved.seq, seq, None, json.dumps(before.scanned))
    yield from touches(seq, *touched)


def move_corrected(what: events.MoveCorrected, state: State, event: Event) -> Iterator[Row]:
    """Let a set be as it was before its last transition."""
    wrong, seq = state.get(InstrumentSet, what.set_key), event.seq
    if wrong.moved is None:
        raise KeyError("set", what.set_key)
    last = wrong.moved
    changes = {
        "state": last.from_state,
        "came_from": last.came_from,
        "load": last.load,
        "case": last.case,
        "expires": last.expires,
        "moved": None,
    }
    state.put(wrong.model_copy(update=changes), seq)
    touched = [(Kind.SET, what.set_key)]
    if wrong.load is not None and wrong.load != last.load:
        touched.append((Kind.LOAD, wrong.load))
        yield leave_load(state, wrong, seq)
    if wrong.state is SetState.ISSUED and wrong.case is not None:
        touched.append((Kind.CASE, wrong.case))
        yield Use(wrong.case, wrong.set_key, last.seq, None, seq, json.dumps(wrong.scanned))
    yield from touches(seq, *touched)

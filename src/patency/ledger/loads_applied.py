"""What is so after a load was planned, started, ended or released."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from patency.ledger.fields import Kind, LoadKind
from patency.ledger.rows import Passage, Row, Run, touches
from patency.ledger.states import SetState
from patency.ledger.things import Inside, InstrumentSet, LoadRecord, LoadState, Moved

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger import events
    from patency.ledger.events import Event
    from patency.ledger.state import State

LEAVES_LOAD = frozenset({SetState.REWASH, SetState.WASH_RELEASED, SetState.STERILE_RELEASED})


def last_move(before: InstrumentSet, seq: int) -> Moved:
    """Keep what was so before a transition, for a correction.

    Parameters
    ----------
    before
        The set as it was.
    seq
        The event of the transition.

    Returns
    -------
    Moved
        The transition and what was so before it.
    """
    return Moved(
        seq=seq,
        from_state=before.state,
        came_from=before.came_from,
        load=before.load,
        case=before.case,
        expires=before.expires,
    )


def passage(load: LoadRecord, set_key: str, inside: Inside, withdrawn: int | None = None) -> Passage:
    """Say that a set is in a load or went through it.

    Parameters
    ----------
    load
        The load as it is now.
    set_key
        Which set.
    inside
        When it came in, what was scanned, whether it was released.
    withdrawn
        The event that took it out before the start; None where there is none.

    Returns
    -------
    Passage
        The row of the trace.
    """
    return Passage(
        load.load,
        set_key,
        inside.seq,
        load.kind.value,
        load.machine,
        load.ended,
        inside.released,
        withdrawn,
        json.dumps(inside.scanned),
    )


def enter_load(state: State, entering: InstrumentSet, seq: int) -> Passage:
    """Put a set into the load it names.

    Parameters
    ----------
    state
        What is so; changed.
    entering
        The set as it is now.
    seq
        The event.

    Returns
    -------
    Passage
        The row of the trace.
    """
    load = state.get(LoadRecord, entering.load or "")
    inside = Inside(seq=seq, scanned=entering.scanned)
    state.put(load.model_copy(update={"inside": {**load.inside, entering.set_key: inside}}), seq)
    return passage(load, entering.set_key, inside)


def leave_load(state: State, leaving: InstrumentSet, seq: int) -> Passage:
    """Take a set out of the load it was in.

    Parameters
    ----------
    state
        What is so; changed.
    leaving
        The set as it was.
    seq
        The event.

    Returns
    -------
    Passage
        The row of the trace.
    """
    load = state.get(LoadRecord, leaving.load or "")
    rest = {key: inside for key, inside in load.inside.items() if key != leaving.set_key}
    state.put(load.model_copy(update={"inside": rest}), seq)
    return passage(load, leaving.set_key, load.inside[leaving.set_key], withdrawn=seq)


def load_planned(what: events.LoadPlanned, state: State, event: Event) -> Iterator[Row]:
    """Let a load be planned, and what lies in it already go with the new plan."""
    before = state.find(LoadRecord, what.load)
    inside = before.inside if before else {}
    load = LoadRecord.model_validate({**what.model_dump(), "inside": inside})
    state.put(load, event.seq)
    # A new plan may name another machine: what lies in the load already goes with it.
    yield from (passage(load, key, one) for key, one in inside.items())
    yield from touches(event.seq, (Kind.LOAD, what.load), (Kind.MACHINE, what.machine))


def load_started(what: events.LoadStarted, state: State, event: Event) -> Iterator[Row]:
    """Let a load run."""
    load = state.get(LoadRecord, what.load)
    state.put(load.model_copy(update={"state": LoadState.STARTED, "started": event.seq}), event.seq)
    yield Run(load.load, load.machine, load.kind.value, event.seq, None)
    yield from touches(event.seq, (Kind.LOAD, what.load), (Kind.MACHINE, load.machine))


def load_ended(what: events.LoadEnded, state: State, event: Event) -> Iterator[Row]:
    """Let a load end, and every set in it come out washed, steamed, or due to be washed again."""
    seq, before = event.seq, state.get(LoadRecord, what.load)
    ended = LoadState.ENDED if what.completed else LoadState.ABORTED
    load = before.model_copy(update={"state": ended, "ended": seq})
    state.put(load, seq)
    after = SetState.REWASH
    if what.completed:
        after = SetState.WASHED if load.kind is LoadKind.WASH else SetState.STEAM_RUN
    for key, inside in load.inside.items():
        _carry(state, key, after, seq)
        yield passage(load, key, inside)
    yield Run(load.load, load.machine, load.kind.value, load.started or seq, seq)
    yield from touches(seq, (Kind.LOAD, what.load), *((Kind.SET, key) for key in load.inside))


def _carry(state: State, key: str, to: SetState, seq: int) -> None:
    """Take a set to the state that the end or the release of its load brings about."""
    carried = state.get(InstrumentSet, key)
    load = None if to in LEAVES_LOAD else carried.load
    changes = {"state": to, "came_from": None, "load": load, "moved": last_move(carried, seq)}
    state.put(carried.model_copy(update=changes), seq)


def load_released(what: events.LoadReleased, state: State, event: Event) -> Iterator[Row]:
    """Let the released sets of a load go on."""
    seq, load = event.seq, state.get(LoadRecord, what.load)
    after = SetState.WASH_RELEASED if load.kind is LoadKind.WASH else SetState.STERILE_RELEASED
    released = {key: load.inside[key].model_copy(update={"released": seq}) for key in what.sets}
    load = load.model_copy(update={"inside": {**load.inside, **released}})
    state.put(load, seq)
    for key in what.sets:
        _carry(state, key, after, seq)
        yield passage(load, key, load.inside[key])
    yield from touches(seq, (Kind.LOAD, what.load), *((Kind.SET, key) for key in what.sets))

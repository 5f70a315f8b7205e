"""What is so after accessories were counted, taken for a load or counted back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger.fields import Kind
from patency.ledger.rows import Row, touches
from patency.ledger.things import Stock, Taken

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.ledger import events
    from patency.ledger.events import Event
    from patency.ledger.state import State


def accessory_counted(what: events.AccessoryCounted, state: State, event: Event) -> Iterator[Row]:
    """Let so many be in working order."""
    before = state.find(Stock, what.accessory)
    out = before.out if before else {}
    state.put(Stock(accessory=what.accessory, usable=what.usable, out=out), event.seq)
    yield from touches(event.seq, (Kind.ACCESSORY, what.accessory))


def accessories_taken(what: events.AccessoriesTaken, state: State, event: Event) -> Iterator[Row]:
    """Let a load have these and no others."""
    before = state.find(Taken, what.load)
    now = {key: number for key, number in what.taken.items() if number}
    touched = {**(before.taken if before else {}), **what.taken}
    for key in touched:
        _put(state, key, what.load, now.get(key, 0), {}, event.seq)
    state.put(Taken(load=what.load, taken=now), event.seq)
    yield from touches(event.seq, (Kind.LOAD, what.load), *((Kind.ACCESSORY, key) for key in touched))


def accessories_returned(what: events.AccessoriesReturned, state: State, event: Event) -> Iterator[Row]:
    """Let a load have nothing, and what is lost be gone."""
    has = state.get(Taken, what.load).taken
    for key in has:
        _put(state, key, what.load, 0, what.lost, event.seq)
    state.put(Taken(load=what.load, taken={}), event.seq)
    yield from touches(event.seq, (Kind.LOAD, what.load), *((Kind.ACCESSORY, key) for key in has))


def _put(state: State, key: str, load: str, number: int, lost: Mapping[str, int], seq: int) -> None:
    before = state.find(Stock, key) or Stock(accessory=key)
    out = {name: held for name, held in before.out.items() if name != load}
    if number:
        out[load] = number
    state.put(Stock(accessory=key, usable=before.usable - lost.get(key, 0), out=out), seq)

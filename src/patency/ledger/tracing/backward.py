"""Where pieces came from: their last loads, machines and cases, and what was washed with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.ledger.fields import Kind
from patency.ledger.tracing.forward import lies
from patency.ledger.tracing.items import Item, Items, Shared

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger.identity import Strength
    from patency.ledger.rows import Stay
    from patency.ledger.tracing.reading import Reader, Way


@dataclass(frozen=True, slots=True)
class Asked:
    """A piece whose past is asked for.

    Parameters
    ----------
    before
        The event before which to look.
    distance
        How many shared loads lie between.
    strength
        How sure its identity is up to here.
    why
        The way up to here.
    """

    before: int
    distance: int
    strength: Strength
    why: tuple[str, ...]


class Looked:
    """Looks backward.

    Parameters
    ----------
    reader
        Reads what happened.
    shared
        Whether what shared the last wash load is looked at too.
    """

    def __init__(self, reader: Reader, shared: Shared) -> None:
        self.items = Items()
        self._reader = reader
        self._shared = shared
        self._done: set[tuple[str, int, int, Strength]] = set()

    def look(self, piece: str, *, marked: bool, asked: Asked) -> None:
        """List where a piece came from.

        Parameters
        ----------
        piece
            Its key.
        marked
            Whether it carries a mark.
        asked
            From when, and why.
        """
        place = (piece, asked.before, asked.distance, asked.strength)
        if place in self._done:
            return
        self._done.add(place)
        why = (*asked.why, f"piece {piece} was there")
        self.items.add(Item(Kind.PIECE, piece, asked.before, asked.strength, asked.distance, why))
        stays = self._reader.stays_of([piece])[piece]
        for way in self._past(stays, asked):
            sure = min(asked.strength, _strength(way, piece, stays, marked=marked))
            self._list(way, asked, sure)
            if way.kind == "wash" and self._shared is not Shared.NONE:
                self._others(way, asked, sure)

    def _past(self, stays: list[Stay], asked: Asked) -> Iterator[Way]:
        """Find the last case; for what was asked for itself also the last released loads and the case before."""
        found = [self._last(stays, "case", asked.before)]
        if asked.distance == 0:
            wash = self._last(stays, "wash", asked.before)
            found += [wash, self._last(stays, "steam", asked.before)]
            found.append(self._last(stays, "case", wash.seq) if wash else None)
        yield from (way for way in found if way is not None)

    def _last(self, stays: list[Stay], kind: str, before: int) -> Way | None:
        found = [
            way
            for stay in stays
            if stay.doubt < before
            and (way := self._reader.last_way(stay.set_key, kind, stay.doubt, min(before, stay.last or before)))
        ]
        return max(found, key=lambda way: way.seq, default=None)

    def _list(self, way: Way, asked: Asked, sure: Strength) -> None:
        words = (*asked.why, f"set {way.set_key} {way.words}")
        kind = Kind.CASE if way.kind == "case" else Kind.LOAD
        self.items.add(Item(kind, way.key, way.seq, sure, asked.distance, words))
        self.items.add(Item(Kind.SET, way.set_key, way.seq, sure, asked.distance, words))
        run = self._reader.run(way.key) if kind is Kind.LOAD else None
        if run is not None:
            words = (*words, f"load {run.load} ran on {run.machine} (event {run.started})")
            self.items.add(Item(Kind.MACHINE, run.machine, run.started, sure, asked.distance, words))

    def _others(self, way: Way, asked: Asked, sure: Strength) -> None:
        for other in self._reader.sets_in(way.key):
            if other.set_key != way.set_key:
                passed = f"set {way.set_key} {way.words}"
                why = (*asked.why, passed, f"set {other.set_key} was in the same load")
                look_into(self, self._reader, other, Asked(other.seq, asked.distance + 1, sure, why))


def _strength(way: Way, piece: str, stays: list[Stay], *, marked: bool) -> Strength:
    here = [stay for stay in stays if lies(stay, way.seq)]
    certain = len(here) == 1 and here[0].first <= way.seq
    return way.strength(piece, marked=marked, certain=certain)


def look_into(looked: Looked, reader: Reader, way: Way, asked: Asked) -> None:
    """Look where every piece came from that lay in a set, or may have, when it went some way.

    Parameters
    ----------
    looked
        Looks.
    reader
        Reads what happened.
    way
        The set and its way.
    asked
        From when, and why.
    """
    looked.items.add(Item(Kind.SET, way.set_key, way.seq, asked.strength, asked.distance, asked.why))
    inside = reader.pieces_at(way.set_key, way.seq)
    reader.stays_of(stay.piece for stay in inside)
    for stay in inside:
        marked = bool(stay.marked)
        stays = reader.stays_of([stay.piece])[stay.piece]
        sure = min(asked.strength, _strength(way, stay.piece, stays, marked=marked))
        looked.look(stay.piece, marked=marked, asked=Asked(asked.before, asked.distance, sure, asked.why))

"""Where pieces went after something happened to them, and what they met there."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING

from patency.ledger.fields import Kind
from patency.ledger.identity import Strength
from patency.ledger.rows import Stay
from patency.ledger.tracing.items import Item, Items, Shared

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger.tracing.reading import Reader, Way


_NEVER = (math.inf, math.inf)
_SEQ = attrgetter("seq")


@dataclass(frozen=True, slots=True)
class Exposed:
    """Why a piece is followed.

    Parameters
    ----------
    since
        From which event.
    distance
        How many shared loads lie before.
    strength
        How sure its identity is up to here.
    why
        The way up to here.
    """

    since: int
    distance: int
    strength: Strength
    why: tuple[str, ...]


@dataclass(frozen=True)
class Rule:
    """How far pieces are followed.

    Parameters
    ----------
    ends_with
        A released load of this kind ends it, ``wash`` or ``steam``; None for no end at all.
    suspects
        Loads that end nothing.
    shared
        Which shared wash loads carry it to other sets.
    """

    ends_with: str | None
    suspects: frozenset[str]
    shared: Shared


@dataclass(slots=True)
class _Span:
    """From when to when a piece is followed already, how near and how sure."""

    distance: int
    strength: Strength
    since: int
    end: float

    def covers(self, exposed: Exposed) -> bool:
        near = self.distance <= exposed.distance and self.strength >= exposed.strength
        return near and self.since <= exposed.since < self.end


@dataclass(frozen=True, slots=True)
class _Member:
    """A piece that is followed together with others that lay in the same places."""

    piece: str
    marked: bool
    span: _Span


class Followed:
    """Follows pieces forward.

    Parameters
    ----------
    reader
        Reads what happened.
    rule
        How far.
    """

    def __init__(self, reader: Reader, rule: Rule) -> None:
        self.items = Items()
        self._reader = reader
        self._rule = rule
        self._waiting: dict[tuple[Exposed, tuple[Stay, ...]], list[_Member]] = {}
        self._spans: dict[str, list[_Span]] = {}
        self._passed: dict[tuple[int, str], tuple[float, float]] = {}

    def expose(self, piece: str, *, marked: bool, exposed: Exposed) -> None:
        """Begin to follow a piece, unless it is followed already from as near, as sure and as early.

        Parameters
        ----------
        piece
            Its key.
        marked
            Whether it carries a mark.
        exposed
            Why and from when.
        """
        spans = self._spans.setdefault(piece, [])
        if any(span.covers(exposed) for span in spans):
            return
        endless = self._rule.ends_with is None
        spans.append(_Span(exposed.distance, exposed.strength, exposed.since, math.inf if endless else exposed.since))
        why = (*exposed.why, f"piece {piece} was there")
        self.items.add(Item(Kind.PIECE, piece, exposed.since, exposed.strength, exposed.distance, why))
        later = [one for one in self._reader.stays_of([piece])[piece] if one.last is None or one.last > exposed.since]
        where = tuple(replace(one, piece="", type_key="", marked=0) for one in later)
        self._waiting.setdefault((exposed, where), []).append(_Member(piece, marked, spans[-1]))

    def follow(self) -> None:
        """Follow every waiting piece to its end, and those they meet."""
        while self._waiting:
            now, self._waiting = self._waiting, {}
            for (exposed, stays), members in now.items():
                end = self._group(exposed, Path(stays, exposed.since), members)
                for member in members:
                    member.span.end = end

    def _group(self, exposed: Exposed, path: Path, members: list[_Member]) -> float:
        """Follow pieces that lay in the same places; return the event in which that ends."""
        met, marked = False, frozenset(one.piece for one in members if one.marked)
        at_best = (exposed.distance, -exposed.strength)
        for stop in path.stops(self._reader):
            if isinstance(stop, Stay):
                self._enter(stop, exposed, members)
                continue
            certain = path.certain(stop)
            if certain and self._ends(stop):
                return stop.seq
            meets = stop.kind == "wash" and exposed.distance == 0 and not met
            if not meets and self._passed.get((stop.seq, stop.set_key), _NEVER) <= at_best:
                continue  # other pieces of the set went this way before, as near and as sure as these can have
            strength = min(exposed.strength, stop.best_strength(marked, certain=certain))
            self._pass(stop, exposed, strength)
            if meets:
                self._meet(stop, exposed, strength)
                met = certain and self._rule.shared is not Shared.ALL
        return math.inf

    def _ends(self, way: Way) -> bool:
        return way.kind == self._rule.ends_with and way.released is not None and way.key not in self._rule.suspects

    def _enter(self, stay: Stay, exposed: Exposed, members: list[_Member]) -> None:
        """List a set into which a piece came."""
        first = max(stay.doubt, exposed.since)
        sure = exposed.strength
        if stay.first > exposed.since:
            best = Strength.INFERRED if any(one.marked for one in members) else Strength.MEMBER
            sure = min(sure, best)
        if self.items.wants(Kind.SET, stay.set_key, exposed.distance, sure):
            why = (*exposed.why, f"piece {members[0].piece} lay in set {stay.set_key} (event {first})")
            self.items.add(Item(Kind.SET, stay.set_key, first, sure, exposed.distance, why))

    def _pass(self, way: Way, exposed: Exposed, strength: Strength) -> None:
        """List a load or a case, and the set that went there, unless that was done from as near and as sure."""
        place, rank = (way.seq, way.set_key), (exposed.distance, -strength)
        if self._passed.get(place, _NEVER) <= rank:
            return
        self._passed[place] = rank
        kind = Kind.CASE if way.kind == "case" else Kind.LOAD
        for what, key in ((kind, way.key), (Kind.SET, way.set_key)):
            if self.items.wants(what, key, exposed.distance, strength):
                why = (*exposed.why, f"set {way.set_key} {way.words}")
                self.items.add(Item(what, key, way.seq, strength, exposed.distance, why))

    def _meet(self, way: Way, exposed: Exposed, strength: Strength) -> None:
        """Follow what was in the same wash load too."""
        if self._rule.shared is Shared.NONE:
            return
        passed = f"set {way.set_key} {way.words}"
        for other in self._reader.sets_in(way.key):
            if other.set_key != way.set_key:
                why = (*exposed.why, passed, f"set {other.set_key} was in the same load")
                expose_set(self, self._reader, other, Exposed(other.seq, exposed.distance + 1, strength, why))


def expose_set(followed: Followed, reader: Reader, way: Way, exposed: Exposed) -> None:
    """Begin to follow every piece that lay in a set, or may have, when it went some way.

    Parameters
    ----------
    followed
        Follows them.
    reader
        Reads what happened.
    way
        The set and its way.
    exposed
        Why and from when.
    """
    inside = reader.pieces_at(way.set_key, way.seq)
    reader.stays_of(stay.piece for stay in inside)
    for stay in inside:
        marked = bool(stay.marked)
        others = [one for one in reader.stays_of([stay.piece])[stay.piece] if one != stay]
        certain = stay.first <= way.seq and not any(lies(one, way.seq) for one in others)
        sure = min(exposed.strength, way.strength(stay.piece, marked=marked, certain=certain))
        followed.expose(stay.piece, marked=marked, exposed=replace(exposed, strength=sure))


def lies(stay: Stay, seq: int) -> bool:
    """Tell whether a piece lay in a set, or may have, at one event.

    Parameters
    ----------
    stay
        The piece and the set.
    seq
        The event.

    Returns
    -------
    bool
        Also true where it is in doubt.
    """
    return stay.doubt <= seq and (stay.last is None or seq < stay.last)


class Path:
    """The stays of a piece from one event on; at some times more than one may be possible.

    Parameters
    ----------
    stays
        Those that end after the event.
    since
        The event.
    """

    def __init__(self, stays: tuple[Stay, ...], since: int) -> None:
        self._stays = stays
        self._since = since

    def stops(self, reader: Reader) -> Iterator[Stay | Way]:
        """Walk through the sets it came into and the ways these went while it may have lain in them, in order.

        Parameters
        ----------
        reader
            Reads what happened.

        Yields
        ------
        Stay or Way
            A set it came into, before the ways of that set.
        """
        if len(self._stays) == 1:  # as for most pieces: the ways of one set are in order
            yield self._stays[0]
            yield from self._ways(self._stays[0], reader)
            return
        found: list[tuple[int, int, Stay | Way]] = []
        for stay in self._stays:
            found.append((max(stay.doubt, self._since), 0, stay))
            found += [(way.seq, 1, way) for way in self._ways(stay, reader)]
        yield from (stop for _, _, stop in sorted(found, key=itemgetter(0, 1)))

    def _ways(self, stay: Stay, reader: Reader) -> list[Way]:
        ways, first = reader.ways(stay.set_key), max(stay.doubt, self._since)
        low = bisect_left(ways, first, key=_SEQ)
        return ways[low : len(ways) if stay.last is None else bisect_left(ways, stay.last, low, key=_SEQ)]

    def certain(self, way: Way) -> bool:
        """Tell whether the piece lay in this set then, and could lie in no other.

        Parameters
        ----------
        way
            The set and when.

        Returns
        -------
        bool
            False where there is a doubt.
        """
        if len(self._stays) == 1:  # as for most pieces: the way is one of this set, in that time
            return self._stays[0].first <= way.seq
        here = [stay for stay in self._stays if lies(stay, way.seq)]
        return len(here) == 1 and here[0].first <= way.seq

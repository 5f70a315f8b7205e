"""What can be asked of a trace: from a piece, set, load, machine, water sample, sterilizer or case, both ways."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.ledger.fields import Kind
from patency.ledger.identity import Strength
from patency.ledger.things import InstrumentSet, LoadRecord, Machine, Piece, Sample
from patency.ledger.tracing.backward import Asked, Looked, look_into
from patency.ledger.tracing.forward import Exposed, Followed, Rule, expose_set
from patency.ledger.tracing.items import Direction, Item, Shared, Trace
from patency.ledger.tracing.reading import Reader
from patency.ledger.tracing.suspects import Suspects, of_machine, of_sample
from patency.ledger.writing import fetch_things, read_head

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from patency.ledger.rows import Stay
    from patency.ledger.store import Store
    from patency.ledger.things import Thing
    from patency.ledger.tracing.reading import Way

_IN_DOUBT = {Kind.LOAD, Kind.MACHINE, Kind.SAMPLE}
_CAN_BE_TRACED = (Kind.PIECE, Kind.SET, Kind.LOAD, Kind.MACHINE, Kind.SAMPLE, Kind.CASE)
_FIRST = "only the first wash load of each piece afterwards is followed to other sets, later ones are not"


def trace(
    store: Store,
    kind: Kind,
    key: str,
    direction: Direction,
    *,
    since: int,
    until: int | None,
    shared: Shared | None,
) -> Trace:
    """List what one thing touched, as `Ledger.trace` describes it.

    Parameters
    ----------
    store
        Where the ledger is kept.
    kind
        What is asked for.
    key
        Which one.
    direction
        Which way to look.
    since
        The first event to look at.
    until
        The last one; None for now.
    shared
        Which shared wash loads carry the trace to other sets.

    Returns
    -------
    Trace
        Each thing with its reason and the strength of the identities on the way.

    Raises
    ------
    InputError
        When the thing is not known or cannot be traced.
    """
    with store.reading() as connection:
        last = read_head(connection).seq if until is None else until
        reader = Reader(connection, since, last)
        asking = _Asking(connection, reader, kind, key)
        how = shared or (Shared.NONE if kind in _IN_DOUBT else Shared.FIRST)
        if direction is Direction.FORWARD:
            items, scope = asking.forward(how)
        else:
            items, scope = asking.backward(how)
    items = tuple(item for item in items if (item.kind, item.key) != (kind, key))
    if any(item.strength <= Strength.MEMBER for item in items):
        scope = (*scope, "unmarked pieces are known only by their set: what rests on them is listed as T1")
    return Trace(kind, key, direction, since, last, items, scope)


class _Asking:
    """One question to one reader."""

    def __init__(self, connection: Connection, reader: Reader, kind: Kind, key: str) -> None:
        if kind not in _CAN_BE_TRACED:
            raise InputError(kind.value, "cannot be traced", ", ".join(_CAN_BE_TRACED))
        self._reader = reader
        self._kind = kind
        self._key = key
        self._connection = connection
        if kind is not Kind.CASE and self._thing() is None:
            raise InputError(f"{kind} {key}", "is not known", "a thing of this ledger")

    def _thing(self) -> Thing | None:
        place = (self._kind.value, self._key)
        return fetch_things(self._connection, [place]).get(place)

    def forward(self, shared: Shared) -> tuple[tuple[Item, ...], tuple[str, ...]]:
        thing, reader = self._thing(), self._reader
        if isinstance(thing, LoadRecord | Machine | Sample):
            suspects = self._suspects(thing)
            names = frozenset(run.load for run in suspects.runs)
            kind = suspects.runs[0].kind if suspects.runs else None
            followed = Followed(reader, Rule(kind, names, shared))
            reader.warm(names)
            reader.begin_with(way for name in names for way in reader.sets_in(name))
            for run in suspects.runs:
                why = (*suspects.why, f"load {run.load} ran on {run.machine} (event {run.started})")
                followed.items.add(Item(Kind.LOAD, run.load, run.started, Strength.SCANNED, 0, why))
                for way in reader.sets_in(run.load):
                    # Of one load it is said of each set whether it was released; of years of loads that takes its time.
                    told = (*why, f"set {way.set_key} {way.words}") if self._kind is Kind.LOAD else why
                    expose_set(followed, reader, way, Exposed(way.seq, 0, Strength.SCANNED, told))
                followed.follow()
            ends = f"a piece is in it until its next released {kind} load that is not in doubt"
            return followed.items.listed(), (*suspects.why, ends)
        followed = Followed(reader, Rule(None, frozenset(), shared))
        scope = self._expose(thing, followed)
        followed.follow()
        first = (_FIRST,) if shared is Shared.FIRST else ()
        return followed.items.listed(), ("no load clears a piece", *first, *scope)

    def _expose(self, thing: Thing | None, followed: Followed) -> tuple[str, ...]:
        reader, since = self._reader, self._reader.since
        if isinstance(thing, Piece):
            return self._expose_piece(thing, followed)
        if isinstance(thing, InstrumentSet):
            for stay in reader.stays_in(thing.set_key):
                if stay.last is None or stay.last > since:
                    begin = max(stay.doubt, since)
                    sure = Strength.INFERRED if stay.marked else Strength.MEMBER
                    exposed = Exposed(begin, 0, sure, (f"asked for set {thing.set_key}",))
                    followed.expose(stay.piece, marked=bool(stay.marked), exposed=exposed)
            return ()
        uses = self._uses()
        reader.begin_with(uses)
        for way in uses:
            why = (f"set {way.set_key} {way.words}",)
            expose_set(followed, reader, way, Exposed(way.seq, 0, Strength.SCANNED, why))
        return ()

    def _uses(self) -> list[Way]:
        uses = self._reader.uses_of(self._key)
        if not uses:
            raise InputError(f"case {self._key}", "is not known", "a case to which a set was issued")
        return uses

    def _expose_piece(self, piece: Piece, followed: Followed) -> tuple[str, ...]:
        since, marked = self._reader.since, piece.mark is not None
        sure = Strength.SCANNED if marked else Strength.MEMBER
        asked = f"asked for piece {piece.piece}"
        followed.expose(piece.piece, marked=marked, exposed=Exposed(since, 0, sure, (asked,)))
        if marked:
            return ()
        twins = self._twins(piece)
        for stay in twins:
            why = (asked, f"piece {stay.piece} cannot be told from it: same type, unmarked, in set {stay.set_key}")
            followed.expose(stay.piece, marked=False, exposed=Exposed(max(stay.doubt, since), 0, sure, why))
        return tuple(f"piece {stay.piece} cannot be told from piece {piece.piece}" for stay in twins)

    def _twins(self, piece: Piece) -> list[Stay]:
        """List unmarked pieces of the same type that lay in the same set at the same time."""
        own = [one for one in self._reader.stays_of([piece.piece])[piece.piece] if self._after(one)]
        return [
            other
            for stay in own
            for other in self._reader.stays_in(stay.set_key)
            if other.piece != piece.piece and other.type_key == piece.type_key and not other.marked
            if self._after(other) and _overlap(stay, other)
        ]

    def _after(self, stay: Stay) -> bool:
        return stay.last is None or stay.last > self._reader.since

    def _suspects(self, thing: LoadRecord | Machine | Sample) -> Suspects:
        if isinstance(thing, Machine):
            return of_machine(self._reader, thing.machine)
        if isinstance(thing, Sample):
            return of_sample(self._reader, thing.sample, thing.point)
        run = self._reader.run(thing.load)
        return Suspects((run,) if run else (), (f"asked for load {thing.load}",))

    def backward(self, shared: Shared) -> tuple[tuple[Item, ...], tuple[str, ...]]:
        thing, reader = self._thing(), self._reader
        looked = Looked(reader, shared)
        scope: tuple[str, ...] = ("each piece back to its last case, its last released loads and the case before them",)
        if isinstance(thing, LoadRecord | Machine | Sample):
            suspects = self._suspects(thing)
            scope = (*suspects.why, *scope)
            reader.warm(run.load for run in suspects.runs)
            for run in suspects.runs:
                for way in reader.sets_in(run.load):
                    why = (*suspects.why, f"set {way.set_key} was in load {run.load} (event {way.seq})")
                    look_into(looked, reader, way, Asked(way.seq, 0, Strength.SCANNED, why))
        elif isinstance(thing, Piece):
            marked = thing.mark is not None
            sure = Strength.SCANNED if marked else Strength.MEMBER
            asked = Asked(reader.until + 1, 0, sure, (f"asked for piece {thing.piece}",))
            looked.look(thing.piece, marked=marked, asked=asked)
        elif isinstance(thing, InstrumentSet):
            for stay in reader.pieces_at(thing.set_key, reader.until):
                sure = Strength.INFERRED if stay.marked else Strength.MEMBER
                asked = Asked(reader.until + 1, 0, sure, (f"asked for set {thing.set_key}",))
                looked.look(stay.piece, marked=bool(stay.marked), asked=asked)
        else:
            for way in self._uses():
                why = (f"set {way.set_key} {way.words}",)
                look_into(looked, reader, way, Asked(way.seq, 0, Strength.SCANNED, why))
        return looked.items.listed(), scope


def _overlap(one: Stay, other: Stay) -> bool:
    ends_later = one.last is None or other.doubt < one.last
    return ends_later and (other.last is None or one.doubt < other.last)

"""What a trace reads: where pieces lay, which ways sets went, what ran on a machine; each read once."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import and_, or_, select

from patency.ledger.identity import Strength, strength_of
from patency.ledger.rows import Stay
from patency.ledger.tables import EVENTS, PASSAGES, RUNS, STAYS, TOUCHES, USES

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from sqlalchemy import Connection, Select


_MANY = 500


@dataclass(frozen=True, slots=True)
class Way:
    """A set went through a load or to a case.

    Parameters
    ----------
    seq
        The event that began it.
    set_key
        The set.
    key
        The load or the case.
    kind
        ``wash``, ``steam`` or ``case``.
    released
        The event of the release from a load, or of the use in a case; None where there was none.
    scanned
        The pieces whose mark was read in the count before.
    """

    seq: int
    set_key: str
    key: str
    kind: str
    released: int | None
    scanned: frozenset[str]

    @property
    def words(self) -> str:
        """What happened, as part of a sentence."""
        if self.kind == "case":
            done = "was used in case" if self.released else "was issued to case"
            return f"{done} {self.key} (event {self.seq})"
        end = "" if self.released else ", not released from it"
        return f"went through {self.kind} load {self.key} (event {self.seq}){end}"

    def strength(self, piece: str, *, marked: bool, certain: bool) -> Strength:
        """Say how sure it is that a piece was there.

        Parameters
        ----------
        piece
            Its key.
        marked
            Whether it carries a mark.
        certain
            Whether it certainly lay in this set then.

        Returns
        -------
        Strength
            Scanned only where it lay there for certain and its mark was read in the count before.
        """
        scanned = certain and marked and piece in self.scanned
        return strength_of("a mark" if marked else None, scanned=scanned)

    def best_strength(self, marked: frozenset[str], *, certain: bool) -> Strength:
        """Say how sure it is that at least one of several pieces was there.

        Parameters
        ----------
        marked
            Those of them that carry a mark.
        certain
            Whether they certainly lay in this set then.

        Returns
        -------
        Strength
            That of the surest.
        """
        if not marked:
            return Strength.MEMBER
        return Strength.SCANNED if certain and not marked.isdisjoint(self.scanned) else Strength.INFERRED


@dataclass(frozen=True, slots=True)
class Ran:
    """A load that ran on a machine."""

    load: str
    machine: str
    kind: str
    started: int


@lru_cache(maxsize=4_096)  # the same marks are read again in most counts of a set
def _keys(text: str) -> frozenset[str]:
    return frozenset(json.loads(text))


def _chunks(keys: list[str]) -> Iterator[list[str]]:
    """Part keys into as many as one statement takes."""
    yield from (keys[start : start + _MANY] for start in range(0, len(keys), _MANY))


class Reader:
    """Reads what a trace asks for, each thing once.

    Parameters
    ----------
    connection
        To the store.
    since
        The first event looked at.
    until
        The last one.
    """

    def __init__(self, connection: Connection, since: int, until: int) -> None:
        self._connection = connection
        self.since = since
        self.until = until
        self._ways: dict[str, list[Way]] = {}
        self._of_piece: dict[str, list[Stay]] = {}
        self._in_set: dict[str, list[Stay]] = {}
        self._of_load: dict[str, list[Way]] = {}

    def begin_with(self, ways: Iterable[Way]) -> None:
        """Look at nothing before the first of some ways, from which all that is followed begins.

        Parameters
        ----------
        ways
            The ways.
        """
        self.since = max(self.since, min((way.seq for way in ways), default=self.since))

    def _stays(self, query: Select[Any]) -> list[Stay]:
        return [Stay(**row) for row in self._connection.execute(query).mappings()]

    def warm(self, loads: Iterable[str]) -> None:
        """Read at once all that a trace of many loads will ask for one after the other.

        Parameters
        ----------
        loads
            Their keys.
        """
        new = [key for key in dict.fromkeys(loads) if key not in self._of_load]
        self._of_load.update((key, []) for key in new)
        for some in _chunks(new):
            query = select(PASSAGES).where(PASSAGES.c.load.in_(some)).order_by(PASSAGES.c.set_key, PASSAGES.c.seq)
            for way in self._passages(query):
                self._of_load[way.key].append(way)
        sets = list(dict.fromkeys(way.set_key for key in new for way in self._of_load[key]))
        for some in _chunks([key for key in sets if key not in self._in_set]):
            self._in_set.update((key, []) for key in some)
            query = select(STAYS).where(STAYS.c.set_key.in_(some)).order_by(STAYS.c.piece, STAYS.c.first)
            for stay in self._stays(query):
                self._in_set[stay.set_key].append(stay)
        self.stays_of(stay.piece for key in sets for stay in self._in_set[key])

    def stays_of(self, pieces: Iterable[str]) -> dict[str, list[Stay]]:
        """Return where pieces lay, in order.

        Parameters
        ----------
        pieces
            Their keys.

        Returns
        -------
        dict[str, list[Stay]]
            For each piece its stays in sets.
        """
        wanted = list(dict.fromkeys(pieces))
        new = [key for key in wanted if key not in self._of_piece]
        for some in _chunks(new):
            self._of_piece.update((key, []) for key in some)
            for stay in self._stays(select(STAYS).where(STAYS.c.piece.in_(some)).order_by(STAYS.c.first)):
                self._of_piece[stay.piece].append(stay)
        return {key: self._of_piece[key] for key in wanted}

    def stays_in(self, set_key: str) -> list[Stay]:
        """Return what lay in a set, at any time.

        Parameters
        ----------
        set_key
            The set.

        Returns
        -------
        list[Stay]
            In order of the pieces.
        """
        if set_key not in self._in_set:
            query = select(STAYS).where(STAYS.c.set_key == set_key).order_by(STAYS.c.piece, STAYS.c.first)
            self._in_set[set_key] = self._stays(query)
        return self._in_set[set_key]

    def pieces_at(self, set_key: str, seq: int) -> list[Stay]:
        """Return what lay in a set, or may have, at one event.

        Parameters
        ----------
        set_key
            The set.
        seq
            The event.

        Returns
        -------
        list[Stay]
            In order of the pieces.
        """
        return [stay for stay in self.stays_in(set_key) if stay.doubt <= seq and (stay.last is None or seq < stay.last)]

    def _passages(self, query: Select[Any]) -> list[Way]:
        return [
            Way(row.seq, row.set_key, row.load, row.kind, row.released, _keys(row.scanned))
            for row in self._connection.execute(query.where(PASSAGES.c.withdrawn.is_(None)))
        ]

    def _uses(self, query: Select[Any]) -> list[Way]:
        return [
            Way(row.seq, row.set_key, row.case_key, "case", row.opened, _keys(row.scanned))
            for row in self._connection.execute(query.where(USES.c.withdrawn.is_(None)))
        ]

    def ways(self, set_key: str) -> list[Way]:
        """Return the ways a set went in the time looked at.

        Parameters
        ----------
        set_key
            The set.

        Returns
        -------
        list[Way]
            In order.
        """
        if set_key not in self._ways:
            passages = select(PASSAGES).where(
                PASSAGES.c.set_key == set_key, PASSAGES.c.seq.between(self.since, self.until)
            )
            uses = select(USES).where(USES.c.set_key == set_key, USES.c.seq.between(self.since, self.until))
            found = [*self._passages(passages), *self._uses(uses)]
            self._ways[set_key] = sorted(found, key=lambda way: way.seq)
        return self._ways[set_key]

    def last_way(self, set_key: str, kind: str, low: int, high: int) -> Way | None:
        """Find the last way of a kind that a set went between two events; of loads only a released one.

        Parameters
        ----------
        set_key
            The set.
        kind
            ``wash``, ``steam`` or ``case``.
        low
            From this event.
        high
            Before this event.

        Returns
        -------
        Way or None
            None where there is none.
        """
        if kind == "case":
            query = select(USES).where(USES.c.set_key == set_key, USES.c.seq >= low, USES.c.seq < high)
            found = self._uses(query.order_by(USES.c.seq.desc()).limit(1))
        else:
            query = select(PASSAGES).where(
                PASSAGES.c.set_key == set_key,
                PASSAGES.c.seq >= low,
                PASSAGES.c.seq < high,
                PASSAGES.c.kind == kind,
                PASSAGES.c.released < high,
            )
            found = self._passages(query.order_by(PASSAGES.c.seq.desc()).limit(1))
        return found[0] if found else None

    def sets_in(self, load: str) -> list[Way]:
        """Return the sets that went through a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        list[Way]
            In order of the sets.
        """
        if load not in self._of_load:
            query = select(PASSAGES).where(PASSAGES.c.load == load).order_by(PASSAGES.c.set_key, PASSAGES.c.seq)
            self._of_load[load] = self._passages(query)
        return self._of_load[load]

    def uses_of(self, case: str) -> list[Way]:
        """Return the sets that were issued to a case.

        Parameters
        ----------
        case
            The case.

        Returns
        -------
        list[Way]
            In order of the sets.
        """
        return self._uses(select(USES).where(USES.c.case_key == case).order_by(USES.c.set_key, USES.c.seq))

    def run(self, load: str) -> Ran | None:
        """Find where a load ran.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Ran or None
            None where it has not started.
        """
        row = self._connection.execute(select(RUNS).where(RUNS.c.load == load)).first()
        return Ran(row.load, row.machine, row.kind, row.started) if row else None

    def runs(self, machines: Iterable[str], after: int, before: int | None) -> list[Ran]:
        """List what was running on machines between two events.

        Parameters
        ----------
        machines
            Their keys.
        after
            Loads that ended after this event.
        before
            Loads that started before this event; None for no end.

        Returns
        -------
        list[Ran]
            In order of their start.
        """
        query = select(RUNS).where(
            RUNS.c.machine.in_(list(machines)), or_(RUNS.c.ended.is_(None), RUNS.c.ended > after)
        )
        if before is not None:
            query = query.where(RUNS.c.started < before)
        rows = self._connection.execute(query.order_by(RUNS.c.started))
        return [Ran(row.load, row.machine, row.kind, row.started) for row in rows]

    def story(self, kind: str, key: str, names: tuple[str, ...]) -> list[dict[str, Any]]:
        """List events of some names that concern a thing.

        Parameters
        ----------
        kind
            What the thing is.
        key
            Which one.
        names
            The names of the events.

        Returns
        -------
        list[dict[str, Any]]
            As they are written, in order.
        """
        same = and_(TOUCHES.c.seq == EVENTS.c.seq, TOUCHES.c.kind == kind, TOUCHES.c.key == key)
        query = select(EVENTS.c.body).join(TOUCHES, same).where(EVENTS.c.event.in_(names)).order_by(EVENTS.c.seq)
        return [json.loads(body) for body in self._connection.execute(query).scalars()]

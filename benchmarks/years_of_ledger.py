"""Build years of a department's ledger: sixty loads a day, forty of them washed and twenty in steam, a hundred sets.

The first four weeks go through the rules of the ledger as at the bench, event by event; only the commits are one for
each day. The latter two weeks are then copied in the store, again and again, under new numbers and new names of loads,
cases and samples: events and all that follows from them. The copies are as large as five years would be and lead where
they would; their chain of digests does not hold, so nothing else than traces is to be measured on them. All invented.
"""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import text

from patency.ledger import (
    Circumstances,
    Confirmation,
    CountSet,
    EndLoad,
    EnrolMachine,
    EnrolPiece,
    EnrolSet,
    JudgeSample,
    LoadKind,
    MoveSet,
    PermitPerson,
    Place,
    PlanLoad,
    Refused,
    ReleaseLoad,
    Result,
    Role,
    Seen,
    SetState,
    StartLoad,
    TakeSample,
    TestMachine,
    Versions,
    Where,
    Who,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger import Command, Ledger

S = SetState
SETS = [f"set {number:03d}" for number in range(100)]
TYPES = ("tube", "jaws", "handle", "seal", "spring", "cap", "rod", "nut")
UNMARKED = {"seal", "spring", "nut"}
WASHERS = ("Alder", "Birch", "Cedar", "Rowan")
STERILIZERS = ("North", "South")
MET = Result(format="example/1", verdict="met")
BEGIN = datetime(2021, 1, 4, 6, 0, tzinfo=UTC)
COPIED_FROM, BY_THE_RULES = 14, 28  # days: from where it is copied, and how many are written by the rules
DUE = BEGIN + timedelta(days=20_000)


class Years:
    """A department that works day after day.

    Parameters
    ----------
    ledger
        Where it writes.
    seed
        Of its chance.
    """

    def __init__(self, ledger: Ledger, seed: int = 1) -> None:
        self.ledger = ledger
        self._rng = random.Random(seed)
        self._at = BEGIN
        self._number = 0
        self._pieces = {name: {f"{name} {kind}": kind for kind in TYPES} for name in SETS}
        self._write(self._beginning())

    def _around(self, who: str) -> Circumstances:
        self._number += 1
        self._at += timedelta(seconds=20)
        return Circumstances(
            command=f"c{self._number}",
            who=Who(person=who, confirmed=Confirmation.BADGE),
            at=self._at,
            clock="station clock",
            recorded=self._at,
            station="sink 1",
            relies_on=Versions(plan="p-1", catalogue="c-1", limits="l-1"),
        )

    def _write(self, commands: Iterator[tuple[Command, str]]) -> None:
        outcome = self.ledger.append_all((command, self._around(who)) for command, who in commands)
        if isinstance(outcome, Refused):
            raise SystemExit(outcome.text)

    def _beginning(self) -> Iterator[tuple[Command, str]]:
        yield PermitPerson(person="admin-1", roles={Role.ADMINISTRATOR: None}), "admin-1"
        for person, role in (("lead-1", Role.LEAD), ("releaser-1", Role.RELEASER)):
            yield PermitPerson(person=person, roles={role: None}), "admin-1"
        for machine in (*WASHERS, *STERILIZERS):
            runs = LoadKind.WASH if machine in WASHERS else LoadKind.STEAM
            yield EnrolMachine(machine=machine, kind=runs, water=("final rinse",)), "lead-1"
            yield TestMachine(machine=machine, test="daily", passed=True, due=DUE), "lead-1"
        for name, pieces in self._pieces.items():
            yield EnrolSet(set_key=name, set_type="general", listed=dict.fromkeys(TYPES, 1)), "lead-1"
            for piece, kind in pieces.items():
                place = Place(where=Where.SET, key=name)
                mark = None if kind in UNMARKED else f"mark {piece}"
                yield EnrolPiece(piece=piece, type_key=kind, mark=mark, place=place), "lead-1"

    def _seen(self, name: str) -> dict[str, Seen]:
        chance = self._rng.random
        return {
            piece: Seen.SCANNED if kind not in UNMARKED and chance() < 0.5 else Seen.BY_EYE
            for piece, kind in self._pieces[name].items()
        }

    def _move(self, name: str, to: SetState, **more: object) -> tuple[Command, str]:
        return MoveSet.model_validate({"set_key": name, "to": to, **more}), "lead-1"

    def day(self, number: int) -> None:
        """Work through one day and write it down at once.

        Parameters
        ----------
        number
            Which day, from 0.
        """
        self._at = BEGIN + timedelta(days=number)
        self._write(self._day(number))

    def _day(self, number: int) -> Iterator[tuple[Command, str]]:
        names = self._rng.sample(SETS, len(SETS))
        if number % 7 == 0:
            yield TakeSample(sample=f"water-{number}", point="final rinse", taken=self._at), "lead-1"
            yield JudgeSample(sample=f"water-{number}", within=self._rng.random() < 0.97), "lead-1"
        if number > 0:
            for name in names:
                for more in ({"to": S.ISSUED, "case": f"case-{number}-{name[-3:]}"}, {"to": S.IN_USE}, {"to": S.USED}):
                    yield MoveSet.model_validate({"set_key": name, **more}), "lead-1"
                yield self._move(name, S.RECEIVED)
        if number < COPIED_FROM and self._rng.random() < 0.5:
            yield from self._swapped(names[:2])
        for name in names:
            yield self._move(name, S.DISMANTLED, seen=self._seen(name))
        for at in range(40):  # two or three sets in each
            yield from self._load(f"w{number}.{at}", LoadKind.WASH, WASHERS[at % len(WASHERS)], names[at::40])
        for name in names:
            for to in (S.INSPECTED, S.ASSEMBLED):
                yield self._move(name, to, seen=self._seen(name))
            yield self._move(name, S.PACKED, seen=self._seen(name), expires=self._at + timedelta(days=180))
        for at in range(20):
            yield from self._load(f"s{number}.{at}", LoadKind.STEAM, STERILIZERS[at % 2], names[at::20])
        for name in names:
            yield self._move(name, S.STORED)

    def _load(self, load: str, kind: LoadKind, machine: str, names: list[str]) -> Iterator[tuple[Command, str]]:
        ride = {"load": load, "machine": machine, "carrier": "Lapwing", "programme": "gentle"}
        yield PlanLoad.model_validate({"kind": kind, "sets": tuple(names), **ride}), "lead-1"
        for name in names:
            wash = kind is LoadKind.WASH
            seen = self._seen(name) if wash else {}
            yield self._move(name, S.LOADED if wash else S.STEAM_LOADED, seen=seen, load=load)
        yield StartLoad.model_validate(ride), "lead-1"
        yield EndLoad(load=load, completed=True, record=MET), "lead-1"
        yield ReleaseLoad(load=load, sets=tuple(names), evidence=MET), "releaser-1"

    def _swapped(self, names: list[str]) -> Iterator[tuple[Command, str]]:
        """Find two unmarked pieces of one type in each other's set."""
        one, other = names
        mine, theirs = ({kind: piece for piece, kind in self._pieces[name].items()} for name in names)
        kind = self._rng.choice(sorted(UNMARKED))
        for name, gone, come in ((one, mine[kind], theirs[kind]), (other, theirs[kind], mine[kind])):
            del self._pieces[name][gone]
            self._pieces[name][come] = kind
            yield CountSet(set_key=name, seen=self._seen(name)), "lead-1"
        yield self._move(one, S.RECEIVED, seen=self._seen(one))


_COPIES = (
    """INSERT INTO events SELECT seq + :off, event, command || :name, part,
       replace(replace(body, '"seq":' || CAST(seq AS TEXT) || ',', '"seq":' || CAST(seq + :off AS TEXT) || ','),
               '"sample":"water-', '"sample":"' || :copy || 'water-'), digest
       FROM events WHERE seq BETWEEN :low AND :high""",
    """INSERT INTO passages SELECT load || :name, set_key, seq + :off, kind, machine, ended + :off, released + :off,
       withdrawn, scanned FROM passages WHERE seq BETWEEN :low AND :high""",
    """INSERT INTO uses SELECT case_key || :name, set_key, seq + :off, opened + :off, withdrawn, scanned
       FROM uses WHERE seq BETWEEN :low AND :high""",
    """INSERT INTO runs SELECT load || :name, machine, kind, started + :off, ended + :off
       FROM runs WHERE started BETWEEN :low AND :high""",
    """INSERT INTO touches SELECT kind,
       CASE WHEN kind IN ('load', 'case') THEN key || :name WHEN kind = 'sample' THEN :copy || key ELSE key END,
       seq + :off FROM touches WHERE seq BETWEEN :low AND :high""",
    """INSERT INTO things SELECT kind, CASE kind WHEN 'load' THEN key || :name ELSE :copy || key END, seq + :off,
       replace(replace(doc, '"load":"' || key || '"', '"load":"' || key || :name || '"'),
               '"sample":"water-', '"sample":"' || :copy || 'water-')
       FROM things WHERE kind IN ('load', 'sample') AND seq BETWEEN :low AND :high""",
)


def build(ledger: Ledger, days: int) -> int:
    """Write days of a department into an empty ledger.

    Parameters
    ----------
    ledger
        The ledger.
    days
        About how many; four weeks and then full fortnights.

    Returns
    -------
    int
        How many are written.
    """
    years = Years(ledger)
    for number in range(BY_THE_RULES):
        if number == COPIED_FROM:
            low = ledger.head().seq + 1
        years.day(number)
    high = ledger.head().seq
    print(f"  {BY_THE_RULES} days by the rules: {high} events", flush=True)
    done, fortnight = BY_THE_RULES, BY_THE_RULES - COPIED_FROM
    while done < days:
        number = (done - BY_THE_RULES) // fortnight + 1
        with ledger.store.writing() as connection:
            names = {"copy": f"{number}/", "name": f"/{number}"}
            span = {"low": low, "high": high, "off": number * (high - low + 1)}
            for statement in _COPIES:
                used = {key: value for key, value in {**names, **span}.items() if f":{key}" in statement}
                connection.execute(text(statement), used)
        done += fortnight
    return done

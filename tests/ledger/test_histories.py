"""Random histories never break conservation, holds or the rules of states, in memory and in both stores."""

from __future__ import annotations

import json
from itertools import count
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, ClassVar, cast

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from patency.ledger import Appended, InstrumentSet, Ledger, Piece, Refused, open_ledger, rebuild
from tests.ledger.actor import PIECES, SETS, Actor
from tests.ledger.memory import Memory
from tests.ledger.quay import Desk
from tests.ledger.witness import Witness

if TYPE_CHECKING:
    from tests.ledger.postgresql import Server

CHANCE = st.randoms(use_true_random=False)


class Histories(RuleBasedStateMachine):
    """Somebody acts by chance, a witness who knows only the events watches."""

    seen: ClassVar[dict[str, int]] = {}

    def __init__(self) -> None:
        super().__init__()
        self.actor = Actor(Desk(self.open()))
        self.witness, self.watched = Witness(), 0

    def open(self) -> Ledger:
        return cast("Ledger", Memory())

    def events_after(self, seq: int) -> list[dict[str, Any]]:
        return cast("Memory", self.actor.desk.ledger).events[seq:]

    @rule(rng=CHANCE)
    def goes_on(self, rng: Random) -> None:
        self.actor.on(rng)

    @rule(rng=CHANCE)
    def goes_on_a_good_way(self, rng: Random) -> None:
        for _ in range(12):
            self.actor.on(rng)

    @rule(rng=CHANCE)
    def counts(self, rng: Random) -> None:
        self.actor.count(rng)

    @rule(rng=CHANCE)
    def puts_a_piece_elsewhere(self, rng: Random) -> None:
        self.actor.put(rng)

    @rule(rng=CHANCE)
    def holds(self, rng: Random) -> None:
        self.actor.hold(rng)

    @rule(rng=CHANCE)
    def lifts(self, rng: Random) -> None:
        self.actor.lift(rng)

    @rule(rng=CHANCE)
    def corrects(self, rng: Random) -> None:
        self.actor.correct(rng)

    @rule(rng=CHANCE)
    def permits_an_incomplete_set(self, rng: Random) -> None:
        self.actor.override(rng)

    @rule(rng=CHANCE)
    def tests_a_machine(self, rng: Random) -> None:
        self.actor.test(rng)

    @rule(rng=CHANCE)
    def counts_takes_and_gives_back(self, rng: Random) -> None:
        for _ in range(4):
            self.actor.stock(rng)

    @invariant()
    def the_witness_saw_nothing_wrong_and_the_ledger_says_the_same(self) -> None:
        for event in self.events_after(self.watched):
            self.witness.sees(event)
            self.watched = event["seq"]
            self.seen[type(self).__name__] = self.seen.get(type(self).__name__, 0) + 1
        find = self.actor.desk.ledger.find
        assert set(self.witness.place) == set(PIECES)
        for key in PIECES:
            piece = find(Piece, key)
            assert piece is not None
            assert self.witness.place[key] == f"{piece.place.where} {piece.place.key}"
        for name in SETS:
            held = find(InstrumentSet, name)
            assert held is not None
            inside = tuple(sorted(key for key, place in self.witness.place.items() if place == f"set {name}"))
            assert (held.state, held.pieces) == (self.witness.state[name], inside)


def test_random_histories_never_break_a_rule() -> None:
    run_state_machine_as_test(Histories, settings=settings(max_examples=30, stateful_step_count=25))
    assert Histories.seen["Histories"] > 1000


@pytest.mark.parametrize("seed", range(12))
def test_long_histories_never_break_a_rule(seed: int) -> None:
    memory, rng = Memory(), Random(seed)
    actor = Actor(Desk(cast("Ledger", memory)))
    for _ in range(150):
        actor.act(rng)
    witness = Witness()
    for event in memory.events:
        witness.sees(event)
    assert len(memory.events) > 70


class Kept(Histories):
    """The same with a ledger that is kept, in which every command comes twice."""

    def events_after(self, seq: int) -> list[dict[str, Any]]:
        return [json.loads(entry.body) for entry in self.actor.desk.ledger.entries() if entry.seq > seq]

    def teardown(self) -> None:
        ledger = self.actor.desk.ledger
        assert ledger.verify() == []
        assert rebuild(ledger) == []
        ledger.close()


class _Twice(Ledger):
    """A ledger that is told everything twice under the same key."""

    def append(self, command: Any, around: Any) -> Appended | Refused:  # noqa: ANN401 - passed on as they come
        first = super().append(command, around)
        again = super().append(command, around)
        if isinstance(first, Appended):
            assert isinstance(again, Appended)
            assert (again.first, again.last, again.repeated) == (first.first, first.last, True)
        else:
            assert again == first
        return first


def new_ledger_told_twice(place: str) -> Ledger:
    return _Twice(open_ledger(place, create=True).store)


KEPT = settings(max_examples=3, stateful_step_count=10, suppress_health_check=list(HealthCheck))


@pytest.mark.slow
def test_random_histories_never_break_a_rule_in_sqlite() -> None:
    with TemporaryDirectory() as folder:
        numbers = count(1)

        class InSqlite(Kept):
            def open(self) -> Ledger:
                return new_ledger_told_twice(str(Path(folder) / f"{next(numbers)}.sqlite"))

        run_state_machine_as_test(InSqlite, settings=KEPT)
    assert Histories.seen["InSqlite"] > 60


@pytest.mark.slow
def test_random_histories_never_break_a_rule_in_postgresql(server: Server) -> None:
    numbers = count(1)

    class InPostgresql(Kept):
        def open(self) -> Ledger:
            return new_ledger_told_twice(server.new_database(f"history{next(numbers)}"))

    run_state_machine_as_test(InPostgresql, settings=KEPT)
    assert Histories.seen["InPostgresql"] > 60

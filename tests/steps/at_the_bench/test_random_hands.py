"""Random hands at the bench, right and wrong: no rule of the ledger is ever broken, in both stores."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patency.demo.bench_history import write_history
from patency.ledger import (
    InstrumentSet,
    Kind,
    LiftHold,
    Piece,
    Refused,
    ReleaseLoad,
    Result,
    Seen,
    SetHold,
    Stock,
    open_ledger,
    rebuild,
)
from patency.steps import (
    Wrong,
    all_seen,
    assemble_set,
    begin_load,
    bind_pod,
    choose_way,
    confirm_step,
    count_back,
    count_pieces,
    dismantle_set,
    end_load,
    found_in_box,
    inspect_set,
    issue_set,
    missing_of,
    note_broken,
    note_looked,
    note_off,
    pack_set,
    receive_set,
    show_loading,
    show_unloading,
    start_bath,
    start_load,
    store_set,
    take_over,
    undo_step,
    use_set,
    wash_again,
    ways_on,
)
from tests.demo.larkmere import larkmere
from tests.ledger.postgresql import private_server
from tests.ledger.witness import Witness
from tests.steps.at_the_bench.bench import START, Hands

if TYPE_CHECKING:
    from collections.abc import Iterator

SETS = ("Gallbladder One", "Gallbladder Two", "Visiting Wrist")
PEOPLE = ("loader-1", "loader-2", "assembler-1", "lead-2", "auditor-1", "nobody-1")


class RandomHands(Hands):
    """Does the next sensible thing to a set or load, or now and then something that makes no sense."""

    def anyone(self, rng: Random) -> str:
        return "lead-2" if rng.random() < 0.8 else rng.choice(PEOPLE)

    def to_a_set(self, rng: Random) -> object:
        name = rng.choice(SETS)
        found, around = self.set_now(name), self.around(self.anyone(rng))
        seen = all_seen(found)
        if rng.random() < 0.15 and seen:
            del seen[rng.choice(sorted(seen))]
        acts: list[Callable[[], object]] = [
            lambda: receive_set(self.work, name, around),
            lambda: count_pieces(self.work, name, seen, around),
            lambda: bind_pod(self.work, name, f"pod {rng.randint(1, 3)}", around),
            lambda: dismantle_set(self.work, name, seen, around),
            lambda: start_bath(self.work, name, "mod5", "soak", around),
            lambda: inspect_set(self.work, name, seen, around),
            lambda: assemble_set(self.work, name, seen, around),
            lambda: pack_set(self.work, name, seen, around),
            lambda: store_set(self.work, name, around),
            lambda: issue_set(self.work, name, f"case-{self.number}", around),
            lambda: use_set(self.work, name, around),
            lambda: wash_again(self.work, name, "by chance", around),
            lambda: self.found(name, rng),
        ]
        return rng.choice([*acts[:4], *acts])()

    def found(self, name: str, rng: Random) -> object:
        gone = missing_of(self.work, name)
        piece = gone[0].key if gone else rng.choice(self.set_now(name).pieces)
        return found_in_box(self.work, piece, rng.choice(SETS), Seen.BY_EYE, self.around())

    def to_the_load(self, rng: Random) -> object:
        around = self.around(self.anyone(rng))
        shown = show_loading(self.work, "L1")
        assert not isinstance(shown, Refused)
        step = rng.choice(shown.steps).key if rng.random() < 0.2 or shown.now is None else shown.now.key
        acts: list[Callable[[], object]] = [
            lambda: begin_load(self.work, "L1", around),
            lambda: confirm_step(self.work, "L1", step, (), around),
            lambda: undo_step(self.work, "L1", around),
            lambda: take_over(self.work, "L1", around),
            lambda: end_load(self.work, "L1", completed=rng.random() < 0.8, around=around),
            lambda: note_looked(self.work, "L1", around),
            lambda: note_off(self.work, "L1", "H3", around),
            lambda: self.start(rng),
            lambda: self.otherwise(rng),
            lambda: self.back(rng),
            lambda: self.release(rng),
        ]
        return rng.choice([acts[1]] * 12 + acts)()

    def start(self, rng: Random) -> object:
        from patency.steps import show_before_start

        before = show_before_start(self.work, "L1")
        assert not isinstance(before, Refused)
        machine = before.machine if rng.random() < 0.8 else "Birch"
        three = (before.carrier, machine, before.programme)
        return start_load(self.work, "L1", three, before.checks, self.around("lead-2"))

    def otherwise(self, rng: Random) -> object:
        ways = ways_on(self.work, "L1", rng.choice(list(Wrong)), rng.choice(("H4", "H18", "T1", "N3")))
        if isinstance(ways, Refused) or not ways.ways:
            return ways
        return choose_way(self.work, ways, rng.choice(ways.ways).key, "by chance", self.around("loader-1", "lead-2"))

    def back(self, rng: Random) -> object:
        shown = show_unloading(self.work, "L1")
        if isinstance(shown, Refused):
            return shown
        back = {key: max(0, number - (rng.random() < 0.2)) for key, number in shown.taken.items()}
        return count_back(self.work, "L1", back, rng.choice(("", "torn")), self.around("lead-2"))

    def release(self, rng: Random) -> object:
        result = Result(format="example/1", verdict="met" if rng.random() < 0.8 else "not met")
        sets = tuple(rng.sample(SETS[:2], rng.randint(1, 2)))
        return self.ledger.append(ReleaseLoad(load="L1", sets=sets, evidence=result), self.around("releaser-1"))

    def holds(self, rng: Random) -> object:
        held = [hold for name in SETS for hold in self.ledger.holds(Kind.SET, name)]
        if held and rng.random() < 0.6:
            lift = LiftHold(hold=rng.choice(held).hold, why="by chance")
            return self.ledger.append(lift, self.around("lead-1", "lead-2"))
        hold = SetHold(hold=f"h-{self.number}", scope=Kind.SET, key=rng.choice(SETS), reason="by chance")
        return self.ledger.append(hold, self.around())

    def broken(self, rng: Random) -> object:
        return note_broken(self.work, rng.choice(("hose_cap", "flushing_sleeve_m")), 1, "torn", self.around("lead-2"))

    def act(self, rng: Random) -> None:
        acts = [self.to_a_set] * 8 + [self.to_the_load] * 10 + [self.holds] + [self.broken]
        rng.choice(acts)(rng)


def watch(hands: Hands) -> None:
    """Let a witness who knows only the events, and the rules, look at all of them."""
    witness = Witness()
    for entry in hands.ledger.entries():
        witness.sees(json.loads(entry.body))
    for piece in hands.ledger.all_of(Piece):
        assert witness.place[piece.piece] == f"{piece.place.where} {piece.place.key}"
    for found in hands.ledger.all_of(InstrumentSet):
        assert witness.state[found.set_key] == found.state
    assert all(stock.free >= 0 for stock in hands.ledger.all_of(Stock))
    shown = show_loading(hands.work, "L1")
    assert not isinstance(shown, Refused)
    assert len(shown.done) == len({*shown.done})
    ports = [one.port for piece in shown.load.pieces for one in piece.lumens]
    assert len(ports) == len({*ports})
    assert rebuild(hands.ledger) == []


def play(place: str, rng: Random, acts: int) -> None:
    ledger = open_ledger(place)
    with closing(ledger):
        _play(RandomHands(ledger), rng, acts)


def _play(hands: RandomHands, rng: Random, acts: int) -> None:
    hands.ready(*SETS[:2])
    begin_load(hands.work, "L1", hands.around("lead-2"))
    hands.at = START + timedelta(hours=1)
    before = hands.ledger.count()
    for _ in range(acts):
        hands.act(rng)
    assert hands.ledger.count() > before + acts // 10  # much of it was refused, enough was not
    watch(hands)


@pytest.mark.slow
@settings(max_examples=2, suppress_health_check=list(HealthCheck), deadline=None)
@given(seed=st.integers(0, 10**9))
def test_random_hands_break_no_rule_in_sqlite(
    begun_day: str, tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:

    place = str(tmp_path_factory.mktemp("random") / "ledger.sqlite")
    shutil.copy(begun_day, place)
    play(place, Random(seed), 40)


@pytest.fixture(scope="module")
def database() -> Iterator[Callable[[], str]]:
    """Start a server and make databases in which the demo's day begins."""
    with private_server() as server:
        ledger = open_ledger(server.new_database("begun"), create=True)
        write_history(ledger, larkmere(), START + timedelta(hours=10))
        ledger.close()
        numbers = iter(range(100))
        yield lambda: server.new_database(f"random{next(numbers)}", template="begun")


@pytest.mark.slow
@settings(max_examples=2, suppress_health_check=list(HealthCheck), deadline=None)
@given(seed=st.integers(0, 10**9))
def test_random_hands_break_no_rule_in_postgresql(database: Callable[[], str], seed: int) -> None:
    play(database(), Random(seed), 40)

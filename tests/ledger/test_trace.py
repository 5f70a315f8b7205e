"""A trace lists what brute force finds, each with its reason and strength, and no more than can be proven."""

from __future__ import annotations

import json
from random import Random
from typing import TYPE_CHECKING, cast

import pytest

from patency.errors import InputError
from patency.ledger import (
    CountSet,
    Direction,
    Kind,
    Ledger,
    MoveSet,
    Place,
    Seen,
    SetState,
    Shared,
    Strength,
    TestMachine,
    Where,
    open_ledger,
)
from tests.ledger import brute
from tests.ledger.actor import PIECES, SETS, Actor
from tests.ledger.memory import Memory
from tests.ledger.quay import Desk

if TYPE_CHECKING:
    from patency.ledger import Trace
    from tests.ledger.postgresql import Server

S = SetState


def summary(trace: Trace) -> brute.Found:
    return {(item.kind.value, item.key): (item.distance, int(item.strength)) for item in trace.items}


def keys(trace: Trace, kind: Kind) -> set[str]:
    return {item.key for item in trace.items if item.kind is kind}


# --- against brute force ---------------------------------------------------------------------------------------------


def a_history(seed: int, steps: int, place: str) -> Ledger:
    """Let somebody act by chance in memory, then write what was taken at once."""
    rng, memory = Random(seed), Memory()
    actor = Actor(Desk(cast("Ledger", memory)))
    for _ in range(steps):
        actor.live(rng)
    ledger = open_ledger(place, create=True)
    assert isinstance(ledger.append_all(memory.taken), list)
    return ledger


def starts(account: brute.Account, events: list[dict[str, object]]) -> list[tuple[str, str]]:
    cases = sorted({went.key for went in account.ways if went.kind == "case"})
    samples = sorted({key for one in events if (key := cast("dict[str, str]", one["what"]).get("sample"))})
    return [
        *(("piece", key) for key in PIECES),
        *(("set", key) for key in SETS),
        *(("case", key) for key in cases),
        *(("load", key) for key in sorted(account.runs)),
        *(("machine", key) for key in ("Alder", "Birch", "North")),
        *(("sample", key) for key in samples),
    ]


def expected(
    account: brute.Account, events: list[dict[str, object]], kind: str, key: str, direction: str, shared: str
) -> brute.Found:
    if kind in {"load", "machine", "sample"}:
        loads = brute.suspect_loads(events, account, kind, key)
        exposures = brute.exposures_of_loads(account, loads)
        ways = [went for went in account.ways if went.key in loads]
        if direction == "backward":
            found = brute.backward(account, [(one, since, strength) for one, since, _, strength in exposures], shared)
            for went in ways:
                brute._note(found, "set", went.set_key, 0, 3)
        else:
            ends = account.runs[loads[0]]["kind"] if loads else ""
            found = brute.forward(account, exposures, shared, ends, frozenset(loads))
            for load in loads:
                brute._note(found, "load", load, 0, 3)
    elif direction == "forward":
        found = brute.forward(account, brute.exposures_of(account, kind, key, 1), shared)
    else:
        now = account.end + 1
        if kind == "piece":
            asked = [(key, now, 3 if account.marked[key] else 1)]
        elif kind == "set":
            asked = [(one, now, 2 if account.marked[one] else 1) for one in account.inside(key, account.end)]
        else:
            asked = [(one, since, strength) for one, since, _, strength in brute.exposures_of(account, kind, key, 1)]
        found = brute.backward(account, asked, shared)
        for went in account.ways:
            if kind == "case" and went.key == key:
                brute._note(found, "set", went.set_key, 0, 3)
    found.pop((kind, key), None)
    return found


def compare(ledger: Ledger) -> int:
    events = [json.loads(entry.body) for entry in ledger.entries()]
    account = brute.Account.of(events)
    compared = 0
    for number, (kind, key) in enumerate(starts(account, events)):
        for direction, shared in zip(
            Direction, (list(Shared)[number % 3], list(Shared)[(number + 1) % 3]), strict=True
        ):
            trace = ledger.trace(Kind(kind), key, direction, shared=shared)
            wanted = expected(account, events, kind, key, direction.value, shared.value)
            assert summary(trace) == wanted, (kind, key, direction, shared)
            compared += len(wanted)
            assert all(item.why for item in trace.items)
    return compared


@pytest.mark.parametrize("seed", [0, 3, 6])
def test_a_trace_finds_what_brute_force_finds(sqlite: str, seed: int) -> None:
    ledger = a_history(seed, 110, sqlite)
    assert compare(ledger) > 100
    ledger.close()


def test_a_trace_finds_the_same_in_postgresql(server: Server) -> None:
    ledger = a_history(3, 110, server.new_database("traced"))
    assert compare(ledger) > 100
    ledger.close()


# --- by hand ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def used(quick: Desk) -> Desk:
    """Two sets washed together and stored; one used in a case, washed with the other, which was then used too."""
    quick.wash("w1", ["Heron", "Otter"])
    quick.steam("s1", ["Heron", "Otter"])
    quick.use("case-1", "Heron")
    quick.use("case-2", "Otter")
    quick.wash("w2", ["Heron", "Otter"])
    quick.steam("s2", ["Heron", "Otter"])
    quick.use("case-3", "Otter")
    return quick


def test_from_a_case_its_pieces_what_they_were_washed_with_and_who_was_treated_later(used: Desk) -> None:
    trace = used.ledger.trace(Kind.CASE, "case-1")
    assert keys(trace, Kind.CASE) == {"case-3"}
    later = next(item for item in trace.items if item.key == "case-3")
    assert (later.distance, later.strength) == (1, Strength.SCANNED)
    assert [step.partition(" (")[0] for step in later.why] == [
        "set Heron was used in case case-1",
        "set Heron went through wash load w2",
        "set Otter was in the same load",
        "set Otter was used in case case-3",
    ]
    seal = next(item for item in trace.items if item.key == "Heron seal")
    assert seal.strength is Strength.MEMBER
    assert "no load clears a piece" in trace.scope
    assert any("unmarked" in line for line in trace.scope)


def test_from_a_load_only_what_was_used_before_its_next_released_wash(used: Desk) -> None:
    trace = used.ledger.trace(Kind.LOAD, "w1")
    assert keys(trace, Kind.CASE) == {"case-1", "case-2"}
    assert keys(trace, Kind.LOAD) == {"s1"}


def test_from_a_sample_the_loads_since_the_last_good_one(quick: Desk) -> None:
    quick.sample("water-1", within=True)
    quick.wash("w1", ["Heron"])
    quick.sample("water-2", within=False)
    quick.wash("w2", ["Otter"])
    quick.sample("water-3", within=True)
    for name in ("Heron", "Otter"):
        quick.do(MoveSet(set_key=name, to=S.REWASH, why="water"))
    trace = quick.ledger.trace(Kind.SAMPLE, "water-2")
    assert keys(trace, Kind.LOAD) == {"w1", "w2"}
    assert keys(trace, Kind.SET) == {"Heron", "Otter"}
    assert "the last sample within its limits before is event" in trace.scope[0]


def test_from_a_sterilizer_the_loads_since_the_last_passed_test(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    quick.steam("s1", ["Heron"])
    quick.do(TestMachine(machine="North", test="daily", passed=True))
    quick.steam("s2", ["Otter"])
    quick.do(TestMachine(machine="North", test="daily", passed=False))
    trace = quick.ledger.trace(Kind.MACHINE, "North")
    assert keys(trace, Kind.LOAD) == {"s2"}
    assert keys(trace, Kind.SET) == {"Otter"}


def test_backward_from_a_case_the_loads_the_machines_and_the_case_before(used: Desk) -> None:
    trace = used.ledger.trace(Kind.CASE, "case-3", Direction.BACKWARD)
    assert {item.key for item in trace.items if item.kind is Kind.LOAD and item.distance == 0} == {"w2", "s2"}
    assert keys(trace, Kind.MACHINE) == {"Alder", "North"}
    assert {item.key: item.distance for item in trace.items if item.kind is Kind.CASE} == {"case-2": 0, "case-1": 1}


def test_a_piece_that_cannot_be_told_from_another_brings_it_along(quick: Desk) -> None:
    quick.enrol("Wren", {"Wren left": "*ring", "Wren right": "*ring", "Wren tube": "tube"})
    quick.wash("w1", ["Wren"])
    quick.steam("s1", ["Wren"])
    quick.use("case-1", "Wren")
    trace = quick.ledger.trace(Kind.PIECE, "Wren left")
    assert keys(trace, Kind.PIECE) == {"Wren right"}
    assert all(item.strength is Strength.MEMBER for item in trace.items)
    assert "piece Wren right cannot be told from piece Wren left" in trace.scope
    marked = quick.ledger.trace(Kind.PIECE, "Wren tube")
    assert keys(marked, Kind.PIECE) == set()
    assert {item.strength for item in marked.items if item.kind is Kind.CASE} == {Strength.SCANNED}


def test_a_piece_found_elsewhere_is_followed_in_both_sets_for_the_time_in_doubt(quick: Desk) -> None:
    for name in ("Heron", "Otter"):
        quick.move(name, S.DISMANTLED)
    quick.run("w1", "Alder", ["Heron"])
    quick.run("w2", "Birch", ["Otter"])
    here = quick.seen("Heron", scanned=False)
    del here["Heron seal"]
    quick.do(CountSet(set_key="Heron", seen=here))
    quick.do(CountSet(set_key="Otter", seen={**quick.seen("Otter"), "Heron seal": Seen.BY_EYE}))
    trace = quick.ledger.trace(Kind.PIECE, "Heron seal", shared=Shared.NONE)
    assert keys(trace, Kind.LOAD) == {"w1", "w2"}
    assert keys(trace, Kind.SET) == {"Heron", "Otter"}
    aside = Place(where=Where.SPARE, key="shelf 2")
    quick.do(quick.taking("Heron seal", to=aside, why="belongs to Heron"))
    assert keys(quick.ledger.trace(Kind.PIECE, "Heron seal", since=quick.ledger.head().seq), Kind.SET) == set()


def test_only_the_time_asked_for_is_looked_at(used: Desk) -> None:
    first = used.ledger.trace(Kind.SET, "Heron").items
    since = used.ledger.story("load", "w2")[0]["seq"]
    later = used.ledger.trace(Kind.SET, "Heron", since=since)
    assert keys(later, Kind.LOAD) == {"w2", "s2"}
    assert len(later.items) < len(first)
    until = used.ledger.trace(Kind.SET, "Heron", until=since)
    assert keys(until, Kind.LOAD) == {"w1", "s1"}


@pytest.mark.parametrize(
    ("kind", "key", "told"),
    [
        (Kind.PIECE, "ghost", "piece ghost: is not known"),
        (Kind.CASE, "case-9", "case case-9: is not known"),
        (Kind.PERSON, "lead-1", "person: cannot be traced"),
    ],
)
def test_what_is_not_known_is_told(quick: Desk, kind: Kind, key: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        quick.ledger.trace(kind, key)

"""Accessories are never given out twice and are counted back; what a person can do is seen by another and ends."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

from patency.ledger import (
    Appended,
    AssessPerson,
    CountAccessory,
    Kind,
    LoadKind,
    Method,
    PermitPerson,
    Person,
    PlanLoad,
    ReturnAccessories,
    Role,
    SetHold,
    StartLoad,
    Stock,
    TakeAccessories,
    Taken,
    rebuild,
)
from tests.ledger.quay import Desk

RIDE = {"machine": "Alder", "carrier": "Lapwing", "programme": "gentle"}


def planned(desk: Desk, *loads: str) -> None:
    for load in loads:
        desk.do(PlanLoad.model_validate({"load": load, "kind": LoadKind.WASH, "sets": ("Heron",), **RIDE}))
    desk.do(CountAccessory(accessory="hose cap", usable=10, why="beginning of the shift"))


def stock(desk: Desk) -> Stock:
    found = desk.ledger.find(Stock, "hose cap")
    assert found is not None
    return found


def test_what_one_load_has_no_other_gets(desk: Desk) -> None:
    planned(desk, "w1", "w2")
    desk.do(TakeAccessories(load="w1", taken={"hose cap": 7}))
    told = desk.refusal(TakeAccessories(load="w2", taken={"hose cap": 4}))
    assert told == "accessory hose cap: 4 are asked for and 3 are free (expected: at most 3)"
    desk.do(TakeAccessories(load="w1", taken={"hose cap": 6}))
    desk.do(TakeAccessories(load="w2", taken={"hose cap": 4}))
    assert stock(desk).out == {"w1": 6, "w2": 4}
    assert rebuild(desk.ledger) == []


def test_what_does_not_come_back_needs_a_reason_and_is_gone(desk: Desk) -> None:
    planned(desk, "w1")
    desk.do(TakeAccessories(load="w1", taken={"hose cap": 7}))
    assert "gives 8 hose cap back, has 7" in desk.refusal(ReturnAccessories(load="w1", back={"hose cap": 8}))
    assert "1 hose cap did not come back" in desk.refusal(ReturnAccessories(load="w1", back={"hose cap": 6}))
    desk.do(ReturnAccessories(load="w1", back={"hose cap": 6}, why="torn"))
    assert (stock(desk).usable, stock(desk).free) == (9, 9)
    assert desk.ledger.find(Taken, "w1") == Taken(load="w1", taken={})
    assert "has no accessories" in desk.refusal(ReturnAccessories(load="w1", back={"hose cap": 6}))
    assert [event["event"] for event in desk.ledger.story("accessory", "hose cap")] == [
        "accessory counted",
        "accessories taken",
        "accessories returned",
    ]


def test_no_fewer_are_counted_than_the_loads_have(desk: Desk) -> None:
    planned(desk, "w1")
    desk.do(TakeAccessories(load="w1", taken={"hose cap": 7}))
    assert "7 are in loads" in desk.refusal(CountAccessory(accessory="hose cap", usable=6, why="cracked"))
    desk.do(CountAccessory(accessory="hose cap", usable=8, why="two cracked"))
    assert stock(desk).free == 1


def test_a_load_that_runs_takes_nothing_more(quick: Desk) -> None:
    planned(quick, "w1")
    quick.refusal(StartLoad.model_validate({"load": "w1", **RIDE}))
    assert "is not known" in quick.refusal(TakeAccessories(load="w9", taken={"hose cap": 1}))
    quick.wash("w3", ["Otter"])
    assert "load w3: is ended" in quick.refusal(TakeAccessories(load="w3", taken={"hose cap": 1}))


def test_two_stations_at_one_moment_do_not_get_the_same_caps(desk: Desk) -> None:
    loads = [f"w{number}" for number in range(1, 9)]
    planned(desk, *loads)
    asked = [(TakeAccessories(load=load, taken={"hose cap": 3}), desk.around("lead-1")) for load in loads]
    with ThreadPoolExecutor(4) as pool:
        outcomes = list(pool.map(lambda one: desk.ledger.append(*one), asked))
    assert sum(isinstance(outcome, Appended) for outcome in outcomes) == 3
    assert stock(desk).free == 1


def test_what_a_person_can_do_is_seen_by_a_lead_and_ends(desk: Desk) -> None:
    until = desk.at.date() + timedelta(days=30)
    shown = AssessPerson(person="loader-1", family="trocar sleeve", method=Method.OBSERVED, until=until)
    assert "a person permitted as lead" in desk.refusal(shown, "loader-1")
    assert "assesses themself" in desk.refusal(shown.model_copy(update={"person": "lead-1"}), "lead-1")
    past = shown.model_copy(update={"until": date(2020, 1, 1)})
    assert "counts until 2020-01-01" in desk.refusal(past)
    desk.do(shown)
    desk.do(AssessPerson(person="loader-1", family="optic", method=Method.THEORY, until=until))
    desk.do(PermitPerson(person="loader-1", roles={Role.LOADER: None}), "admin-1")
    person = desk.ledger.find(Person, "loader-1")
    assert person is not None
    assert person.able("trocar sleeve", until)
    assert not person.able("trocar sleeve", until + timedelta(days=1))
    assert not person.able("optic", until)
    assert not person.able("cable", until)


def test_the_holds_on_a_set_are_those_on_all_that_bears_on_it(desk: Desk) -> None:
    desk.do(SetHold(hold="h-1", scope=Kind.TYPE, key="seal", reason="recalled by its maker"))
    desk.do(SetHold(hold="h-2", scope=Kind.PIECE, key="Heron tube", reason="nick"))
    assert [hold.hold for hold in desk.ledger.holds(Kind.SET, "Heron")] == ["h-1", "h-2"]
    assert [hold.hold for hold in desk.ledger.holds(Kind.SET, "Otter")] == ["h-1"]
    assert [hold.reason for hold in desk.ledger.holds(Kind.PIECE, "Heron tube")] == ["nick"]
    assert desk.ledger.holds(Kind.MACHINE, "Alder") == []
    assert desk.ledger.holds(Kind.SET, "nobody's") == []

"""A held item is not planned, loaded, started, released or issued, whichever way it is asked."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from patency.ledger import (
    EndLoad,
    InstrumentSet,
    Kind,
    LiftHold,
    LoadKind,
    MoveSet,
    Place,
    PlanLoad,
    Refused,
    ReleaseLoad,
    SetHold,
    SetState,
    StartLoad,
    TestMachine,
    Where,
    read_command,
)
from tests.ledger.quay import MET, Desk

S = SetState
ON_THE_SET = [
    (Kind.SET, "Heron"),
    (Kind.PIECE, "Heron seal"),
    (Kind.TYPE, "seal"),
    (Kind.TYPE, "type of Heron"),
]
RIDE = {"machine": "Alder", "carrier": "Lapwing", "programme": "gentle"}
PLAN = PlanLoad.model_validate({"load": "w1", "kind": LoadKind.WASH, "sets": ("Heron",), **RIDE})
START = StartLoad.model_validate({"load": "w1", **RIDE})


def hold(desk: Desk, scope: Kind, key: str) -> None:
    desk.do(SetHold(hold="h-1", scope=scope, key=key, reason="prion risk"), "loader-1")


@pytest.mark.parametrize(("scope", "key"), [*ON_THE_SET, (Kind.MACHINE, "Alder")])
def test_what_is_held_is_not_planned(quick: Desk, scope: Kind, key: str) -> None:
    hold(quick, scope, key)
    assert "is held by h-1" in quick.refusal(PLAN)


@pytest.mark.parametrize(("scope", "key"), [*ON_THE_SET, (Kind.LOAD, "w1"), (Kind.MACHINE, "Alder")])
def test_what_is_held_is_neither_loaded_nor_started(quick: Desk, scope: Kind, key: str) -> None:
    quick.move("Heron", S.DISMANTLED)
    quick.do(PLAN)
    hold(quick, scope, key)
    into = MoveSet(set_key="Heron", to=S.LOADED, load="w1", seen=quick.seen("Heron"))
    assert "is held by h-1" in quick.refusal(into)
    quick.do(LiftHold(hold="h-1", why="no risk"), "lead-1", "lead-2")
    quick.do(into)
    quick.do(SetHold(hold="h-2", scope=scope, key=key, reason="prion risk"))
    assert "is held by h-2" in quick.refusal(START)


@pytest.mark.parametrize(("scope", "key"), [*ON_THE_SET, (Kind.LOAD, "w1"), (Kind.MACHINE, "Alder")])
def test_a_running_load_comes_out_but_nothing_held_is_released(quick: Desk, scope: Kind, key: str) -> None:
    for name in ("Heron", "Otter"):
        quick.move(name, S.DISMANTLED)
    quick.start("w1", "Alder", ["Heron", "Otter"])
    hold(quick, scope, key)
    quick.do(EndLoad(load="w1", completed=True))
    release = ReleaseLoad(load="w1", sets=("Heron", "Otter"), evidence=MET)
    assert "is held by h-1" in quick.refusal(release)
    others = scope in {Kind.SET, Kind.PIECE} or key == "type of Heron"
    other = release.model_copy(update={"sets": ("Otter",)})
    assert isinstance(quick.ask(other), Refused) is not others


@pytest.mark.parametrize(("scope", "key"), ON_THE_SET)
def test_what_is_held_is_not_taken_apart_packed_or_issued(quick: Desk, scope: Kind, key: str) -> None:
    hold(quick, scope, key)
    taken_apart = MoveSet(set_key="Heron", to=S.DISMANTLED, seen=quick.seen("Heron"))
    assert "set Heron: is held by h-1" in quick.refusal(taken_apart)
    quick.do(LiftHold(hold="h-1", why="no risk"), "lead-1", "lead-2")
    quick.wash("w1", ["Heron", "Otter"])
    quick.steam("s1", ["Heron", "Otter"])
    quick.do(SetHold(hold="h-2", scope=scope, key=key, reason="recalled"))
    assert "set Heron: is held by h-2" in quick.refusal(MoveSet(set_key="Heron", to=S.ISSUED, case="case-1"))


def test_a_hold_that_comes_after_issue_is_written_beside_what_happened_all_the_same(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    quick.steam("s1", ["Heron", "Otter"])
    quick.move("Heron", S.ISSUED, case="case-1")
    hold(quick, Kind.SET, "Heron")
    quick.move("Heron", S.IN_USE)
    assert quick.ledger.story("set", "Heron")[-1]["what"]["despite"] == ["h-1"]


def test_a_held_piece_goes_to_quarantine_and_nowhere_else(quick: Desk) -> None:
    hold(quick, Kind.PIECE, "Heron seal")
    for where in (Where.SPARE, Where.REPAIR, Where.RETIRED, Where.OWNER):
        aside = quick.taking("Heron seal", to=Place(where=where, key="there"), why="broken")
        assert "piece Heron seal: is held by h-1" in quick.refusal(aside)
    into = quick.taking("Heron seal", to=Place(where=Where.SET, key="Otter"), why="swap")
    assert "is held by h-1" in quick.refusal(into)
    quick.do(quick.taking("Heron seal", to=Place(where=Where.QUARANTINE, key="box"), why="broken"))
    later = quick.taking("Heron seal", to=Place(where=Where.SET, key="Heron"), why="back")
    assert "is held by h-1" in quick.refusal(later)


def test_a_piece_does_not_leave_or_enter_a_held_set(quick: Desk) -> None:
    hold(quick, Kind.SET, "Heron")
    out = quick.taking("Heron seal", to=Place(where=Where.SET, key="Otter"), why="swap")
    assert "is held by h-1" in quick.refusal(out)
    into = quick.taking("Otter seal", to=Place(where=Where.SET, key="Heron"), why="swap")
    assert "set Heron: is held by h-1" in quick.refusal(into)


def test_an_import_meets_the_same_holds_and_writes_nothing_of_the_rest(desk: Desk) -> None:
    hold(desk, Kind.SET, "Heron")
    before = desk.ledger.head()
    rows: list[dict[str, Any]] = [
        {"do": "plan load", "load": "w1", "kind": "wash", "sets": ["Otter"], **RIDE},
        {
            "do": "move set",
            "set_key": "Heron",
            "to": "dismantled",
            "seen": dict.fromkeys(desk.seen("Heron"), "by eye"),
        },
    ]
    batch = [(read_command(row, "import"), desk.around("lead-1")) for row in rows]
    outcome = desk.ledger.append_all(batch)
    assert isinstance(outcome, Refused)
    assert "set Heron: is held by h-1" in outcome.text
    assert desk.ledger.head() == before


@pytest.mark.parametrize(
    ("passed", "due", "told"),
    [
        (False, timedelta(days=9), "failed its test air removal"),
        (True, timedelta(minutes=30), "air removal was due at"),
    ],
)
def test_a_machine_with_a_failed_or_overdue_test_starts_nothing_and_releases_nothing(
    quick: Desk, passed: bool, due: timedelta, told: str
) -> None:
    for name in ("Heron", "Otter"):
        quick.move(name, S.DISMANTLED)
    quick.start("w1", "Alder", ["Heron"])
    quick.do(EndLoad(load="w1", completed=True))
    quick.do(TestMachine(machine="Alder", test="air removal", passed=passed, due=quick.at + due))
    quick.at += timedelta(hours=1)
    assert told in quick.refusal(ReleaseLoad(load="w1", sets=("Heron",), evidence=MET))
    plan = PLAN.model_copy(update={"load": "w2", "sets": ("Otter",)})
    quick.do(plan)
    quick.move("Otter", S.LOADED, load="w2")
    assert told in quick.refusal(START.model_copy(update={"load": "w2"}))
    quick.do(TestMachine(machine="Alder", test="air removal", passed=True, due=quick.at + timedelta(days=1)))
    quick.do(ReleaseLoad(load="w1", sets=("Heron",), evidence=MET))


def test_a_machine_without_a_test_on_record_starts_nothing(quick: Desk) -> None:
    from patency.ledger import EnrolMachine

    quick.do(EnrolMachine(machine="Cedar", kind=LoadKind.WASH))
    quick.move("Heron", S.DISMANTLED)
    quick.do(PLAN.model_copy(update={"machine": "Cedar"}))
    quick.move("Heron", S.LOADED, load="w1")
    start = START.model_copy(update={"machine": "Cedar"})
    assert "machine Cedar: has no test on record" in quick.refusal(start)


@pytest.mark.parametrize("what", ["machine", "carrier", "programme"])
def test_what_is_scanned_at_the_start_matches_the_plan(quick: Desk, what: str) -> None:
    quick.move("Heron", S.DISMANTLED)
    quick.do(PLAN)
    quick.move("Heron", S.LOADED, load="w1")
    assert f"{what} Birch was scanned" in quick.refusal(START.model_copy(update={what: "Birch"}))


def test_a_load_starts_with_all_that_was_planned_and_a_new_plan_keeps_what_is_in_it(quick: Desk) -> None:
    quick.do(PLAN.model_copy(update={"sets": ("Heron", "Otter")}))
    quick.move("Heron", S.DISMANTLED)
    quick.move("Heron", S.LOADED, load="w1")
    assert "set Otter is planned and not in it" in quick.refusal(START)
    assert "set Heron is in it already" in quick.refusal(PLAN.model_copy(update={"sets": ("Otter",)}))
    quick.do(PLAN)
    quick.do(START)
    found = quick.ledger.find(InstrumentSet, "Heron")
    assert found is not None
    assert found.load == "w1"


def test_an_aborted_load_sends_every_set_back_to_the_wash(quick: Desk) -> None:
    quick.move("Heron", S.DISMANTLED)
    quick.start("w1", "Alder", ["Heron"])
    quick.do(EndLoad(load="w1", completed=False))
    found = quick.ledger.find(InstrumentSet, "Heron")
    assert found is not None
    assert (found.state, found.load) == (S.REWASH, None)

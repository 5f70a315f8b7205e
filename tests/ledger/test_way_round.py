"""A set goes all the way round, by the transitions of its states and by no other."""

from __future__ import annotations

from itertools import pairwise

import pytest

from patency.ledger import (
    InstrumentSet,
    Kind,
    LiftHold,
    LoadRecord,
    LoadState,
    MoveSet,
    SetHold,
    SetState,
    next_states,
)
from tests.ledger.quay import Desk

S = SetState
ROUND = [
    S.STORED, S.ISSUED, S.IN_USE, S.USED, S.RECEIVED, S.DISMANTLED, S.LOADED, S.WASHED, S.WASH_RELEASED, S.INSPECTED,
    S.ASSEMBLED, S.PACKED, S.STEAM_LOADED, S.STEAM_RUN, S.STERILE_RELEASED, S.STORED,
]  # fmt: skip


def state_of(desk: Desk, set_key: str) -> SetState:
    found = desk.ledger.find(InstrumentSet, set_key)
    assert found is not None
    return found.state


def test_a_set_goes_all_the_way_round_and_its_story_tells_each_step(desk: Desk) -> None:
    desk.wash("w1", ["Heron", "Otter"])
    desk.steam("s1", ["Heron", "Otter"])
    desk.use("case-1", "Heron")
    desk.wash("w2", ["Heron"])
    story = [event["what"].get("to") or event["event"] for event in desk.ledger.story("set", "Heron")]
    assert story[0] == "set enrolled"
    middle = ["load released", "inspected", "assembled", "packed", "steam-loaded", "load ended", "load released"]
    assert story[1:] == [
        *["dismantled", "loaded", "load ended", *middle, "sterile-stored"],
        *["issued", "in-use", "used", "received", "dismantled", "loaded", "load ended", "load released"],
    ]
    assert state_of(desk, "Heron") is S.WASH_RELEASED
    load = desk.ledger.find(LoadRecord, "w1")
    assert load is not None
    assert load.state is LoadState.ENDED
    assert desk.ledger.verify() == []


def test_every_event_says_who_when_where_what_and_on_what_it_relied(desk: Desk) -> None:
    desk.do(MoveSet(set_key="Heron", to=S.QUARANTINE, why="label unreadable"), "loader-1")
    event = desk.ledger.story("set", "Heron")[-1]
    assert event["who"] == {"person": "loader-1", "confirmed": "badge"}
    assert event["station"] == "sink 1"
    assert event["clock"] == "station clock, time server"
    assert event["at"] == event["recorded"] == desk.at.isoformat().replace("+00:00", "Z")
    assert event["relies_on"] == {"plan": "plan-7", "catalogue": "catalogue-3", "limits": "limits-5"}
    assert event["what"] == {
        "set_key": "Heron", "from_state": "received", "to": "quarantine", "why": "label unreadable",
    }  # fmt: skip


@pytest.mark.parametrize(("state", "following"), list(pairwise(ROUND)))
def test_each_state_of_the_way_round_is_followed_by_the_next(state: SetState, following: SetState) -> None:
    assert next_states(state) & set(ROUND) == {following}


def test_all_states_can_be_reached_and_only_retired_is_an_end() -> None:
    reached, waiting = {S.RECEIVED}, [S.RECEIVED]
    while waiting:
        more = next_states(waiting.pop()) - reached
        reached |= more
        waiting += more
    assert reached == set(SetState)
    assert [state for state in SetState if not next_states(state)] == [S.RETIRED]


@pytest.mark.parametrize("to", list(SetState))
def test_a_received_set_goes_nowhere_else_than_its_state_allows(quick: Desk, to: SetState) -> None:
    allowed = {S.DISMANTLED, S.MISSING_PART, S.QUARANTINE}
    command = MoveSet(set_key="Heron", to=to, seen=quick.seen("Heron") if to is S.DISMANTLED else {}, why="asked")
    if to in allowed:
        quick.do(command)
        assert state_of(quick, "Heron") is to
    else:
        assert "set Heron: is received and cannot become" in quick.refusal(command)


def test_no_hand_makes_a_set_washed_or_released(quick: Desk) -> None:
    quick.move("Heron", S.DISMANTLED)
    quick.move("Otter", S.DISMANTLED)
    quick.start("w1", "Alder", ["Heron", "Otter"])
    assert "cannot be made washed by hand" in quick.refusal(MoveSet(set_key="Heron", to=S.WASHED))
    assert "is running" in quick.refusal(MoveSet(set_key="Heron", to=S.REWASH, why="door opened"))


def test_quarantine_leads_back_only_with_a_second_person_and_without_a_hold(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    for state in (S.INSPECTED, S.ASSEMBLED, S.PACKED):
        quick.move("Heron", state)
    quick.do(MoveSet(set_key="Heron", to=S.QUARANTINE, why="indicator awaited"), "assembler-1")
    quick.do(SetHold(hold="h-1", scope=Kind.SET, key="Heron", reason="implant"), "assembler-1")
    back = MoveSet(set_key="Heron", to=S.PACKED, expires=quick.at.replace(year=2027))
    reasons = quick.refusal(back)
    assert "confirms alone" in reasons
    assert "is held by h-1" in reasons
    quick.do(LiftHold(hold="h-1", why="read and accepted"), "lead-1", "lead-2")
    quick.do(back, "lead-1", "lead-2")
    assert state_of(quick, "Heron") is S.PACKED


def test_a_set_is_issued_only_in_date(quick: Desk) -> None:
    quick.wash("w1", ["Heron", "Otter"])
    for state in (S.INSPECTED, S.ASSEMBLED):
        quick.move("Heron", state)
    undated = MoveSet(set_key="Heron", to=S.PACKED, seen=quick.seen("Heron"))
    assert "packed without a date" in quick.refusal(undated)
    quick.move("Heron", S.PACKED, expires=quick.at.replace(hour=23))
    quick.run("s1", "North", ["Heron"])
    quick.move("Heron", S.STORED)
    quick.at = quick.at.replace(day=20)
    assert "may be issued until 2026-05-12" in quick.refusal(MoveSet(set_key="Heron", to=S.ISSUED, case="case-1"))


def test_a_loaned_set_goes_back_and_one_of_our_own_does_not(quick: Desk) -> None:
    quick.enrol("Guest", {"Guest tube": "tube"}, loaned=True)
    quick.wash("w1", ["Heron", "Guest"])
    home = {
        name: MoveSet(set_key=name, to=S.LOAN_RETURN, seen=quick.seen(name), why="due") for name in ("Heron", "Guest")
    }
    assert "is not on loan" in quick.refusal(home["Heron"])
    quick.do(home["Guest"])
    assert state_of(quick, "Guest") is S.LOAN_RETURN

"""The release over the web: evidence first, a named decision with the PIN again, a refusal that leads on."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from patency.ledger import (
    Appended,
    Circumstances,
    Confirmation,
    EndLoad,
    InstrumentSet,
    Kind,
    LoadKind,
    MoveSet,
    PlanLoad,
    Result,
    Seen,
    SetState,
    StartLoad,
    Who,
)
from patency.steps import Decision, board_of, note_looked, note_off, release_load, show_decision
from tests.bench.desk import PINS, Desk, csrf, sign_in

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

    from patency.ledger import Command

pytestmark = pytest.mark.slow


class Round:
    """Takes the sets of a load through the machine, as the day would."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.number = desk, 0

    def around(self, who: str) -> Circumstances:
        self.number += 1
        self.desk.hands.on(minutes=1)
        at = self.desk.hands.at
        by = Who(person=who, confirmed=Confirmation.BADGE)
        return Circumstances(command=f"r{self.number}", who=by, at=at, clock="c", recorded=at, station="soiled side 1")

    def do(self, command: Command, who: str = "loader-1") -> None:
        outcome = self.desk.opened.ledger.append(command, self.around(who))
        assert isinstance(outcome, Appended), outcome.text

    def seen(self, key: str) -> dict[str, Seen]:
        found = self.desk.opened.ledger.find(InstrumentSet, key)
        assert found is not None
        return dict.fromkeys(found.pieces, Seen.BY_EYE)

    def run(self, load_id: str) -> None:
        load = next(one for one in self.desk.opened.plan.loads if one.id == load_id)
        machine, carrier, programme = load.machine, load.carrier, load.programme
        plan = PlanLoad(
            load=load_id, kind=LoadKind.WASH, sets=load.sets, machine=machine, carrier=carrier, programme=programme
        )
        self.do(plan)
        for key in load.sets:
            if state_of(self.desk, key) is SetState.IN_USE:
                self.do(MoveSet(set_key=key, to=SetState.USED))
            self.do(MoveSet(set_key=key, to=SetState.RECEIVED))
            self.do(MoveSet(set_key=key, to=SetState.DISMANTLED, seen=self.seen(key)))
            self.do(MoveSet(set_key=key, to=SetState.LOADED, seen=self.seen(key), load=load_id))
        self.do(StartLoad(load=load_id, machine=machine, carrier=carrier, programme=programme))
        self.desk.hands.on(minutes=66)
        self.do(EndLoad(load=load_id, completed=True), "assembler-1")

    def decision(self, load_id: str) -> Decision:
        opened = self.desk.opened
        found = show_decision(
            opened.workplace, load_id, opened.folder / "records", self.desk.hands.at.date(), opened.judged
        )
        assert isinstance(found, Decision)
        return found


@pytest.fixture
def ran(desk: Desk) -> Round:
    """A desk at which the load of the two gall bladder sets came out."""
    around = Round(desk)
    around.run("L1")
    return around


def decide(client: TestClient, **form: str) -> int:
    sign_in(client, "releaser-1")
    page = client.get("/release/L1")
    form = {"csrf": csrf(page.text), "command": f"d-{len(form)}-{form['decision']}", **form}
    return client.post("/release/L1", data=form, follow_redirects=False).status_code


def state_of(desk: Desk, key: str = "Gallbladder One") -> SetState:
    found = desk.opened.ledger.find(InstrumentSet, key)
    assert found is not None
    return found.state


def test_nothing_is_released_without_a_record_or_before_somebody_looked(client: TestClient, ran: Round) -> None:
    desk = ran.desk
    assert "every hose and sleeve seen at unloading" in _states(ran.decision("L1"))["not evaluated"]
    record = desk.opened.folder / "records" / "load-L1.csv"
    record.rename(record.with_suffix(".kept"))
    assert decide(client, decision="release", pin=PINS["releaser-1"]) == 422
    text = client.get("/release/L1").text
    assert "there is no record of the cycle" in text
    assert 'value="release"' not in text
    assert "✓ met" not in text.replace("</span>", "")
    assert state_of(desk) is SetState.WASHED


def _states(decision: Decision) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {"met": [], "not met": [], "not evaluated": []}
    assert decision.file is not None
    for line in decision.file.criteria:
        found[line.state].append(line.name)
    return found


def test_every_criterion_stands_with_value_limit_source_and_the_different_ones_first(ran: Round) -> None:
    assert not isinstance(note_looked(ran.desk.opened.workplace, "L1", ran.around("assembler-1")), tuple)
    decision = ran.decision("L1")
    assert decision.file is not None
    assert "every hose and sleeve seen at unloading" in _states(decision)["met"]
    order = [("not met", "not evaluated", "met").index(line.state) for line in decision.file.criteria]
    assert order == sorted(order)
    assert all(line.source for line in decision.file.criteria)
    assert len(decision.file.criteria) > 20


def test_with_a_hose_off_its_set_goes_back_and_the_others_are_released_by_name(
    client: TestClient, ran: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, eye = ran.desk, "every hose and sleeve seen at unloading"
    workplace = desk.opened.workplace
    port = next(one.port for load in workplace.plan.loads if load.id == "L1" for one in load.pieces[0].lumens)
    note_off(workplace, "L1", port, ran.around("assembler-1"))
    assert state_of(desk) is SetState.REWASH
    note_looked(workplace, "L1", ran.around("assembler-1"))
    decision = ran.decision("L1")
    assert decision.file is not None
    look = next(line for line in decision.file.criteria if line.name == eye)
    assert (look.state, look.limit) == ("met", "≥ 1")
    assert float(look.value) > 1.0
    assert look.source == f"computed for load L1 with {port} off"
    assert (decision.going, decision.back, decision.against) == (("Gallbladder Two",), (), ())
    _is_met(monkeypatch, decision)
    sign_in(client, "releaser-1")
    text = client.get("/release/L1").text
    assert f"Off at {port}: " in text
    assert "Release Gallbladder Two" in text
    assert decide(client, decision="release", pin=PINS["releaser-1"]) == 303
    assert state_of(desk) is SetState.REWASH
    assert state_of(desk, "Gallbladder Two") is SetState.WASH_RELEASED


def test_what_starves_with_something_off_goes_back_when_the_others_are_released(desk: Desk, tmp_path: Path) -> None:
    # What stands on the two tapers of one set: open, they take so much that another set of the load falls short.
    ran, workplace = Round(desk), desk.opened.workplace
    ran.run("D1")
    load = next(one for one in workplace.plan.loads if one.id == "D1")
    tapers = [lumen.port for one in load.pieces for lumen in one.lumens if lumen.port.startswith("T")]
    for port in tapers:
        note_off(workplace, "D1", port, ran.around("assembler-1"))
    note_looked(workplace, "D1", ran.around("assembler-1"))
    shown = show_decision(workplace, "D1", tmp_path, ran.desk.hands.at.date())
    assert isinstance(shown, Decision)
    assert set(shown.waiting) == {"Little Otter", "Groin Repair"}
    back = dict(shown.back)
    assert back == {"Little Otter": "blunt inner needle – spring needle: reaches 88% of what it has to reach"}
    met = replace(shown, verdict="met", lacks=(), evidence=Result(format="patency-evidence/1", verdict="met"))
    assert release_load(workplace, met, ran.around("releaser-1")) is None
    moved = [one["what"] for one in desk.opened.ledger.story("set", "Little Otter") if one["event"] == "set moved"][-1]
    assert (moved["to"], moved["why"]) == ("rewash", f"off at {', '.join(tapers)} of load D1: {back['Little Otter']}")
    assert state_of(desk, "Groin Repair") is SetState.WASH_RELEASED
    board = board_of(desk.opened.ledger, desk.opened.department, desk.opened.plan, desk.hands.at)
    line = next(line for line in board.lines if line.set_key == "Knee Scope")
    assert (line.state, line.load, line.load_starts) == (SetState.REWASH, None, None)  # its load ran already
    none = replace(met, back=tuple((name, "was not computed") for name in met.waiting))
    assert not none.can_be_released
    refused = release_load(workplace, none, ran.around("releaser-1"))
    assert refused is not None
    assert "has no set that may go on" in refused.text


def _is_met(monkeypatch: pytest.MonkeyPatch, decision: Decision) -> None:
    """Let every criterion be met that rests on what the day does not have: earlier cycles of the same load."""
    assert decision.evidence is not None
    met = Result(format=decision.evidence.format, verdict="met", data=decision.evidence.data)
    monkeypatch.setattr(
        "patency.bench.release.route.show_decision", lambda *_: replace(decision, verdict="met", evidence=met)
    )


@pytest.mark.parametrize(
    ("ask", "state", "held"),
    [("wash again", SetState.REWASH, 0), ("ask the engineer", SetState.WASHED, 1)],
)
def test_a_refusal_has_a_reason_a_name_and_a_next_step(
    client: TestClient, ran: Round, ask: str, state: SetState, held: int
) -> None:
    desk = ran.desk
    assert decide(client, decision=ask, pin=PINS["releaser-1"]) == 422
    assert decide(client, decision=ask, pin="000000", why="a criterion is not met") == 422
    assert state_of(desk) is SetState.WASHED
    assert decide(client, decision=ask, pin=PINS["releaser-1"], why="a criterion is not met") == 303
    assert state_of(desk) is state
    assert len(desk.opened.ledger.holds(Kind.LOAD, "L1")) == held
    noted = [event for event in desk.opened.ledger.story("load", "L1") if event["event"] == "result noted"][-1]
    assert noted["who"] == {"confirmed": "badge and PIN", "person": "releaser-1"}
    assert noted["what"]["result"]["data"]["why"] == "a criterion is not met"


def test_a_load_that_still_runs_and_one_nobody_began_are_not_decided(client: TestClient) -> None:
    sign_in(client, "releaser-1")
    assert client.get("/release/L1", follow_redirects=False).headers["location"] == "/release"
    assert "None: no load came out" in client.get("/release").text


def test_a_load_whose_every_criterion_is_met_is_released_by_name_with_its_evidence(
    client: TestClient, ran: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = ran.desk
    shown = ran.decision("L1")
    assert shown.evidence is not None
    met = Result(format=shown.evidence.format, verdict="met", data=shown.evidence.data)
    every = replace(shown, verdict="met", evidence=met, lacks=(), against=())
    assert every.can_be_released
    assert not replace(every, verdict="not evaluated").can_be_released
    monkeypatch.setattr("patency.bench.release.route.show_decision", lambda *_: every)
    sign_in(client, "releaser-1")
    assert 'value="release"' in client.get("/release/L1").text
    assert decide(client, decision="release", pin="000000") == 422
    assert state_of(desk) is SetState.WASHED
    assert decide(client, decision="release", pin=PINS["releaser-1"]) == 303
    assert {state_of(desk, key) for key in ("Gallbladder One", "Gallbladder Two")} == {SetState.WASH_RELEASED}
    (released,) = [event for event in desk.opened.ledger.story("load", "L1") if event["event"] == "load released"]
    assert released["who"] == {"confirmed": "badge and PIN", "person": "releaser-1"}
    assert released["what"]["evidence"]["verdict"] == "met"
    assert released["relies_on"] == desk.opened.versions.model_dump()


def test_the_ledger_refuses_a_release_on_evidence_that_is_not_met(ran: Round) -> None:
    shown = ran.decision("L1")
    assert shown.evidence is not None
    open_still = Result(format=shown.evidence.format, verdict="not evaluated", data={})
    refused = release_load(ran.desk.opened.workplace, replace(shown, evidence=open_still), ran.around("releaser-1"))
    assert refused is not None
    assert "evidence is not evaluated" in refused.text

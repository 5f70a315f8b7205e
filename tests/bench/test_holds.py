"""Holds, overrides, the trace and the stock over the web."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from patency.ledger import Hold, Kind, Override
from patency.steps import board_of
from tests.bench.desk import PINS, Desk, badge_of, csrf, sign_in

if TYPE_CHECKING:
    from starlette.testclient import TestClient


def post(client: TestClient, path: str, page: str = "/holds", **form: str) -> int:
    """Send a form as its page would; the key tells one asking from another."""
    form = {"csrf": csrf(client.get(page).text), "command": f"k-{sorted(form.items())}"[:100], **form}
    return client.post(path, data=form, follow_redirects=False).status_code


def test_a_hold_is_set_by_one_person_and_lifted_by_two(client: TestClient, desk: Desk) -> None:
    ledger = desk.opened.ledger
    sign_in(client, "lead-1")
    assert post(client, "/holds", scope="set", key="Appendix", reason="prion risk reported") == 303
    (hold,) = ledger.holds(Kind.SET, "Appendix")
    lift = {"hold": hold.hold, "why": "report withdrawn", "pin": PINS["lead-1"]}
    alone = {"second_badge": badge_of("lead-1"), "second_pin": PINS["lead-1"]}
    loader = {"second_badge": badge_of("loader-1"), "second_pin": PINS["loader-1"]}
    other = {"second_badge": badge_of("lead-2"), "second_pin": PINS["lead-2"]}
    assert post(client, "/holds/lift", **lift) == 422
    assert post(client, "/holds/lift", **lift, **alone) == 422
    assert post(client, "/holds/lift", **lift, **loader) == 422
    assert ledger.holds(Kind.SET, "Appendix")
    assert post(client, "/holds/lift", **lift, **other) == 303
    assert not ledger.holds(Kind.SET, "Appendix")


def test_a_hold_reaches_the_board_and_stops_the_next_step(client: TestClient, desk: Desk) -> None:
    sign_in(client, "loader-1")
    assert post(client, "/holds", scope="set", key="Knee Scope", reason="damaged") == 303
    opened = desk.opened
    board = board_of(opened.ledger, opened.department, opened.plan, desk.hands.at)
    assert next(line.holds for line in board.lines if line.set_key == "Knee Scope") == ("damaged",)


def test_the_same_form_sent_twice_holds_once(client: TestClient, desk: Desk) -> None:
    sign_in(client, "loader-1")
    form = {
        "csrf": csrf(client.get("/holds").text),
        "command": "once",
        "scope": "set",
        "key": "Appendix",
        "reason": "x",
    }
    for _ in range(2):
        client.post("/holds", data=form)
    assert len(desk.opened.ledger.holds(Kind.SET, "Appendix")) == 1


@pytest.mark.parametrize(
    "form",
    [
        {"scope": "set", "key": "Nowhere", "reason": "x"},
        {"scope": "case", "key": "case-01", "reason": "x"},
        {"scope": "set", "key": "Appendix", "reason": " "},
    ],
)
def test_a_hold_of_nothing_or_without_a_reason_is_refused(client: TestClient, desk: Desk, form: dict[str, str]) -> None:
    sign_in(client, "loader-1")
    before = len(desk.opened.ledger.all_of(Hold))
    assert post(client, "/holds", **form) == 422
    assert len(desk.opened.ledger.all_of(Hold)) == before


def test_no_override_without_reason_authority_time_limit_and_compensation(client: TestClient, desk: Desk) -> None:
    whole = {
        "set_key": "Appendix",
        "reason": "seal on order",
        "hours": "12",
        "compensation": "count again before the case",
        "pin": PINS["lead-1"],
    }
    sign_in(client, "lead-1")
    for left_out in ("reason", "hours", "compensation", "pin", "set_key"):
        assert post(client, "/overrides", **{**whole, left_out: ""}) == 422, left_out
    assert desk.opened.ledger.all_of(Override) == []
    assert post(client, "/overrides", **whole) == 303
    (granted,) = desk.opened.ledger.all_of(Override)
    assert (granted.granted_by, granted.compensation) == ("lead-1", "count again before the case")
    assert "count again before the case" in client.get("/holds").text
    desk.hands.on(hours=13)
    sign_in(client, "lead-1")
    assert "run out" in client.get("/holds").text


def test_a_trace_lists_the_set_of_a_case_with_its_reason_and_strength(client: TestClient) -> None:
    sign_in(client, "auditor-1")
    text = client.get("/trace?kind=case&key=case-04&direction=backward").text
    assert "Pelvis One" in text
    assert "used in case case-04" in text
    assert "T3 marked and scanned" in text
    assert client.get("/trace?kind=case&key=case-99").status_code == 422
    assert client.get("/trace?kind=nothing&key=case-04").status_code == 422


def test_broken_caps_leave_the_plan_holding_or_not(client: TestClient) -> None:
    sign_in(client, "loader-1")
    holds = [client.get("/stock").text.count("Every load of the plan")]
    for number in ("2", "6"):
        assert post(client, "/stock", "/stock", accessory="hose_cap", number=number, why="cracked") == 303
        holds.append(client.get("/stock").text.count("Every load of the plan"))
    assert holds == [1, 1, 0]  # ten caps, of which a load needs up to three
    assert post(client, "/stock", "/stock", accessory="hose_cap", number="99", why="cracked") == 422

"""The interface for programs: the same steps, people and rules as the pages."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import pytest
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from patency.bench.authority import MAY, OPEN
from patency.bench.interface import clean, findings, loads, sessions, soiled
from patency.bench.interface import desk as at_desk
from patency.bench.people.sessions import LOCKS_AFTER
from patency.demo.bench_history import STAFF
from patency.ledger import InstrumentSet, Role, SetState
from tests.bench.desk import PINS, Desk, badge_of
from tests.bench.program import Program
from tests.bench.test_findings import picture

if TYPE_CHECKING:
    from patency.bench import Opened

WHO = {role: person for person, role in reversed(STAFF.items())}
ROUTES = [
    route
    for part in (sessions, at_desk, soiled, loads, clean, findings)
    for route in part.router.routes
    if isinstance(route, APIRoute)
]


def method_of(route: APIRoute) -> str:
    (method,) = route.methods or set()
    return method


TWO = ("Gallbladder One", "Gallbladder Two")
TUBE, SPARE = "Gallbladder Two/mod5/1/tube", "spare mod5/tube"


def state(opened: Opened, name: str) -> SetState:
    found = opened.ledger.find(InstrumentSet, name)
    assert found is not None
    return found.state


def taken_apart(program: Program, name: str) -> None:
    program.post(f"/sets/{name}/receive")
    program.post(f"/sets/{name}/count", missing=[])
    program.post(f"/sets/{name}/pod", pod=f"pod of {name}")
    assert program.post(f"/sets/{name}/apart")["state"] == "dismantled"


def loaded(program: Program) -> dict[str, Any]:
    """Load what is begun, with a spare for a tube that is cracked."""
    pair: dict[str, Any] = {"step": TUBE, "out": TUBE, "into": SPARE}
    (swap,) = program.get("/loads/L1/swap", step=TUBE)
    assert [one["key"] for one in swap["spares"]] == [SPARE]
    assert "was not offered" in program.lines("/loads/L1/swap", 409, **{**pair, "into": "any"}, why="cracked")
    shown: dict[str, Any] = program.post("/loads/L1/swap", **pair, why="cracked")
    assert [one["why"] for one in shown["deviations"]] == ["cracked"]
    while shown["now"]:
        shown = program.post("/loads/L1/confirm", step=shown["now"])
    return shown


def test_a_load_goes_from_the_hand_over_to_a_decision(desk: Desk) -> None:
    program = Program(desk, "loader-1")
    assert {one["set_key"] for one in program.get("/soiled")} >= {*TWO}
    for name in TWO:
        taken_apart(program, name)
    program.post("/loads/L1/begin")
    shown = loaded(program)
    assert all(one["done"] for one in shown["steps"])
    assert state(desk.opened, TWO[0]) is SetState.LOADED
    before = program.get("/loads/L1/start")
    three = {name: before[name] for name in ("carrier", "machine", "programme")}
    assert "nobody looked" in program.lines("/loads/L1/start", 409, **three, checked=before["checks"][1:])
    wrong = {**three, "machine": "Birch"}
    assert "Birch was scanned" in program.lines("/loads/L1/start", 409, **wrong, checked=before["checks"])
    assert program.post("/loads/L1/start", **three, checked=before["checks"])["state"] == "started"
    out = program.post("/loads/L1/end", completed=True)
    assert out["ports"][0]["first"]
    assert program.post("/loads/L1/looked")["looked"]
    assert program.post("/loads/L1/back", counts=out["taken"])["taken"] == {}
    releaser = Program(desk, "releaser-1")
    shown = releaser.get("/loads/L1/decision")
    assert shown["waiting"] == [*TWO]
    assert [one["waiting"] for one in releaser.get("/decisions") if one["load"] == "L1"] == [[*TWO]]
    assert "<svg" in releaser.client.get("/api/v1/loads/L1/record.svg", headers=releaser.headers).text
    assert {one["state"] for one in shown["criteria"]} <= {"met", "not met", "not evaluated"}
    assert "is not right" in releaser.lines("/loads/L1/decision", 403, decision="release", pin="000000")
    releaser.post("/loads/L1/decision", decision="wash again", why="seen wet", pin=PINS["releaser-1"])
    assert state(desk.opened, TWO[0]) is SetState.REWASH


def test_a_set_goes_on_at_the_clean_side_only_as_it_comes_next(desk: Desk) -> None:
    program = Program(desk, "assembler-1")
    released = [one["set_key"] for one in program.get("/clean") if one["next_by_hand"] == "stored"]
    others = [one for one in program.get("/clean") if one["next_by_hand"] is not None]
    assert others
    one = others[0]
    told = program.lines(f"/sets/{one['set_key']}/on", 409, to="packed" if one["next_by_hand"] != "packed" else "used")
    assert "next" in told
    for name in released:
        assert program.post(f"/sets/{name}/on", to="stored")["state"] == "stored"


def test_a_finding_is_reported_with_its_picture_and_what_is_broken_holds_the_set(desk: Desk) -> None:
    program, path = Program(desk, "loader-1"), "/findings/set/Appendix"
    sharp = program.post(path, found="a sharp where none should be")[0]
    assert (sharp["photos"], len(sharp["what_next"])) == ([], 2)
    photo = b64encode(picture()).decode()
    shown = program.post(f"{path}/{sharp['seq']}/photo", photo=photo)[0]
    broken = program.post(path, found="broken, or a part broke off", photo=photo)[0]
    assert shown["photos"] == broken["photos"]
    name = broken["photos"][0]["sha256"]
    kept = program.client.get(f"/api/v1/photos/{name}", headers=program.headers)
    assert (sha256(kept.content).hexdigest(), kept.headers["content-type"]) == (name, "image/jpeg")
    assert "not kept" in program.get(f"/photos/{'0' * 64}", 404)["faults"][0]["line"]
    assert "a JPEG or PNG picture" in program.lines(path, 400, found="broken, or a part broke off", photo="AAAA")
    assert "is none of set" in program.lines(f"{path}/1/photo", 409, photo=photo)
    assert "is not known" in program.lines("/findings/load/L9", 409, found="broken, or a part broke off")
    for unknown in ("/findings/set/Nobody", "/findings/load/L9"):
        (fault,) = program.get(unknown, 404)["faults"]
        assert fault["line"].endswith("is not known (expected: a set or a load that is there)")
    assert program.get("/findings/load/L1") == []  # planned, not begun
    assert [one["seq"] for one in program.get(path)] == [broken["seq"], sharp["seq"]]
    assert any("found at the bench" in one["reason"] for one in program.get("/sets/Appendix")["holds"])


def test_a_label_says_the_set_and_a_failed_test_holds_its_sterilizer(desk: Desk) -> None:
    program = Program(desk, "assembler-1")
    label = program.get("/sets/Gallbladder One/label")
    assert label["content"] == "(91)set:Gallbladder_One"
    drawn = program.client.get("/api/v1/sets/Gallbladder One/label.svg", headers=program.headers)
    assert ("<svg" in drawn.text, drawn.headers["content-type"][:13]) == (True, "image/svg+xml")
    assert "is not known" in program.get("/sets/Nowhere/label", 404)["faults"][0]["line"]
    assert {one["state"] for one in program.get("/sterilizer-tests")} == {"met"}
    test: dict[str, Any] = {"machine": "South", "test": "hollow load"}
    after = program.post("/sterilizer-tests", **test, verdict="not met")
    assert [one["result"] for one in after if one["state"] != "met"] == ["failed"]
    assert "South" in [one["key"] for one in program.get("/holds")["holds"]]
    assert "a sterilizer that was enrolled" in program.lines(
        "/sterilizer-tests", 409, **{**test, "machine": "Alder"}, verdict="met"
    )
    assert "was not begun" in program.lines("/loads/L1/pack", 409, set_key="Appendix", fault="wet")


def test_what_is_sent_twice_is_done_once_and_another_thing_under_its_key_is_not_taken_for_it(desk: Desk) -> None:
    program, ledger = Program(desk, "loader-1"), desk.opened.ledger
    first = program.post("/sets/Gallbladder One/receive", under="a-key-of-mine")
    after = ledger.count()
    assert program.post("/sets/Gallbladder One/receive", under="a-key-of-mine") == first
    assert ledger.count() == after
    program.post("/sets/Gallbladder Two/receive", under="a-key-of-mine")
    assert state(desk.opened, "Gallbladder Two") is SetState.RECEIVED
    event = ledger.story("set", "Gallbladder One")[-1]
    assert event["command"].startswith("a-key-of-mine ")
    assert event["station"] == "clean side 1"
    assert event["who"] == {"person": "loader-1", "confirmed": "badge and PIN"}


def test_whoever_acts_gives_a_key(desk: Desk) -> None:
    program = Program(desk, "loader-1")
    before = desk.opened.ledger.count()
    answer = program.client.post("/api/v1/sets/Appendix/receive", headers=program.headers)
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["line"] == "header.Idempotency-Key: is missing (expected: Field required)"
    assert program.send("/sets/Appendix/receive", "short", {}).status_code == 422
    assert desk.opened.ledger.count() == before


def test_every_route_is_that_of_a_page_and_open_to_nobody_without_a_session(desk: Desk) -> None:
    client = TestClient(desk.app(), base_url="http://127.0.0.1")
    for route in ROUTES:
        assert route.name in {*MAY, "sign-in.enter"}
        if route.name in OPEN:
            continue
        path = "/api/v1" + re.sub(r"\{[^}]*\}", "Appendix", route.path)
        for authorization in ("", "Bearer nonsense", "Basic bG9hZGVyLTE6"):
            headers = {"Idempotency-Key": "some-key-1", "Authorization": authorization}
            told = client.request(method_of(route), path, headers=headers)
            assert told.status_code == 401, told.text
            assert told.headers["www-authenticate"] == "Bearer"


@pytest.mark.parametrize("role", Role)
def test_every_route_answers_every_role_as_the_table_of_the_pages_says(desk: Desk, role: Role) -> None:
    program, wrong = Program(desk, WHO[role]), []
    for route in ROUTES:
        if route.name in OPEN or route.name == "sign-out":
            continue
        path = re.sub(r"\{[^}]*\}", "Appendix", route.path)
        method = method_of(route)
        answer = program.client.request(
            method, f"/api/v1{path}", headers={**program.headers, "Idempotency-Key": "some-key-1"}
        )
        forbidden = answer.status_code == 403
        if forbidden is (role in MAY[route.name]) or answer.status_code >= 500:
            wrong.append(f"{route.name}: {answer.status_code}")
    assert wrong == []


@pytest.mark.parametrize("content", [b" " * 12_000_001, (one for one in (b"{", b"}"))])
def test_a_body_too_large_or_of_unknown_length_is_not_read(client: TestClient, content: Any) -> None:  # noqa: ANN401
    answer = client.post("/api/v1/session", content=content)
    assert answer.status_code == 413
    assert "a picture may have 8 MB" in answer.json()["faults"][0]["line"]


def test_a_cookie_of_the_pages_is_no_session_here(client: TestClient, desk: Desk) -> None:
    program = Program(desk, "lead-1")
    client.cookies.set("session", program.token)
    assert client.get("/board").status_code == 200
    assert client.get("/api/v1/board").status_code == 401


def test_a_session_locks_ends_and_slows_whoever_tries(desk: Desk) -> None:
    program = Program(desk, "lead-1")
    desk.hands.on(seconds=LOCKS_AFTER.total_seconds() + 1)
    assert "is locked" in str(program.get("/board", 401))
    program = Program(desk, "lead-1")
    answer = program.client.delete("/api/v1/session", headers=program.headers)
    assert answer.json() == {"person": "lead-1"}
    program.get("/board", 401)
    wrong = {"badge": badge_of("lead-1"), "pin": "000001"}
    told = [program.client.post("/api/v1/session", json=wrong).json()["faults"][0]["line"] for _ in range(3)]
    assert "in 5 s" in told[2]
    assert PINS["lead-1"] not in "".join(told)


def test_what_an_auditor_reads_here_is_written_down_too(desk: Desk) -> None:
    auditor = Program(desk, "auditor-1")
    auditor.get("/trace", kind="set", key="Appendix")
    auditor.get("/sets/Appendix")
    Program(desk, "lead-1").get("/sets/Appendix")
    reads = [(who, what) for _, who, what in desk.opened.people.reads()]
    assert reads == [
        ("auditor-1", "/api/v1/sets/Appendix"),
        ("auditor-1", "/api/v1/trace?kind=set&key=Appendix"),
    ]


def test_desk_board_story_trace_holds_and_stock_can_be_read(desk: Desk) -> None:
    lead = Program(desk, "lead-1")
    board = lead.get("/board")
    assert len(board["lines"]) == 11
    story = lead.get("/sets/Appendix")
    assert {(one["mark"] is None, one["strength"]) for one in story["pieces"]} == {(True, "member"), (False, "scanned")}
    assert len(story["lines"]) == len(desk.opened.ledger.story("set", "Appendix"))
    found = lead.get("/trace", kind="set", key="Appendix")
    assert all(one["why"] for one in found["items"])
    assert lead.get("/stock")["plan_holds"]
    assert [one["key"] for one in lead.get("/holds")["holds"]]
    assert lead.get("/scan", code="set:Appendix") == {"kind": "set", "key": "Appendix"}
    assert "is not known" in lead.get("/sets/Nowhere", 404)["faults"][0]["line"]
    assert lead.get("/trace", 404, kind="water", key="x1")["faults"][0]["where"]


def test_a_hold_is_set_by_one_and_lifted_by_two(desk: Desk) -> None:
    lead = Program(desk, "lead-1")
    held = lead.post("/holds", scope="set", key="Appendix", reason="a bent tip")
    hold = next(one["hold"] for one in held["holds"] if one["key"] == "Appendix")
    (load,) = [one["load"] for one in lead.get("/board")["lines"] if one["set_key"] == "Appendix"]
    assert f"is held by {hold}" in lead.lines(f"/loads/{load}/begin", 409)
    own = {"badge": badge_of("lead-1"), "pin": PINS["lead-1"]}
    both = {"hold": hold, "why": "straight again", "pin": PINS["lead-1"]}
    assert "is nobody else" in lead.lines("/holds/lift", 403, **both, second=own)
    other = {"badge": badge_of("lead-2"), "pin": PINS["lead-2"]}
    assert "is not right" in lead.lines("/holds/lift", 403, **{**both, "pin": "111222"}, second=other)
    after = lead.post("/holds/lift", **both, second=other)
    assert hold not in [one["hold"] for one in after["holds"]]


def test_a_fault_is_told_with_its_place_and_secrets_are_not_repeated(desk: Desk) -> None:
    program = Program(desk, "lead-1")
    faults = program.post("/holds", 422, scope="moon", key="Appendix", reason="x", more=1)["faults"]
    assert [one["where"] for one in faults] == ["body.scope", "body.more"]
    assert all(set(one) == {"where", "what", "expected", "line"} for one in faults)
    answer = program.client.post("/api/v1/session", json={"badge": "b" * 300, "pin": ["904617"]})
    assert "904617" not in answer.text
    assert "bbb" not in answer.text
    assert program.get("/no/such", 404)["faults"][0]["where"] == "GET /api/v1/no/such"
    answer = program.client.put("/api/v1/board", headers=program.headers)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET"
    broken = program.client.post("/api/v1/session", content=b"{", headers={"content-type": "application/json"})
    assert broken.status_code == 422


def test_no_pin_can_be_worked_out_from_what_the_ledger_keeps(desk: Desk) -> None:
    lead = Program(desk, "lead-1")
    keys = []
    for pin in (PINS["lead-1"], "111222"):
        body = {"set_key": "Appendix", "reason": "r", "hours": 1.0, "compensation": "c", "pin": pin}
        lead.send("/overrides", "the-same-key", body)
        keys.append([event["command"] for event in desk.opened.ledger.story("set", "Appendix")][-1])
    assert keys[0] == keys[1]


def test_the_description_is_served_here_and_asks_for_nothing_from_elsewhere(desk: Desk) -> None:
    client = TestClient(desk.app(), base_url="http://127.0.0.1")
    answer = client.get("/api/v1/openapi.json")
    assert answer.status_code == 200
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    document = answer.json()
    assert document["servers"] == [{"url": "/api/v1"}]
    shown = {(method.upper(), path) for path, methods in document["paths"].items() for method in methods}
    assert shown == {(method_of(one), one.path) for one in ROUTES}
    assert "http" not in answer.text.replace("HTTPBearer", "").replace('"scheme":"bearer"', "").replace(
        '"type":"http"', ""
    )
    assert client.get("/api/v1/docs").status_code == 404

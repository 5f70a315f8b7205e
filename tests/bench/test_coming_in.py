"""The way in over the web: the first start, signing in, forms of other sites, headers, what an auditor reads."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from patency.bench.authority import OPEN
from patency.bench.people import open_people
from tests.bench.desk import PINS, Desk, badge_of, csrf, sign_in
from tests.bench.program import Program
from tests.bench.test_roles import routes

if TYPE_CHECKING:
    from pathlib import Path


def test_nobody_sees_anything_before_signing_in(client: TestClient) -> None:
    answer = client.get("/board", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?to=/board")
    assert client.get("/board/rows", headers={"hx-request": "true"}).headers["hx-redirect"] == "/sign-in?to=/board"


def test_a_person_comes_in_and_goes_where_the_way_led(client: TestClient) -> None:
    page = client.get("/sign-in?to=/board")
    form = {"csrf": csrf(page.text), "badge": badge_of("lead-1"), "pin": PINS["lead-1"], "to": "/board"}
    answer = client.post("/sign-in", data=form)
    assert answer.url.path == "/board"
    assert "Gallbladder One" in answer.text


@pytest.mark.parametrize("to", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example"])
def test_the_way_in_leads_to_no_other_site(client: TestClient, to: str) -> None:
    form = {"badge": badge_of("lead-1"), "pin": PINS["lead-1"], "to": to}
    form["csrf"] = csrf(client.get("/sign-in").text)
    assert client.post("/sign-in", data=form, follow_redirects=False).headers["location"] == "/"


def test_a_wrong_pin_is_told_and_then_slowed(client: TestClient) -> None:
    form = {"csrf": csrf(client.get("/sign-in").text), "badge": badge_of("lead-1"), "pin": "000000"}
    answers = [client.post("/sign-in", data=form) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [422, 422, 422]
    assert "Wait 5 s" in answers[-1].text


def test_the_token_before_and_after_signing_in_differ(client: TestClient) -> None:
    client.get("/sign-in")
    before = client.cookies["session"]
    sign_in(client, "lead-1")
    assert client.cookies["session"] != before


def test_a_locked_station_asks_for_the_pin_and_goes_on_where_it_was(client: TestClient, desk: Desk) -> None:
    sign_in(client, "lead-1")
    desk.hands.on(minutes=11)
    page = client.get("/trace?kind=case&key=case-04")
    assert "Locked: lead-1" in page.text
    (to, *_) = re.findall(r'name="to" value="([^"]*)"', page.text)
    form = {"csrf": csrf(page.text), "pin": PINS["lead-1"], "to": html.unescape(to)}
    again = client.post("/sign-in", data=form)
    assert (again.url.path, again.url.query) == ("/trace", b"kind=case&key=case-04")


def test_a_locked_station_does_and_tells_nothing_whatever_is_asked_of_it(client: TestClient, desk: Desk) -> None:
    sign_in(client, "lead-1")
    program = Program(desk, "lead-1", client)
    mark = csrf(client.get("/board").text)
    desk.hands.on(minutes=11)
    before, told = desk.opened.ledger.head(), []
    for route in routes(desk.app()):
        if route.name in OPEN | {"sign-out", "lock"}:
            continue
        path = re.sub(r"\{[^}]*\}", "Appendix", route.path)
        if "POST" in (route.methods or ()):
            answer = client.post(path, data={"csrf": mark, "here": "/board"}, follow_redirects=False)
        else:
            answer = client.get(path, follow_redirects=False)
        if (answer.status_code, answer.content) != (303, b"") or "/sign-in?to=/" not in answer.headers["location"]:
            told.append(f"{route.name}: {answer.status_code}")
    for path, acts in client.get("/api/v1/openapi.json").json()["paths"].items():
        for method in set(acts) - {"delete"} if path != "/session" else ():
            headers = {**program.headers, "Idempotency-Key": f"locked-{path[-9:]}"[:20].replace("/", "-")}
            answer = client.request(method, "/api/v1" + re.sub(r"\{[^}]*\}", "set", path), headers=headers)
            if answer.status_code != 401:
                told.append(f"{method} {path}: {answer.status_code}")
    assert told == []
    assert desk.opened.ledger.head() == before


def test_a_board_that_asks_for_its_rows_by_itself_locks_as_any_page(client: TestClient, desk: Desk) -> None:
    sign_in(client, "lead-1")
    for minutes, path, shown in ((9, "/board", True), (9, "/board/rows", True), (2, "/board/rows", False)):
        desk.hands.on(minutes=minutes)
        assert ("Gallbladder One" in client.get(path).text) is shown


def test_a_form_without_our_mark_is_refused_and_does_nothing(client: TestClient, desk: Desk) -> None:
    sign_in(client, "admin-1")
    before = desk.opened.ledger.head()
    for form in ({}, {"csrf": "0" * 64}):
        assert client.post("/staff", data={"person": "loader-9", "role": "loader", **form}).status_code == 403
    assert desk.opened.ledger.head() == before


def test_every_answer_carries_the_headers(client: TestClient) -> None:
    for path in ("/sign-in", "/nowhere", "/asset/layout/base.css"):
        headers = client.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"


def test_no_page_has_a_style_or_script_in_its_text(client: TestClient) -> None:
    sign_in(client, "admin-1")
    for path in ("/", "/board", "/staff", "/set/Appendix", "/sign-in"):
        text = client.get(path).text
        assert "<style" not in text
        assert "style=" not in text
        assert " on" + "click" not in text
        assert text.count("<script") == text.count("<script src=")


@pytest.mark.parametrize(
    "path",
    ["/asset/people/accounts.py", "/asset/layout/base.html", "/asset/../pyproject.toml", "/asset/..%2fcli/x.css"],
)
def test_nothing_but_styles_and_scripts_is_handed_out(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_what_an_auditor_reads_is_written_down_and_nobody_elses_reading(client: TestClient, desk: Desk) -> None:
    sign_in(client, "lead-1")
    client.get("/set/Appendix")
    assert desk.opened.people.reads() == []
    sign_in(client, "auditor-1")
    client.get("/set/Appendix")
    client.get("/trace?kind=case&key=case-04")
    assert [(who, what) for _, who, what in desk.opened.people.reads()] == [
        ("auditor-1", "/trace?kind=case&key=case-04"),
        ("auditor-1", "/set/Appendix"),
    ]


def test_the_setup_link_works_once_and_hands_out_accounts(desk: Desk, tmp_path: Path) -> None:
    desk.opened.people.close()
    (tmp_path / "larkmere" / "people.sqlite").unlink()
    object.__setattr__(desk.opened, "people", open_people(tmp_path / "larkmere" / "people.sqlite"))
    client = TestClient(desk.app("the-link"), base_url="http://127.0.0.1")
    assert client.get("/setup/another").status_code == 403
    form = {"csrf": csrf(client.get("/setup/the-link").text), "person": "admin-1", "badge": "badge 1"}
    weak = client.post("/setup/the-link", data={**form, "new_pin": "123456"})
    assert (weak.status_code, desk.opened.people.any_account()) == (422, False)
    made = client.post("/setup/the-link", data={**form, "new_pin": "904617", "everybody": "yes"})
    assert made.text.count('<td class="code">') == 2 * 11
    assert client.get("/setup/the-link").status_code == 403
    assert len(desk.opened.people.persons()) == 12


def test_an_administrator_permits_a_role_and_hands_out_a_badge(client: TestClient, desk: Desk) -> None:
    sign_in(client, "admin-1")
    page = client.get("/staff")
    form = {"csrf": csrf(page.text), "person": "loader-9", "role": "loader", "command": "k-1"}
    assert client.post("/staff", data=form).status_code == 200
    assert "loader-9" in desk.opened.people.persons()
    named = client.post("/staff", data={**form, "person": "Erika Example", "command": "k-2"})
    assert (named.status_code, "a key with a digit" in named.text) == (422, True)


def test_secrets_are_in_no_event(client: TestClient, desk: Desk) -> None:
    sign_in(client, "admin-1")
    form = {"csrf": csrf(client.get("/staff").text), "person": "loader-9", "role": "loader"}
    client.post("/staff", data=form)
    told = "".join(entry.body for entry in desk.opened.ledger.entries())
    assert "loader-9" in told
    assert not any(secret in told for person, pin in PINS.items() for secret in (pin, badge_of(person)))

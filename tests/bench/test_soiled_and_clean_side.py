"""Receiving, loading, unloading, the clean side: through pages and forms, by scanner, pedal and glove."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from patency.ledger import InstrumentSet, LoadRecord, ReleaseLoad, Result, SetHold, SetState
from tests.bench.desk import Desk, csrf, sign_in
from tests.bench.hands import scan
from tests.bench.hands import sign_in as come_in

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from starlette.testclient import TestClient

SPRING = "Gallbladder Two/sleeve11/1/valve spring"
TWO = ("Gallbladder One", "Gallbladder Two")
_BACK: dict[str, Any] = {"back-hose_cap": "0"}


class Visit:
    """A browser without a screen that posts forms as pages offer them."""

    def __init__(self, client: TestClient, desk: Desk, person: str = "loader-1") -> None:
        self.client, self.desk, self.number = client, desk, 0
        sign_in(client, person)

    def post(self, path: str, status: int = 303, **form: Any) -> str:  # noqa: ANN401 - fields of a form
        """Post a form, follow it, and return the page that is shown then."""
        self.desk.hands.on(seconds=5)
        self.number += 1
        mark = csrf(self.client.get("/").text)
        data = {"csrf": mark, "command": f"visit-{self.number}", **form}
        answer = self.client.post(path, data=data, follow_redirects=False)
        assert answer.status_code == status, answer.text[:2000]
        return self.client.get(answer.headers["location"]).text if status == 303 else answer.text

    def state(self, name: str) -> SetState:
        found = self.desk.opened.ledger.find(InstrumentSet, name)
        assert found is not None
        return found.state


def ready(visit: Visit) -> None:
    """Receive two sets, count them, bind their pods and take them apart."""
    for name in TWO:
        assert name in visit.post("/receiving", code=f"set:{name}")
        visit.post(f"/receiving/{name}/count")
        visit.post(f"/receiving/{name}/pod", code=f"pod:pod of {name}")
        visit.post(f"/receiving/{name}/apart")
        assert visit.state(name) is SetState.DISMANTLED


def load_all(visit: Visit) -> None:
    """Confirm the step on the screen until none is left."""
    page = visit.post("/loading/L1/begin")
    while step := re.search(r'name="step" value="([^"]+)"', page):
        page = visit.post("/loading/L1/confirm", step=step.group(1).replace("&#39;", "'"))
    assert "Every step is confirmed." in page


def test_a_set_goes_from_the_hand_over_to_the_machine_and_out_again(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk)
    assert "Gallbladder One" in client.get("/receiving").text
    ready(visit)
    load_all(visit)
    assert all(visit.state(name) is SetState.LOADED for name in TWO)
    page = client.get("/loading/L1/start").text
    checks = [one.replace("&#39;", "'") for one in re.findall(r'name="checked" value="([^"]+)"', page)]
    assert len(checks) > 5
    three: dict[str, Any] = {"carrier": "Lapwing", "machine": "Alder", "programme": "gentle_lumen"}
    assert "nobody looked" in visit.post("/loading/L1/start", 422, act="start", checked=checks[1:], **three)
    wrong: dict[str, Any] = {**three, "machine": "Birch"}
    assert "Birch was scanned" in visit.post("/loading/L1/start", 422, act="start", checked=checks, **wrong)
    assert 'value="Alder"' in visit.post("/loading/L1/start", 200, code="machine:Alder", checked=checks)
    visit.post("/loading/L1/start", act="start", checked=checks, **three)
    record = desk.opened.ledger.find(LoadRecord, "L1")
    assert record is not None
    assert record.state == "started"
    visit.post("/unloading/L1/end", completed="yes")
    page = client.get("/unloading/L1").text
    assert page.index("★ weak") < page.index("All others were on")
    port = re.search(r'name="port" value="(\w+)"', page)
    assert port
    assert "was off" in visit.post("/unloading/L1/off", port=port.group(1))
    assert "every port looked at" in visit.post("/unloading/L1/looked")
    assert "did not come back" in visit.post("/unloading/L1/back", 422, **_BACK)
    assert sorted(visit.state(name) for name in TWO) == [SetState.REWASH, SetState.WASHED]


def test_a_missing_spring_is_found_in_the_other_box(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk)
    for name in TWO:
        visit.post("/receiving", code=f"set:{name}")
    page = visit.post("/receiving/Gallbladder Two/count", missing=[SPRING])
    assert "Missing: valve spring – trocar sleeve 11 mm" in page
    assert "used 80 min before it" in page
    assert visit.state("Gallbladder Two") is SetState.MISSING_PART
    visit.post("/receiving/Gallbladder Two/found", piece=SPRING, box="Gallbladder One")
    assert visit.state("Gallbladder Two") is SetState.RECEIVED


def test_a_held_set_is_shown_as_held_and_goes_nowhere(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk)
    visit.post("/receiving", code="set:Gallbladder One")
    page = visit.post("/receiving", code="set:Visiting Wrist")
    assert "HELD: do not open" in page
    assert "is held by" in visit.post("/receiving/Visiting Wrist/apart", 422)
    assert "is not known here" in visit.post("/receiving", code="nobody's")
    assert "That is no set" in visit.post("/receiving", code="load:L1")


def test_baths_run_by_their_timers(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk)
    visit.post("/receiving", code="set:Gallbladder One")
    path = "/receiving/Gallbladder One/bath"
    soak: dict[str, Any] = {"instrument": "mod5", "bath": "soak"}
    missing = "No bath noted as over: modular instrument 5 mm: soak; modular instrument 5 mm: ultrasound"
    assert missing in client.get("/receiving/Gallbladder One?part=apart").text
    visit.post(path, act="start", **soak)
    assert "s left" in visit.post(path, 422, act="end", **soak)
    desk.hands.on(minutes=6)
    visit.post(path, act="end", **soak)
    told = client.get("/receiving/Gallbladder One?part=apart").text
    assert "No bath noted as over: modular instrument 5 mm: ultrasound; " in told
    visit.post(path, instrument="mod5", done="flushed and brushed")


def test_a_piece_out_of_turn_lights_its_own_port_and_a_wrong_one_is_refused(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk)
    ready(visit)
    page = visit.post("/loading/L1/begin")
    first = re.search(r'name="step" value="([^"]+)"', page)
    assert first
    clip = "piece:Gallbladder Two/clip10/1/instrument"
    page = visit.post("/loading/L1/scan", step=first.group(1), code=clip)
    assert "Out of turn" in page
    assert "clip applier 10 mm" in page
    page = visit.post("/loading/L1/scan", step="Gallbladder Two/clip10/1/instrument", code=clip)
    assert "1 / 43" in page
    assert "lies in set Appendix" in visit.post(
        "/loading/L1/scan", 422, step=first.group(1), code="piece:Appendix/optic/1/optic"
    )
    assert "That is no piece" in visit.post("/loading/L1/scan", step=first.group(1), code="load:L1")
    assert "0 / 43" in visit.post("/loading/L1/undo")
    sign_in(client, "lead-2")
    told = visit.post("/loading/L1/confirm", 422, step=first.group(1))
    assert "is loaded by loader-1" in told
    visit.post("/loading/L1/over")
    assert "1 / 43" in visit.post("/loading/L1/confirm", step=first.group(1))


def test_a_deviation_offers_ways_with_their_costs_and_stands_on_the_page(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk)
    ready(visit)
    visit.post("/loading/L1/begin")
    page = client.get("/loading/L1/otherwise", params={"wrong": "port blocked", "port": "H4"}).text
    way = re.search(r'name="way" value="([^"]+)"', page)
    assert way
    both: dict[str, Any] = {"wrong": "port blocked", "port": "H4"}
    assert "was not offered" in visit.post("/loading/L1/otherwise", 422, way="x", why="torn", **both)
    assert "Otherwise than planned" in visit.post("/loading/L1/otherwise", way=way.group(1), why="torn", **both)
    assert "is not known" in visit.client.get("/loading/L1/otherwise", params={"wrong": "x", "port": "H4"}).text


def test_the_clean_side_takes_a_released_set_to_its_next_case(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk, "assembler-1")
    ledger, name = desk.opened.ledger, "Gallbladder One"
    soiled = Visit(client, desk)
    ready(soiled)
    load_all(soiled)
    page = client.get("/loading/L1/start").text
    checks = [one.replace("&#39;", "'") for one in re.findall(r'name="checked" value="([^"]+)"', page)]
    three: dict[str, Any] = {"carrier": "Lapwing", "machine": "Alder", "programme": "gentle_lumen"}
    soiled.post("/loading/L1/start", act="start", checked=checks, **three)
    visit.number = 500
    sign_in(client, "assembler-1")
    visit.post("/unloading/L1/end", completed="yes")
    met = Result(format="patency-evidence/1", verdict="met")
    _released(desk, ReleaseLoad(load="L1", sets=TWO, evidence=met))
    assert name in visit.post("/clean", code=f"set:{name}")
    piece = f"{name}/mod5/1/tube"
    assert "Passed." in visit.post(f"/clean/{name}/test", piece=piece, method="insulation", verdict="met")
    for state in ("inspected", "assembled", "packed"):
        visit.post(f"/clean/{name}/on", to=state)
    assert visit.state(name) is SetState.PACKED
    visit.post("/clean-steam", sets=[name], machine="North", programme="wrapped_134")
    (steam,) = [one.load for one in ledger.all_of(LoadRecord) if one.load.startswith("steam-")]
    visit.post(f"/unloading/{steam}/end", completed="yes")
    _released(desk, ReleaseLoad(load=steam, sets=(name,), evidence=met))
    visit.post(f"/clean/{name}/on", to="sterile-stored")
    assert "is no key of a case" in visit.post(f"/clean/{name}/on", 422, to="issued", case="Mrs Example")
    visit.post(f"/clean/{name}/on", to="issued", case="case-0745")
    for state in ("in-use", "used"):
        visit.post(f"/clean/{name}/on", to=state)
    assert visit.state(name) is SetState.USED
    other = "Gallbladder Two"
    told = visit.post(f"/clean/{other}/test", piece=f"{other}/mod5/1/tube", method="insulation", verdict="not met")
    assert "Not passed" in told
    assert "is held by" in visit.post(f"/clean/{other}/on", 422, to="inspected")


def _released(desk: Desk, command: ReleaseLoad | SetHold) -> None:
    from patency.ledger import Appended, Circumstances, Confirmation, Who

    around = Circumstances(
        command=f"released-{getattr(command, 'load', '')}",
        who=Who(person="releaser-1", confirmed=Confirmation.BADGE_AND_PIN),
        at=desk.hands.at,
        clock="test clock",
        recorded=desk.hands.at,
        station="office",
    )
    assert isinstance(desk.opened.ledger.append(command, around), Appended)


@pytest.mark.slow
@pytest.mark.parametrize(("size", "language"), [((1920, 1080), "en"), ((1280, 800), "de")])
def test_by_scanner_and_pedal_alone_a_set_is_received_and_its_load_begun(
    page: Page, size: tuple[int, int], language: str
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    come_in(page, "loader-1")
    page.click(f"button[lang={language}]")
    page.goto("/receiving")
    scan(page, "set:Gallbladder Two")  # the first pieces to be loaded are of this set
    page.wait_for_url("**/receiving/*")
    page.keyboard.press("F9")
    page.wait_for_selector(".told.good")
    page.keyboard.press("F9")
    page.wait_for_selector("#pod-code")
    scan(page, "pod:pod 1")
    page.wait_for_selector(".state.met")
    page.keyboard.press("F9")
    page.wait_for_selector("main a[href='/loading/L1']")
    page.goto("/receiving/Gallbladder Two")
    page.keyboard.press("F9")
    page.wait_for_url("**/loading/L1")
    page.keyboard.press("F9")
    page.wait_for_selector(".go")
    for done in range(1, 4):
        page.keyboard.press("F9")
        page.wait_for_selector(f"text={done} / 43")
        page.wait_for_selector("html[data-heard='good']")  # played after the page has changed
    # One glance: the port's name in letters of at least 60 px, one port lit, the button as wide as a hand.
    letters = page.evaluate("parseFloat(getComputedStyle(document.querySelector('.port strong')).fontSize)")
    assert letters >= 60
    assert page.locator(".carrier svg [fill='#ffd23f']").count() == 1
    box = page.locator(".go").bounding_box()
    assert box is not None
    assert box["width"] > 300
    assert box["y"] + box["height"] <= size[1]

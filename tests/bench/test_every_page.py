"""Every page in a real browser, at bench and desk size, in every language: it keeps nobody out and suits gloves.

One server and one browser walk a load from the hand-over to its release. The pages come from the application itself: a
route or a page that nobody walked to fails the test.
"""

from __future__ import annotations

import dataclasses
import shutil
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from starlette.routing import Match
from starlette.testclient import TestClient

import patency.bench
from patency.bench.asking import LANGUAGE
from patency.bench.languages import languages
from patency.bench.templates import render
from patency.ledger import Appended, PermitPerson, ReleaseLoad, Result, Role, SetState
from patency.ledger import LoadKind as L
from patency.reach import JetSampling, LoadReach, reach_of_load
from patency.steps import KeptReach, steam_load_name
from tests.bench.by_form import HandsWithoutScreen
from tests.bench.conftest import being_served
from tests.bench.desk import PINS, Desk, badge_of, open_desk
from tests.bench.hands import scan, serious_faults, small_targets
from tests.bench.test_generated_requests import Round, around_of
from tests.bench.test_roles import routes
from tests.demo.larkmere import larkmere
from tests.reach.drawn import drawn_load

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fastapi import FastAPI
    from playwright.sync_api import Browser, Page, ViewportSize

pytestmark = pytest.mark.slow

SIZES: list[ViewportSize] = [{"width": 1920, "height": 1080}, {"width": 1280, "height": 800}]
"""The bench's screen and a small one at the desk."""
NO_PAGE = {
    "alive", "asset", "board.rows", "label.code", "release.record", "reach.scene", "reach.moved", "reach.legend",
    "reach.side", "reach.piece", "photo",
}  # fmt: skip
"""Drawings, pictures, data and rows of a page: they answer no page of their own."""
WHO, LINK, TWO = "lead-2", "the-link", ("Gallbladder Two", "Gallbladder One")
STEPS = (0, 24, 34, 38)
"""Steps of the load that look differently: a hose, a nozzle, a holder, caps."""


MET = Result(format="example/1", verdict="met")


@cache
def few_found() -> LoadReach:
    """Compute the jets of a few pieces coarsely."""
    site, load = drawn_load()
    arms = site.machine_kinds[load.machine_kind].arms
    return reach_of_load(site, load, dict.fromkeys(arms, 95 / 60000), 50.0, sampling=JetSampling(12, 1))


@pytest.fixture(scope="module")
def desk(prepared: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A bench without accounts yet; one person may do everything, so that no form is left out."""
    folder = tmp_path_factory.mktemp("every page") / "larkmere"
    shutil.copytree(prepared, folder)
    (folder / "people.sqlite").unlink()
    begun = open_desk(folder)
    opened = begun.opened
    roles: dict[Role, date | None] = {role: None for role in Role if role is not Role.AUDITOR}
    assert isinstance(
        opened.ledger.append(PermitPerson(person=WHO, roles=roles), around_of("admin-1", "all")), Appended
    )
    yield begun
    opened.close()


@pytest.fixture(scope="module")
def app(desk: Desk) -> FastAPI:
    return desk.app(LINK)


@pytest.fixture(scope="module")
def served(app: FastAPI) -> Iterator[str]:
    with being_served(app) as address:
        yield address


class Walk:
    """Somebody who looks at page after page, and keeps what is wrong with each."""

    def __init__(self, page: Page, app: FastAPI, desk: Desk, served: str) -> None:
        self.page, self.desk, self.served = page, desk, served
        self.hands = HandsWithoutScreen(TestClient(app, base_url="http://127.0.0.1"), desk)
        self.way = Round(desk)
        self.routes = routes(app)
        department = larkmere()
        keys = (*department.programmes, *department.steam_programmes)
        self.keys = {key for key in keys if "_" in key}  # one without it is a plain word too
        self.walked, self.wrong = set[str](), dict[str, set[str]]()

    def look(self, *paths: str, status: int = 200) -> None:
        """Open each page in every language and look at it at both sizes."""
        for path in paths:
            scope = {"type": "http", "method": "GET", "path": path.split("?")[0], "headers": []}
            self.walked |= {one.name for one in self.routes if one.matches(scope)[0] is Match.FULL}
            for language in languages():
                self.page.context.add_cookies([{"name": LANGUAGE, "value": language, "url": self.served}])
                answer = self.page.goto(path)
                assert answer is not None
                assert answer.status == status, path
                assert self.page.get_attribute("html", "lang") == language
                self.look_here(f"{path} {language}")

    def look_here(self, name: str) -> None:
        """Look at the page that is shown, at both sizes."""
        for size in SIZES:
            self.page.set_viewport_size(size)
            wide = self.page.evaluate("document.documentElement.scrollWidth > innerWidth")
            text = self.page.inner_text("body")
            faults = [
                *serious_faults(self.page),
                *small_targets(self.page),
                *(["wider than the screen"] if wide else []),
            ]
            faults += [f"the key {key} for a name" for key in self.keys if key in text]
            if faults:
                self.wrong.setdefault(f"{name} {size['width']}", set()).update(faults)


def test_no_page_keeps_anybody_out_at_either_size_in_any_language(
    browser: Browser, app: FastAPI, desk: Desk, served: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = set[str]()

    def noted(template: str, language: str, **more: object) -> str:
        shown.add(template if "/" in template else f"{template}/page.html")
        return render(template, language, **more)

    monkeypatch.setattr("patency.bench.asking.render", noted)
    context = browser.new_context(viewport=SIZES[0], base_url=served, locale="en-GB")
    context.set_default_timeout(120_000)
    walk = Walk(context.new_page(), app, desk, served)
    _comes_in(walk)
    _looks_around(walk)
    _the_jets(walk, app)
    _soiled_side(walk)
    _a_load(walk)
    _clean_side(walk)
    context.close()
    assert walk.wrong == {}
    assert {one.name for one in walk.routes if "GET" in (one.methods or ())} == walk.walked | NO_PAGE
    assert {*_whole_pages()} == shown & {*_whole_pages()}


def _whole_pages() -> Iterator[str]:
    room = Path(patency.bench.__file__).parent
    for file in room.glob("*/*.html"):
        if '{% extends "layout/base.html" %}' in file.read_text(encoding="utf-8"):
            yield str(file.relative_to(room))


def _comes_in(walk: Walk) -> None:
    """The first start, the badge, a wrong PIN and the right one, the lock."""
    page = walk.page
    walk.look(f"/setup/{LINK}")
    page.select_option("#f-person", "admin-1")
    page.fill("#f-badge", "badge 1")
    page.fill("#f-new_pin", "904617")
    page.check("input[name=everybody]")
    page.click("main .main-act")
    page.wait_for_selector("td.code")
    walk.look_here("setup, made")
    walk.desk.opened.people.add(WHO, badge_of(WHO), PINS[WHO], walk.desk.hands.at)
    walk.look("/sign-in?another=1")
    walk.look("/nowhere", status=404)
    page.goto("/sign-in?another=1")
    scan(page, badge_of(WHO))
    for pin in ("000000", PINS[WHO]):
        page.wait_for_selector("#f-pin")
        walk.look_here(f"the PIN {pin}")
        page.fill("#f-pin", pin)
        page.click("main .main-act")
    page.wait_for_selector(".who")
    page.click(".who button")
    page.wait_for_selector("#f-pin")
    walk.look("/sign-in")
    page.fill("#f-pin", PINS[WHO])
    page.click("main .main-act")
    page.wait_for_selector(".who")


def _looks_around(walk: Walk) -> None:
    """What shows something before anything is done."""
    walk.look(
        "/", "/board", "/set/Appendix", "/set/Appendix/label", "/holds", "/stock", "/staff", "/laboratory",
        "/laboratory/L1", "/reach", "/trace",
        "/trace?kind=case&key=case-04", "/receiving", "/loading", "/loading/L1", "/unloading", "/release", "/clean",
        "/clean-tests", "/finding/set/Appendix",
    )  # fmt: skip
    page = walk.page
    scan(page, "no such thing")
    page.wait_for_selector(".told.bad")
    walk.look_here("an unknown code")


def _the_jets(walk: Walk, app: FastAPI) -> None:
    """A small load of which the jets are computed, as a view and as pictures."""
    _, load = drawn_load()
    kept = KeptReach({})
    kept._found[load.id, ()] = few_found()
    opened = walk.desk.opened
    plan = opened.plan.model_copy(update={"loads": (load,)})
    app.state.opened = dataclasses.replace(opened, plan=plan, reach=kept)
    walk.look(f"/reach/{load.id}", f"/reach/{load.id}?as=pictures&piece=1")
    app.state.opened = opened


def _soiled_side(walk: Walk) -> None:
    """A held loan; a set that misses a part; another that is reported, counted, taken apart."""
    hands = walk.hands
    hands.come(WHO)
    for name in ("Visiting Wrist", *TWO):
        hands.open("/receiving")
        hands.scan(f"set:{name}")
    walk.look("/receiving/Visiting Wrist", "/holds", f"/receiving/{TWO[0]}")
    hands.open(f"/receiving/{TWO[0]}")
    hands.tick("missing", f"{TWO[0]}/sleeve11/1/valve spring")
    hands.pedal()
    walk.look(f"/receiving/{TWO[0]}", f"/clean/{TWO[0]}")
    hands.open(f"/receiving/{TWO[0]}")
    hands.press("/found")
    hands.open(f"/finding/set/{TWO[1]}")
    hands.press("something that does not belong here")
    walk.look(f"/finding/set/{TWO[1]}", f"/receiving/{TWO[1]}?part=hand", f"/receiving/{TWO[1]}?part=apart")
    for name in TWO:
        hands.open(f"/receiving/{name}?part=apart")
        hands.scan(f"pod:pod-{name}")
        hands.pedal()
    walk.look(f"/receiving/{TWO[1]}")


def _a_load(walk: Walk) -> None:
    """From its first step to its decision, with what goes wrong on the way."""
    hands = walk.hands
    hands.open("/loading/L1")
    hands.pedal()
    walk.look("/loading/L1/otherwise?wrong=port+blocked&port=H4", f"/loading/L1/swap?step={TWO[0]}/mod5/1/tube")
    for step in range(43):
        if step in STEPS:
            walk.look("/loading/L1")
        hands.pedal()
    walk.look("/loading/L1", "/loading/L1/start")
    hands.open("/loading/L1/start")
    for code in ("carrier:Dunlin", "carrier:Lapwing", "machine:Alder", "programme:gentle_lumen"):
        hands.tick("checked")
        hands.scan(code)
    hands.pedal()
    walk.look("/unloading/L1", "/release/L1")
    walk.desk.hands.on(minutes=66)
    hands.come(WHO)
    _unlock(walk)
    hands.open("/unloading/L1")
    hands.pedal()
    walk.look("/unloading/L1", "/release/L1")
    hands.press("off")
    hands.press("/looked")
    walk.look("/unloading/L1", "/unloading", "/release", "/release/L1", "/board", "/holds")


def _unlock(walk: Walk) -> None:
    """An hour later the station is locked."""
    page = walk.page
    page.goto("/")
    page.fill("#f-pin", PINS[WHO])
    page.click("main .main-act")
    page.wait_for_selector(".who")


def _clean_side(walk: Walk) -> None:
    """A washed set, each thing done to it, the sterilizer, the store."""
    name, way = "Knee Scope", walk.way
    way.dismantled(name)
    way.ran("X1", L.WASH, "Alder", name)
    way.do("releaser-1", ReleaseLoad(load="X1", sets=(name,), evidence=MET))
    walk.look(f"/clean/{name}")
    way.move("assembler-1", name, SetState.INSPECTED)
    way.move("assembler-1", name, SetState.ASSEMBLED)
    walk.look(f"/clean/{name}")
    way.move("assembler-1", name, SetState.PACKED, expires=walk.desk.hands.at + timedelta(days=90))
    walk.look("/clean", f"/set/{name}/label")
    steam = steam_load_name("North", walk.desk.opened.plan.day, 1)
    way.ran(steam, L.STEAM, "North", name)
    walk.look(f"/unloading/{steam}", f"/release/{steam}")
    way.do("releaser-1", ReleaseLoad(load=steam, sets=(name,), evidence=MET))
    way.move("assembler-1", name, SetState.STORED)
    walk.look(f"/clean/{name}", f"/set/{name}")

"""The desk in a real browser: the laboratory answers a touch, a load is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.bench.desk import PINS
from tests.bench.hands import sign_in
from tests.bench.test_release import Round
from tests.demo.larkmere import hand_made_load

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.bench.desk import Desk

pytestmark = pytest.mark.slow


def test_a_touched_port_changes_every_lumen_at_once_without_a_new_page(page: Page) -> None:
    sign_in(page, "engineer-1")
    page.goto("/laboratory/L1")
    page.evaluate("document.body.dataset.same = 'yes'")
    capped = next(one.port for one in hand_made_load("L1").capped_ports)
    page.click(f"a.port[aria-label^='{capped},']")
    page.wait_for_selector("a.port.changed")
    assert page.get_attribute("a.port.changed", "aria-label") == f"{capped}, open"
    assert page.locator(".lumens td strong").count() > 20
    assert page.get_attribute("body", "data-same") == "yes"
    page.focus("a.port.changed")
    page.keyboard.press("Enter")
    page.wait_for_selector("a.port.changed", state="detached")


def test_a_load_is_refused_by_name_and_its_sets_go_back(page: Page, desk: Desk) -> None:
    around = Round(desk)
    around.run("L1")
    sign_in(page, "releaser-1")
    page.goto("/release/L1", timeout=90_000)
    assert page.locator("tr.not-evaluated, tr.not-met").count() > 0
    assert page.locator("button[value=release]").count() == 0
    page.fill("#f-why", "a criterion is not evaluated")
    for digit in PINS["releaser-1"]:
        page.click(f"[data-digit='{digit}']")
    page.click("button[value='wash again']")
    page.wait_for_selector(".told.good")
    assert "Refused by releaser-1" in page.inner_text(".told.good")
    page.goto("/set/Gallbladder One")
    assert "rewash" in page.inner_text("main")

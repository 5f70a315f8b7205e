"""In a real browser: a scanner that types, sound and picture, sizes for gloves, nothing that keeps people out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.bench.desk import PINS, badge_of
from tests.bench.hands import heard, scan, sign_in

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.bench.desk import Desk

pytestmark = pytest.mark.slow


def test_a_badge_is_scanned_wherever_the_focus_is_and_the_pin_tapped(page: Page) -> None:
    page.goto("/sign-in")
    page.evaluate("document.activeElement.blur()")
    scan(page, badge_of("loader-1"))
    page.wait_for_selector("#f-pin")
    for digit in PINS["loader-1"]:
        page.click(f"[data-digit='{digit}']")
    page.keyboard.press("F9")  # the foot pedal
    page.wait_for_selector(".who")
    assert page.inner_text(".who span") == "loader-1"


def test_a_station_nobody_touches_locks_goes_on_where_it_was_and_is_taken_over_by_another_badge(
    page: Page, desk: Desk
) -> None:
    page.clock.install()
    sign_in(page, "loader-1", "soiled side 1")
    page.goto("/receiving/Knee Scope?part=hand")
    head = desk.opened.ledger.head()
    desk.hands.on(minutes=11)
    page.clock.fast_forward(11 * 60_000)
    page.wait_for_selector("#f-pin")
    assert "Knee Scope" not in page.inner_text("main")
    assert page.locator(".who, nav a, .scan").count() == 0
    page.fill("#f-pin", PINS["loader-1"])
    page.keyboard.press("F9")
    page.wait_for_url("**/receiving/Knee%20Scope?part=hand")
    page.goto("/receiving")
    page.goto("/loading/L1")
    desk.hands.on(minutes=11)
    page.keyboard.press("F9")  # what is asked for after the lock is not done
    page.wait_for_selector("#f-pin")
    assert desk.opened.ledger.head() == head
    scan(page, badge_of("lead-2"))
    page.wait_for_selector("h2:has-text('2.')")
    page.fill("#f-pin", PINS["lead-2"])
    page.keyboard.press("F9")
    page.wait_for_url("**/loading/L1")
    assert page.inner_text(".who span") == "lead-2"
    page.keyboard.press("F9")
    page.wait_for_selector(".go")
    assert {event["who"]["person"] for event in desk.opened.ledger.story("load", "L1")} == {"lead-2"}


def test_a_scan_into_another_field_reaches_the_scan_field_and_leaves_the_other_as_it_was(page: Page) -> None:
    sign_in(page, "admin-1")
    page.goto("/staff")
    page.fill("#f-person", "loader-7")
    page.focus("#f-person")
    scan(page, "Pelvis One")
    page.wait_for_url("**/set/**")
    assert page.inner_text("h1") == "Pelvis One"


def test_the_separator_of_a_code_is_kept(page: Page) -> None:
    sign_in(page, "loader-1")
    page.keyboard.type("10LOT42")
    page.keyboard.press("Control+BracketRight")
    page.keyboard.type("21S7")
    assert page.input_value("#scan") == "10LOT42\x1d21S7"


def test_an_unknown_code_is_seen_and_heard(page: Page) -> None:
    sign_in(page, "loader-1")
    scan(page, "no such thing")
    page.wait_for_selector(".told.bad")
    assert heard(page) == "bad"

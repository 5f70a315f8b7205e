"""The tests of the sterilizers on their page: who enters them, what stands there, what a failed one leads to."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from patency.ledger import Kind
from tests.bench.desk import Desk, sign_in
from tests.bench.hands import sign_in as come_in
from tests.bench.test_soiled_and_clean_side import Visit

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from starlette.testclient import TestClient

PATH = "/clean-tests"


def enter(visit: Visit, verdict: str, status: int = 303, test: str = "hollow load") -> str:
    return visit.post(PATH, status, machine="South", test=test, verdict=verdict)


def test_an_engineer_enters_a_test_and_a_failed_one_holds_the_sterilizer(client: TestClient, desk: Desk) -> None:
    visit = Visit(client, desk, "engineer-1")
    page = client.get(PATH).text
    assert page.count("2026-05-12 06:00, assembler-1") == 6
    assert page.count("2026-05-13 06:00") == 4
    assert page.count("2026-05-19 06:00") == 2
    assert "2026-05-12 13:20, engineer-1" in enter(visit, "met")
    assert "a sterilizer that was enrolled" in visit.post(PATH, 422, machine="Alder", test="hollow load", verdict="met")
    page = enter(visit, "not met")
    assert "Not passed: South is held." in page
    assert "✕ Not passed<br>2026-05-12 13:20, engineer-1" in page
    assert [hold.reason for hold in desk.opened.ledger.holds(Kind.MACHINE, "South")] == ["test not passed: hollow load"]


def test_who_only_reads_sees_the_tests_and_no_button(client: TestClient, desk: Desk) -> None:
    Visit(client, desk, "releaser-1")
    page = client.get(PATH).text
    assert "assembler-1" in page
    assert 'value="not met"' not in page
    desk.hands.on(days=1)
    sign_in(client, "lead-1")
    page = client.get(PATH).text
    assert page.count("state missed") == 4  # those of every day are too old by the end of the next
    assert page.count("state met") == 2
    assert desk.hands.at.date() - timedelta(days=1) == desk.opened.plan.day


@pytest.mark.slow
def test_a_touch_enters_a_test_that_was_passed(page: Page) -> None:
    come_in(page, "assembler-1", "clean side 1")
    page.goto(PATH)
    assert page.locator("button[value=met]").count() == 6
    page.locator("button[value=met]").first.click()
    page.wait_for_selector(".told.good")
    assert page.locator("td", has_text="2026-05-12 13:20, assembler-1").count() == 1

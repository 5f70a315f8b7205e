"""The demo's day in a real browser: one set with all its pieces from the hand-over to the issue and back, its events.

The events are those of the demo's day: a missing spring, cracked caps, a loan without instructions, a hose that came
off.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.demo import simulate_steam
from patency.demo.earlier_cycles import earlier_cycles
from patency.evidence import write_baseline
from patency.ledger import InstrumentSet, LoadRecord, Piece, SetState, Where, rebuild
from patency.steps import (
    steam_load_name,
    write_all,
)
from tests.bench.hands import scan
from tests.bench.playing import Players

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.bench.desk import Desk

pytestmark = pytest.mark.slow

ONE, TWO = "Gallbladder One", "Gallbladder Two"
SPRING = f"{TWO}/sleeve11/1/valve spring"
S = SetState


def records_of_day(desk: Desk) -> None:
    """Give the first load the earlier cycles its alarm needs, and the sterilizer a record for its first load."""
    rng, work, folder = np.random.default_rng(7), desk.opened.workplace, desk.opened.folder
    kept = earlier_cycles(work.department, work.plan.loads[0], rng)
    (key, programme), *_ = work.department.steam_programmes.items()
    cycle = simulate_steam(programme, rng, key=key, machine="North")
    name = f"records/load-{steam_load_name('North', work.plan.day, 1)}"
    write_all(folder, {
        "baselines/load-L1.json": write_baseline(kept).encode(),
        f"{name}.csv": cycle.record.encode(),
        f"{name}.yaml": cycle.description.encode(),
    })  # fmt: skip


def test_a_set_with_all_its_pieces_from_the_hand_over_to_the_issue_and_back(page: Page, desk: Desk) -> None:
    records_of_day(desk)
    players = Players(page, desk)
    players.come("loader-1")
    _a_spring_in_the_other_box(players)
    _cracked_caps(players)
    _every_piece_goes_on_its_port(players)
    _out_of_the_machine(players)
    _round_the_clean_side_and_back(players)
    _nothing_is_lost(players)


def test_a_loan_without_instructions_is_held_and_a_hose_that_came_off_is_found(page: Page, desk: Desk) -> None:
    players = Players(page, desk)
    players.come("loader-1")
    _a_loan_without_instructions(players)
    _a_hose_that_came_off(players)


def _a_spring_in_the_other_box(players: Players) -> None:
    """13:16: a valve spring of Gallbladder Two is missing; it lies in the box of Gallbladder One."""
    for name in (ONE, TWO):
        players.receive(name)
        if name == TWO:
            players.page.locator(f"input[name=missing][value='{SPRING}']").check()
            players.press(".told.bad section, section.told.bad")
            assert players.set_now(TWO).state is S.MISSING_PART
            assert players.page.locator("a[href^='/loading/L']").count() == 0
            assert players.page.locator("form[action$='/found'] input[name=box]").first.get_attribute("value") == ONE
            players.tap("form[action$='/found'] button", ".told.good")
        else:
            players.press(".told.good")
        players.take_apart(name)
        assert players.set_now(name).state is S.DISMANTLED


def _cracked_caps(players: Players) -> None:
    """14:05: two hose caps are cracked; eight are left, and the plan still holds."""
    page = players.page
    page.goto("/stock")
    page.select_option("#f-accessory", "hose_cap")
    page.select_option("#f-number", "2")
    page.fill("#f-why", "cracked")
    players.tap("button.stop", ".told.good")
    assert page.locator("tr", has=page.locator("td", has_text="cap for a hose end")).inner_text().split()[-3:-1] == [
        "8",
        "8",
    ]


def _every_piece_goes_on_its_port(players: Players) -> None:
    """Every piece of the load with the pedal, one by its scan, one undone, one swapped, then the look and the start."""
    page = players.page
    page.goto("/loading/L1")
    players.press(".go")
    confirmed = [players.confirm() for _ in range(3)]
    page.locator("form[action$='/undo'] button").click()
    players.confirmed(2)
    swapped = _a_spare_for_a_damaged_tube(players)
    while page.locator(".go").count():
        confirmed.append(players.confirm())
    assert len({*confirmed}) == len(confirmed) - 1  # one was undone and done again
    assert len({*confirmed}) == 42  # and the swapped piece by its scan
    assert all(players.set_now(name).state is S.LOADED for name in (ONE, TWO))
    assert swapped in {*players.set_now(ONE).pieces, *players.set_now(TWO).pieces}
    players.press("input[name=checked]")
    players.start("L1")
    record = players.desk.opened.ledger.find(LoadRecord, "L1")
    assert record is not None
    assert record.state == "started"


def _a_spare_for_a_damaged_tube(players: Players) -> str:
    page, spare = players.page, "spare mod5/tube"
    page.goto(f"/loading/L1/swap?step={TWO}/mod5/1/tube")
    players.tap("button[name=pair]", ".go")
    piece = players.desk.opened.ledger.find(Piece, f"{TWO}/mod5/1/tube")
    assert piece is not None
    assert piece.place.where is Where.QUARANTINE
    mark = players.desk.opened.ledger.find(Piece, spare)
    assert mark is not None
    scan(page, f"piece:{spare}")  # its own mark confirms it
    players.confirmed(3)
    return spare


def _out_of_the_machine(players: Players) -> None:
    """Out, looked at, counted back, and released by name on its record."""
    page = players.page
    players.desk.hands.on(minutes=66)
    players.come("assembler-1", "clean side 1")
    page.goto("/unloading/L1")
    players.press("form[action$='/looked']")
    players.press("form[action$='/back']")
    players.tap("form[action$='/back'] button", ".told.good")
    players.come("releaser-1", "desk")
    page.goto("/release/L1")
    assert page.locator("tr.not-met, tr.not-evaluated").all_inner_texts() == []
    assert "spare mod5/tube" in page.inner_text(".first")
    players.decide("L1", "release")
    assert {players.set_now(name).state for name in (ONE, TWO)} == {S.WASH_RELEASED}


def _round_the_clean_side_and_back(players: Players) -> None:
    """One set through inspection, packing, the sterilizer and its release to a case, and back to the hand-over."""
    page = players.page
    players.come("assembler-1", "clean side 1")
    page.goto(f"/clean/{ONE}")
    for state in (S.INSPECTED, S.ASSEMBLED, S.PACKED):
        players.press(".told.good")
        assert players.set_now(ONE).state is state
    page.goto("/clean")
    page.locator(f"input[name=sets][value='{ONE}']").check()
    page.select_option("#f-machine", "North")
    players.tap("form[action='/clean-steam'] button", ".told.good")
    steam = steam_load_name("North", players.desk.opened.plan.day, 1)
    players.desk.hands.on(minutes=58)
    players.come("assembler-1", "clean side 1")
    page.goto(f"/unloading/{steam}")
    players.press(".look")
    players.press(".state.met")
    players.come("releaser-1", "desk")
    page.goto(f"/release/{steam}")
    assert page.locator("tr.not-met, tr.not-evaluated").all_inner_texts() == []
    players.decide(steam, "release")
    assert players.set_now(ONE).state is S.STERILE_RELEASED
    players.come("assembler-1", "clean side 1")
    page.goto(f"/clean/{ONE}")
    players.press(".told.good")
    assert players.set_now(ONE).state is S.STORED
    scan(page, "case-0745")
    page.wait_for_selector(".told.good")
    players.come("coordinator-1", "desk")
    page.goto(f"/clean/{ONE}")
    for state in (S.IN_USE, S.USED):
        players.press(".told.good")
        assert players.set_now(ONE).state is state
    players.come("loader-2")
    players.receive(ONE)
    assert players.set_now(ONE).state is S.RECEIVED


def _a_loan_without_instructions(players: Players) -> None:
    """17:30: the loan is held at the scan; nothing on its page counts, takes apart or loads it."""
    players.receive("Visiting Wrist")
    players.page.wait_for_selector(".told.held")
    assert players.page.evaluate("document.documentElement.dataset.heard") in {"stop", "bad"}
    assert players.page.locator("main [data-pedal], main form[action*='/receiving/']").count() == 0


def _a_hose_that_came_off(players: Players) -> None:
    """15:14: a hose of Little Otter came off; the record shows nothing, the look finds it, only that set goes back."""
    page = players.page
    players.run("D1")
    players.come("assembler-1", "clean side 1")
    page.goto("/unloading/D1")
    fine = page.locator(".look", has_text="3 mm").first
    fine.locator("button[name=port]").click()
    page.wait_for_selector(".look.off")
    players.press("form[action$='/back']")
    players.come("releaser-1", "desk")
    page.goto("/release/D1")
    missed = page.locator("tr.not-met").all_inner_texts()
    assert len(missed) == 1
    assert "3 mm" in missed[0]
    assert page.locator("button[value=release]").count() == 0
    players.decide("D1", "wash again", "a hose was off")
    assert players.set_now("Little Otter").state is S.REWASH


def _nothing_is_lost(players: Players) -> None:
    ledger = players.desk.opened.ledger
    assert ledger.verify() == []
    assert rebuild(ledger) == []
    pieces = [key for one in ledger.all_of(InstrumentSet) for key in one.pieces]
    elsewhere = [one.piece for one in ledger.all_of(Piece) if one.place.where is not Where.SET]
    assert sorted([*pieces, *elsewhere]) == sorted(one.piece for one in ledger.all_of(Piece))

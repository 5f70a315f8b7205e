"""The demo's whole day through the bench's pages, in one ledger: every set from the hand-over to the issue, its events.

What differs from set to set is done in a real browser; what does not goes through the forms of the same pages. The
events are those of the demo's day: a missing spring, cracked caps, a hose that came off, a forgotten taper cap, a loan
without instructions, and suspected prion disease the next morning.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.demo import Mishap, Recorder, larkmere_record, sensors_of, simulate_steam
from patency.demo.earlier_cycles import earlier_cycles
from patency.evidence import write_baseline
from patency.flow import nominal_flow_of_load
from patency.ledger import InstrumentSet, LoadRecord, Piece, SetState, Where, rebuild
from patency.steps import steam_load_name, write_all
from tests.bench.hands import heard, scan
from tests.bench.playing import Players

if TYPE_CHECKING:
    from fastapi import FastAPI
    from playwright.sync_api import Page

    from patency.load import Load
    from tests.bench.desk import Desk

pytestmark = pytest.mark.slow

ONE, TWO = "Gallbladder One", "Gallbladder Two"
SPRING = f"{TWO}/sleeve11/1/valve spring"
L2 = ("Pelvis One", "Appendix", "Shoulder Scope")
L3 = ("Long Colon", "Pelvis Two")
D1 = ("Knee Scope", "Little Otter", "Groin Repair")
HIT = "case-04"
"""The case of this morning on which Pelvis One was used."""
S = SetState


def test_every_set_goes_from_the_hand_over_to_the_issue_and_each_event_ends_as_it_should(
    page: Page, app: FastAPI, desk: Desk
) -> None:
    players = Players(page, app, desk)
    _records_of_the_day(desk)
    _a_spring_in_the_other_box(players)
    _cracked_caps(players)
    _every_piece_goes_on_its_port(players)
    _out_of_the_machine(players)
    _a_hose_that_came_off(players)
    _round_the_clean_side_and_back(players)
    _a_loan_without_instructions(players)
    _two_loads_without_a_fault(players)
    _a_forgotten_taper_cap(players)
    _washed_again(players)
    _suspected_prion_disease(players)
    _nothing_is_lost(players)


def _as_planned(desk: Desk, load: Load, rng: np.random.Generator) -> dict[str, bytes]:
    """Run a load as it was planned."""
    department = desk.opened.department
    stages = nominal_flow_of_load(department, load).stages
    pressures_pa = {name: stage.circulation_pa.nominal for name, stage in stages.items()}
    offsets = department.machines[load.machine].sensor_offsets
    sensors = sensors_of(department.machine_kinds[load.machine_kind], rng, offsets)
    recorder = Recorder(machine=load.machine, programme=load.programme)
    programme = department.programmes[load.programme]
    record, description = larkmere_record(Mishap.NOTHING, programme, pressures_pa, sensors, rng, recorder=recorder)
    return {f"records/load-{load.id}.csv": record.encode(), f"records/load-{load.id}.yaml": description.encode()}


def _records_of_the_day(desk: Desk) -> None:
    """Give the washers what their alarms need of earlier cycles, one load without its fault, and steam cycles."""
    rng, work, files = np.random.default_rng(7), desk.opened.workplace, dict[str, bytes]()
    for load in work.plan.loads:
        files[f"baselines/load-{load.id}.json"] = write_baseline(earlier_cycles(work.department, load, rng)).encode()
    files |= _as_planned(desk, next(load for load in work.plan.loads if load.id == "L2"), rng)
    (key, programme), *_ = work.department.steam_programmes.items()
    for machine, number in (("North", 1), ("North", 2), ("South", 1), ("South", 2)):
        cycle = simulate_steam(programme, rng, key=key, machine=machine)
        name = f"records/load-{steam_load_name(machine, work.plan.day, number)}"
        files |= {f"{name}.csv": cycle.record.encode(), f"{name}.yaml": cycle.description.encode()}
    write_all(desk.opened.folder, files)


def _a_spring_in_the_other_box(players: Players) -> None:
    """13:16: a valve spring of Gallbladder Two is missing; it lies in the box of Gallbladder One."""
    players.come("loader-1")
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
    line = page.locator("tr", has=page.locator("td", has_text="cap for a hose end"))
    assert line.inner_text().split()[-3:-1] == ["8", "8"]
    assert page.locator(".told.bad").count() == 0


def _every_piece_goes_on_its_port(players: Players) -> None:
    """By pedal, one by its scan, one undone, one swapped; the last ones after an interruption; then the start."""
    page = players.page
    page.goto("/loading/L1")
    players.press(".go")
    confirmed = [players.confirm() for _ in range(3)]
    page.locator("form[action$='/undo'] button").click()
    players.confirmed(2)
    swapped = _a_spare_for_a_damaged_tube(players)
    confirmed += [players.confirm() for _ in range(3)]
    assert len({*confirmed}) == len(confirmed) - 1  # one was undone and done again
    left = players.confirm_elsewhere("loader-1", "L1", but=2)
    page.goto("/loading/L1")  # the station knows where everybody stood
    confirmed += [players.confirm(), players.confirm()]
    assert left + len({*confirmed}) + 1 == 43  # and the swapped piece by its scan
    assert page.locator(".go").count() == 0
    assert all(players.set_now(name).state is S.LOADED for name in (ONE, TWO))
    assert swapped in {*players.set_now(ONE).pieces, *players.set_now(TWO).pieces}
    players.press("input[name=checked]")
    players.start("L1")
    assert players.load_now("L1").state == "started"


def _a_spare_for_a_damaged_tube(players: Players) -> str:
    page, spare = players.page, "spare mod5/tube"
    page.goto(f"/loading/L1/swap?step={TWO}/mod5/1/tube")
    players.tap("button[name=pair]", ".go")
    piece = players.desk.opened.ledger.find(Piece, f"{TWO}/mod5/1/tube")
    assert piece is not None
    assert piece.place.where is Where.QUARANTINE
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


def _a_hose_that_came_off(players: Players) -> None:
    """15:14: a hose of Little Otter came off; the record shows nothing, the look does. That set goes back, no other."""
    page = players.page
    players.wash("D1", at="15:14")
    players.come("assembler-1", "clean side 1")
    page.goto("/unloading/D1")
    players.press(".look")
    page.locator(".look", has_text="3 mm").first.locator("button[name=port]").click()
    page.wait_for_selector(".look.off")
    assert players.set_now("Little Otter").state is S.REWASH
    players.press("form[action$='/back']")
    players.tap("form[action$='/back'] button", ".told.good")
    players.come("releaser-1", "desk")
    page.goto("/release/D1")
    assert page.locator("tr.not-met, tr.not-evaluated").all_inner_texts() == []
    different = page.inner_text(".first")
    assert re.search(r"Off at H\d+: instrument 3 mm with flush port; Little Otter goes back", different)
    assert "every lumen still gets what it has to reach: Groin Repair, Knee Scope" in different
    assert "Release Groin Repair, Knee Scope" in page.inner_text("button[value=release]")
    players.decide("D1", "release")
    assert {name: players.set_now(name).state for name in D1} == {
        "Knee Scope": S.WASH_RELEASED,
        "Little Otter": S.REWASH,
        "Groin Repair": S.WASH_RELEASED,
    }
    page.goto("/set/Little Otter")
    assert re.search(r"off at H\d+ of load D1: instrument 3 mm with flush port was not fed", page.inner_text("main"))
    page.goto("/trace?kind=set&key=Little Otter&direction=forward")
    assert re.search(r"went through wash load D1 \(event \d+\), not released from it", page.inner_text("main table"))


def _round_the_clean_side_and_back(players: Players) -> None:
    """One set through inspection, packing, the sterilizer and its release to a case, and back to the hand-over."""
    page, forms = players.page, players.forms
    players.come("assembler-1", "clean side 1")
    page.goto(f"/clean/{ONE}")
    for state in (S.INSPECTED, S.ASSEMBLED, S.PACKED):
        players.press(".told.good")
        assert players.set_now(ONE).state is state
    players.pack_elsewhere(TWO)
    page.goto("/clean")
    for name in (ONE, TWO):
        page.locator(f"input[name=sets][value='{name}']").check()
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
    forms.come("assembler-1")
    players.issue_elsewhere(TWO, "case-0930")


def _two_loads_without_a_fault(players: Players) -> None:
    """Three sets are washed, and beside them the one that went back; one of the six goes out to an emergency."""
    again, rng = players.plan_again("D1", "Little Otter"), np.random.default_rng(8)
    files = _as_planned(players.desk, again, rng)
    cycles = earlier_cycles(players.desk.opened.department, again, rng)
    files[f"baselines/load-{again.id}.json"] = write_baseline(cycles).encode()
    write_all(players.desk.opened.folder, files)
    players.wash("L2", again.id, at="16:20")
    for load in ("L2", again.id):
        players.look_elsewhere(load)
    for load in ("L2", again.id):
        players.release_elsewhere(load)
    players.steam_elsewhere(South=L2, North=D1)
    cases = ("case-0815", "case-0800", "case-1215", "case-2040", "case-1100")
    for name, case in zip((*D1, *L2[1:]), cases, strict=True):
        players.issue_elsewhere(name, case)
    players.forms.open("/clean/Pelvis One")
    players.forms.pedal()
    assert players.set_now("Pelvis One").state is S.STORED
    players.forms.come("coordinator-1", "desk")
    players.forms.open("/clean/Appendix")
    players.forms.pedal()
    assert players.set_now("Appendix").state is S.IN_USE


def _a_loan_without_instructions(players: Players) -> None:
    """17:30: the loan is held at the scan; nothing on its page counts, takes apart or loads it."""
    players.come("loader-1")
    players.receive("Visiting Wrist")
    players.page.wait_for_selector(".told.held")
    assert heard(players.page) in {"stop", "bad"}
    assert players.page.locator("main [data-pedal], main form[action*='/receiving/']").count() == 0


def _a_forgotten_taper_cap(players: Players) -> None:
    """18:32: the taper cap was forgotten; the pressure leaves the band of this very load, and nothing is released."""
    page = players.page
    players.wash("L3", at="18:32")
    players.look_elsewhere("L3")
    players.come("releaser-1", "desk")
    page.goto("/release/L3")
    missed = [row.locator("td").all_inner_texts() for row in page.locator("tr.not-met").all()]
    pressures = [(value, band) for name, _, value, band, *_ in missed if name.startswith("circulation pressure")]
    assert pressures
    for value, band in pressures:
        seen, low, high = (float(one) for one in re.findall(r"[\d.]+", f"{value.split('±')[0]} {band}"))
        assert not low <= seen <= high
        assert abs(seen / ((low + high) / 2) - 1) < 0.2  # a fixed window of 20 % would have let it pass
    assert page.locator("button[value=release]").count() == 0
    players.decide("L3", "wash again", "pressure outside the band of this load")
    assert {players.set_now(name).state for name in L3} == {S.REWASH}


def _washed_again(players: Players) -> None:
    """What was refused is planned anew, washed as planned, steamed and issued."""
    again = players.plan_again("L3")
    write_all(players.desk.opened.folder, _as_planned(players.desk, again, np.random.default_rng(9)))
    players.wash(again.id)
    players.look_elsewhere(again.id)
    players.release_elsewhere(again.id)
    players.steam_elsewhere(South=L3)
    for name, case in zip(L3, ("case-1030", "case-1000"), strict=True):
        players.issue_elsewhere(name, case)


def _suspected_prion_disease(players: Players) -> None:
    """The next day, 07:10: suspected prion disease; the trace finds the load, its other sets and their cases."""
    page = players.page
    players.desk.hands.at = datetime.combine(
        players.desk.opened.plan.day + timedelta(days=1), datetime.min.time(), players.desk.hands.at.tzinfo
    ) + timedelta(hours=7, minutes=10)
    players.come("lead-1", "desk")
    page.goto("/trace")
    scan(page, HIT)
    page.wait_for_selector("main table")
    found = {row.locator("td").first.inner_text(): row.inner_text() for row in page.locator("tbody tr").all()}
    for reached in ("set Pelvis One", "load L2", "set Appendix", "set Shoulder Scope", "case case-2040"):
        assert reached in found, sorted(found)
    assert "case case-1030" not in found  # Long Colon never shared a wash with it
    page.locator("summary", has_text="pieces").click()
    spring = page.locator("tr", has_text="Pelvis One/sleeve11/1/valve spring")
    assert "T1 unmarked" in spring.inner_text()  # and never shown as scanned
    page.goto("/holds")
    page.fill("#f-key", "Pelvis One")
    page.fill("#f-reason", "suspected prion disease of its last case")
    players.tap("form button.stop", ".told.good")
    players.come("assembler-1", "clean side 1")
    page.goto("/clean/Pelvis One")
    assert "suspected prion disease" in page.inner_text(".told.bad")
    scan(page, "case-0800")
    page.wait_for_selector(".told.bad[role=alert]")
    assert players.set_now("Pelvis One").state is S.STORED
    assert players.set_now("Pelvis One").case == HIT  # no later one


def _nothing_is_lost(players: Players) -> None:
    """Nine sets were issued, one is held for good reason, one never got in; the ledger verifies and builds anew."""
    ledger = players.desk.opened.ledger
    every = {ONE, TWO, *L2, *L3, *D1}
    went = {name: [one["what"].get("to") for one in ledger.story("set", name)] for name in every}
    issued = {name for name in every if "issued" in went[name][went[name].index("received") :]}
    assert issued == every - {"Pelvis One"}
    assert ledger.verify() == []
    assert rebuild(ledger) == []
    pieces = [key for one in ledger.all_of(InstrumentSet) for key in one.pieces]
    elsewhere = [one.piece for one in ledger.all_of(Piece) if one.place.where is not Where.SET]
    assert sorted([*pieces, *elsewhere]) == sorted(one.piece for one in ledger.all_of(Piece))
    assert {one.load for one in ledger.all_of(LoadRecord)} >= {"L1", "L2", "L3", "D1", "L3-again", "D1-again"}

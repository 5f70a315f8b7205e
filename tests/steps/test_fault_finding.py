"""The faults of planned loads as a step: found, written as plain values, turned into the lines of a sheet."""

from __future__ import annotations

import json
from functools import cache

import pytest

from patency.errors import InputError
from patency.flow import Alarm, FaultKind, Look, When
from patency.papers import LookLine, SheetWatch, load_sheet_html, load_sheet_pdf, set_letters
from patency.papers.sheets.steps import port_steps
from patency.steps import LoadFaults, faults_document, faults_of_plan, sheet_of_load, with_advice
from patency.steps.eye_check_words import harms_of_ports, sheet_watch, unseen_summary
from patency.steps.fault_finding import loss_of_others
from patency.texts import look_words
from tests.flow.faults.test_effects import effects_in_larkmere
from tests.papers.cast import PRINTED, text_of
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN
from tests.small_site import SMALL_SITE, small_department

DEPARTMENT = small_department(SMALL_SITE)


LOST = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE, FaultKind.PIECE_OFF_PORT}


@cache
def found() -> LoadFaults:
    (one,) = faults_of_plan(DEPARTMENT, SMALL_PLAN, Alarm())
    return one


@cache
def watch() -> SheetWatch:
    return sheet_watch(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0])


def test_the_document_says_of_every_fault_what_it_does_and_how_likely_it_shows() -> None:
    document = faults_document(SMALL_PLAN, [with_advice(DEPARTMENT, found())])
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    assert document["format"] == "patency-faults/1"
    (load,) = document["loads"]
    names = [fault["name"] for fault in load["faults"]]
    assert len(names) == len(set(names)) == len(found().effects.faults)
    off = load["faults"][names.index("hose off at the port, H2")]
    assert [one["lumen"] for one in off["falls_short"]] == [off["lumen"]]
    assert off["falls_short"][0]["share_of_need"] == 0.0
    assert set(off["sensors_show"]["P1"]) == set(load["stages"])
    assert all(0.0 <= one <= 1.0 for one in off["probability_of_alarm"].values())
    assert off["seen"] is False
    assert {check["when"] for check in load["eye_checks"]} == {"when loading", "when unloading"}
    assert load["advice"]["as_built"]["against the computed value"]["faults"] == len(names)


def test_what_a_fault_shows_and_what_is_shown_as_planned_are_in_the_same_units() -> None:
    (load,) = faults_document(SMALL_PLAN, [found()])["loads"]
    (sensor,) = load["sensors"]
    slow = next(fault for fault in load["faults"] if fault["kind"] == "pump at 80 % of its speed")
    for stage, planned in sensor["shows_as_planned"].items():
        assert 0.5 * planned < slow["sensors_show"][sensor["name"]][stage] < 0.7 * planned


def test_one_load_can_be_asked_for_and_an_unknown_one_is_refused() -> None:
    (one,) = faults_of_plan(DEPARTMENT, PLAN_OF_TWO, Alarm(), "L2")
    assert one.load.id == "L2"
    with pytest.raises(InputError, match="no load 'L9'"):
        faults_of_plan(DEPARTMENT, PLAN_OF_TWO, Alarm(), "L9")


@pytest.mark.parametrize("alarm", [Alarm(0.0), Alarm(1.0), Alarm(0.01, 0.0), Alarm(float("nan"))])
def test_a_share_that_is_none_is_refused(alarm: Alarm) -> None:
    with pytest.raises(InputError, match="a share between 0 and 1"):
        faults_of_plan(DEPARTMENT, SMALL_PLAN, alarm)


def test_each_glance_stands_where_it_can_still_be_done() -> None:
    assert set(watch().light) == {"H1", "H2", "H3"}
    assert set(watch().pull) == {"H1", "H2", "H3"}
    assert watch().before == (
        LookLine("Are the right nozzles on, and is every opening free?", ("N1", "N2")),
        LookLine("Is the sieve in the sump free of debris?"),
    )
    assert watch().loading == (
        LookLine("Along the ports: is there a hose, a piece or a cap on every one?"),
        LookLine("Turn every spray arm by hand: is it there, does it pass freely?"),
    )
    rods, pump = watch().seen_by_nobody
    assert rods.startswith("H2, H3: flush and inspect most closely")
    assert (
        pump == "machine: no alarm in this load shows a pump at 90 % of its speed; have it checked at the next service"
    )


def test_the_sheet_says_which_alarm_its_list_assumes() -> None:
    none_kept = "The list assumes no alarm on pressures and flows: no baseline of earlier cycles of this load is kept."
    sheet = sheet_of_load(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0])
    assert sheet.watch.assumes == none_kept
    assert none_kept in load_sheet_html(sheet)
    assert none_kept in text_of(load_sheet_pdf(sheet, PRINTED))


def test_every_glance_of_the_proven_list_has_its_box_on_the_sheet() -> None:
    sheet = sheet_of_load(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0])
    asked = {When.LOADING: (*sheet.watch.before, *sheet.watch.loading), When.UNLOADING: sheet.watch.unloading}
    rows = {port: step for step in sheet.port_steps for port in step.ports}
    checks = found().spots.checks
    assert {Look.LUMENS, Look.CONNECTIONS, Look.NOZZLES, Look.ARMS} <= {check.look for check in checks}
    for check in checks:
        if check.look is Look.LUMENS:
            assert all(rows[port].light for port in check.places)
        elif check.look in {Look.CONNECTIONS, Look.OVER_NOZZLES}:
            word = "pulled" if check.look is Look.CONNECTIONS else "over nozzle"
            assert all(word in rows[port].on for port in check.places if check.when is When.LOADING)
            assert set(check.places) <= set(sheet.unloading_ports)
        else:
            assert look_words(check.look.name, check.when.name) in [line.words for line in asked[check.when]]


def test_no_row_asks_for_the_light_where_a_sensor_shows_a_blocked_lumen() -> None:
    load = SMALL_PLAN.loads[0]
    steps = port_steps(DEPARTMENT, load, set_letters(load), SheetWatch(light=("H2",)))
    assert [step.ports for step in steps if step.light] == [("H2",)]
    assert {step.on for step in steps} == {("pulled",), ("over nozzle",)}


def test_what_the_glances_ask_is_not_asked_twice() -> None:
    sheet = sheet_of_load(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0])
    assert sheet.watch == watch()
    asked = [*sheet.checks_before_start, *(line.words for line in sheet.watch.loading)]
    assert sum("spray arm" in words for words in asked) == 1
    assert not any("pushed home" in words or "against the light" in words for words in asked)
    page = load_sheet_html(sheet)
    assert "No sensor sees these in this load" in page
    assert all(line.words in page for line in (*watch().before, *watch().loading, *watch().unloading))
    assert page.count("held against the light") == sum(step.light for step in sheet.port_steps) > 0
    assert page.index(watch().before[0].words) < page.index("step 1 on") < page.index(watch().loading[0].words)


def test_what_nobody_sees_says_what_the_clean_side_does_about_it() -> None:
    sheet = sheet_of_load(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0])
    for text in (load_sheet_html(sheet), text_of(load_sheet_pdf(sheet, PRINTED))):
        assert text.index("Clean side: look here first") < text.index(watch().seen_by_nobody[0][:40])
        assert "weakest first" in text
        assert " Pa<" not in text
        assert " Pa " not in text


def test_the_connections_whose_loss_harms_most_are_marked_worst_first() -> None:
    effects = effects_in_larkmere("L2")
    harms = harms_of_ports(effects)
    assert next(iter(harms)) == "T1"  # the wide taper takes most water
    assert len(harms) == 3
    rows = [
        k for k, fault in enumerate(effects.faults) if fault.place == "T1" and fault.kind is FaultKind.PIECE_OFF_PORT
    ]
    starved = int(effects.others_short[rows[0]].sum())
    assert harms["T1"] == f"if it comes off, {starved} other lumens get too little"


def test_a_connection_whose_loss_a_sheet_would_call_nothing_is_not_marked() -> None:
    effects = found().effects
    lost = [loss_of_others(effects, row) for row, one in enumerate(effects.faults) if one.kind in LOST]
    assert 0.0 < max(lost) < 0.005
    assert harms_of_ports(effects) == {}
    assert "another lumen gets" not in load_sheet_html(sheet_of_load(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0]))


def test_the_load_file_says_which_faults_no_sensor_could_show_and_what_is_looked_at_instead() -> None:
    told = unseen_summary(found().spots)
    assert told.startswith(f"{len(found().spots.blind)} of {len(found().spots.faults)} single faults (no baseline): ")
    assert "hose off at the port (" in told
    assert "Looked at instead, when loading: " in told
    assert "; when unloading: " in told
    assert told.endswith(
        "Seen by nobody: insert rod lying on the wall, pump at 90 % of its speed, pump at 80 % of its speed."
    )

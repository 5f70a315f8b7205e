"""The faults of planned loads as a step: found, written as plain values, turned into the lines of a sheet."""

from __future__ import annotations

import json
from functools import cache

import pytest

from patency.errors import InputError
from patency.flow import Alarm, FaultKind
from patency.papers import LookLine, SheetWatch, load_sheet_html
from patency.steps import LoadFaults, faults_document, faults_of_plan, sheet_of_load, with_advice
from patency.steps.eye_check_words import harms_of_ports, sheet_watch
from tests.flow.faults.test_effects import effects_in_larkmere
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN
from tests.small_site import SMALL_SITE, small_department

DEPARTMENT = small_department(SMALL_SITE)


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


def test_the_sheet_asks_for_each_glance_once_with_a_box_for_each_port() -> None:
    lines = watch().loading
    assert len({line.words for line in lines}) == len(lines)
    along = [line for line in lines if line.words.startswith("Along the hoses and sleeves of set A")]
    assert [line.places for line in along] == [("H1", "H2")]
    through = [line for line in lines if line.words.startswith("Hold each piece of set A")]
    assert [line.places for line in through] == [("H1", "H2")]
    assert LookLine("Turn every spray arm by hand: is it there, does it pass freely?") in lines
    assert [line for line in watch().unloading if "against the light" in line.words] == []
    assert watch().seen_by_nobody == ("insert rod lying on the wall: H2, H3",)


def test_what_the_glances_ask_is_not_asked_twice_and_every_port_is_looked_at_when_unloading() -> None:
    sheet = sheet_of_load(DEPARTMENT, SMALL_PLAN, SMALL_PLAN.loads[0])
    assert sheet.watch == watch()
    asked = [*sheet.checks_before_start, *(line.words for line in sheet.watch.loading)]
    assert sum("spray arm" in words for words in asked) == 1
    assert sum("hose" in words.lower() and "push" in words for words in asked) == 2  # one for each set
    looked_at = {place for line in sheet.watch.unloading for place in line.places} | set(sheet.unloading_rest)
    assert looked_at >= set(sheet.unloading_ports)
    page = load_sheet_html(sheet)
    assert "No sensor sees these in this load" in page
    assert all(line.words in page for line in (*watch().loading, *watch().unloading))


def test_the_connections_whose_loss_harms_most_are_marked_worst_first() -> None:
    effects = effects_in_larkmere("L2")
    harms = harms_of_ports(effects)
    assert next(iter(harms)) == "T1"  # the wide taper takes most water
    assert len(harms) == 3
    rows = [
        k for k, fault in enumerate(effects.faults) if fault.place == "T1" and fault.kind is FaultKind.PIECE_OFF_PORT
    ]
    starved = int(effects.others_short[rows[0]].sum())
    assert harms["T1"] == f"lost, it starves {starved} others"

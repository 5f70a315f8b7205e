"""What is not stated is listed with the questions it leaves unanswered; what has a default is said to have one."""

from __future__ import annotations

from typing import get_args

import pytest

from patency.catalogue import OpenQuestion, defaults_used, read_with_places, unknowns
from patency.load import Question
from tests.small_site import SMALL_SITE, changed

TUBE = "instruments.mod5.pieces.tube.lumens.bore"
CLEANING = "programmes.gentle.stages[1]"
NONES = "            side_holes: []\n            dead_ends: []\n            strainer_upstream: false\n"
LEAST = "    least_shear: {value: 1 Pa, source: no source}\n    least_flow: {value: 50 mL/min, source: no source}\n"


def open_questions(was: str, now: str = "") -> dict[str, tuple[str, ...]]:
    """What becomes unknown, by its path, when words of the small department are taken out."""
    before = {one.path for one in unknowns(read_with_places(SMALL_SITE).department)}
    reading = read_with_places(changed(SMALL_SITE, was, now))
    found = unknowns(reading.department, reading.root)
    assert all(one.place and ":" in one.place for one in found)
    return {one.path: tuple(str(question) for question in one.questions) for one in found if one.path not in before}


@pytest.mark.parametrize(
    ("was", "path", "question"),
    [
        ("        mass: 25 g\n", "instruments.mod5.pieces.tube.mass", "fits held"),
        (
            "            inlet: {family: luer, gender: female}\n",
            "instruments.fix5.pieces.whole.lumens.shaft.inlet",
            "fits fed",
        ),
        ("            grip: 15 mm\n", "instruments.mod5.pieces.tube.lumens.bore.grip", "fits"),
        ("        least_bend_radius: 40 mm\n", "instruments.cable.pieces.cable.least_bend_radius", "fits"),
        ("          lowest_ph: 6.5\n", "instructions.steel.versions[0].cleaning.lowest_ph", "suited"),
        (
            "          forbidden_agents: [bleach]\n",
            "instructions.steel.versions[0].cleaning.forbidden_agents",
            "suited",
        ),
        (
            "          water: utility\n          final_rinse_water: critical\n",
            "instructions.steel.versions[0].cleaning.water",
            "suited",
        ),
        (
            "          final_rinse_water: critical\n",
            "instructions.steel.versions[0].cleaning.final_rinse_water",
            "suited",
        ),
        (", highest_temperature: 120 °C", "instructions.steel.versions[0].drying.highest_temperature", "suited"),
        (
            "        preparation: {steps: [dismantle, flush every lumen]}\n",
            "instructions.steel.versions[0].preparation",
            "suited",
        ),
        ("    mass_limit: 12 kg\n", "carriers.Wren.mass_limit", "fits"),
        ("    bore: 2.0 mm\n", "connector_families.luer.bore", "fed verdict"),
        ("        pump_speed: 1\n", f"{CLEANING}.pump_speed", "fed verdict"),
        (f"15 mm\n{NONES}            need: {{maximum_pressure: none}}\n", f"{TUBE}.need.maximum_pressure", "fed"),
        (", arm_above: none", "carriers.Wren.levels.low.arm_above", "fits"),
        ("        inlet: []\n", "carriers.Wren.circuits.hoses.inlet", "fed verdict"),
        (", length: 300 mm, loss: 1.1}", "carriers.Wren.circuits.riser.inlet[0].loss", "fed verdict"),
        (", length: 1.2 m, loss: 2}", "machine_kinds.front_loader.discharge[0].loss", "fed verdict"),
        ("        needs_net: true\n", "instruments.mod5.pieces.insert.needs_net", "held"),
        ("        states: {ratchet: released}\n", "instruments.mod5.pieces.handle.states", "held"),
        ("80 mm\n    side_holes: []\n", "accessories.nozzle_6.side_holes", "fits fed verdict"),
        ("15 mm\n            side_holes: []\n", f"{TUBE}.side_holes", "fits fed verdict"),
        ("15 mm\n            side_holes: []\n            dead_ends: []\n", f"{TUBE}.dead_ends", "reached"),
        (f"15 mm\n{NONES}", f"{TUBE}.strainer_upstream", "fits"),
        (
            "        doses: [{agent: mild alkaline detergent, volume: 120 mL, ph: 10.5}]\n",
            f"{CLEANING}.doses",
            "suited verdict",
        ),
        ("    default_loss: {value: 0, source: invented}\n", "limits.flow.default_loss", "fed verdict"),
        (", unit: mbar, uncertainty: 5", "machine_kinds.front_loader.sensors.P1.uncertainty", "verdict"),
        ("    a0_target: 3000 s\n    stages", "programmes.gentle.a0_target", "suited"),
        ("90 °C, water: critical", "programmes.gentle.stages[3].water", "suited"),
        (", ph: 10.5", "programmes.gentle.stages[1].doses[0].ph", "suited"),
        (LEAST, "limits.flow", "fed"),
        ("    drain_angle: {value: 15 °, source: common practice}\n", "limits.load.drain_angle", "reached"),
        ("    tipping_reserve: {value: 1.5, source: common practice}\n", "limits.load.tipping_reserve", "held"),
        ("    nozzle_depth: {value: 20 mm, source: common practice}\n", "limits.load.nozzle_depth", "fits"),
        ("    bore_tolerance: {value: 2 %, source: common practice}\n", "limits.flow.bore_tolerance", "fed"),
        (
            "    a0_target: {value: 3000 s, source: ISO 15883-1 with the site's own choice of A0 3000}\n",
            "limits.cycle.a0_target",
            "suited verdict",
        ),
    ],
)
def test_a_missing_datum_names_its_questions(was: str, path: str, question: str) -> None:
    kept = {
        "    a0_target: 3000 s\n    stages": "    stages",
        ", unit: mbar, uncertainty: 5": ", unit: mbar",
        "90 °C, water: critical": "90 °C",
        "          water: utility\n          final_rinse_water: critical\n": "          final_rinse_water: critical\n",
        f"15 mm\n{NONES}            need: {{maximum_pressure: none}}\n": f"15 mm\n{NONES}",
        ", length: 300 mm, loss: 1.1}": ", length: 300 mm}",
        ", length: 1.2 m, loss: 2}": ", length: 1.2 m}",
        "80 mm\n    side_holes: []\n": "80 mm\n",
        "15 mm\n            side_holes: []\n": "15 mm\n",
        "15 mm\n            side_holes: []\n            dead_ends: []\n": "15 mm\n            side_holes: []\n",
        f"15 mm\n{NONES}": f"15 mm\n{NONES.replace('            strainer_upstream: false', '').rstrip()}\n",
    }
    assert open_questions(was, kept.get(was, "")) == {path: tuple(question.split())}


def test_a_feed_of_an_arm_nobody_describes_leaves_the_water_open() -> None:
    was = "        feed: []\n        jets: {count: 10, outlet: 4 mm, discharge_coefficient: 0.8}\n    sensors"
    found = open_questions(was, was.removeprefix("        feed: []\n"))
    assert found == {"machine_kinds.front_loader.arms.upper.feed": ("fed", "verdict")}


def test_where_every_part_states_its_loss_no_default_is_missed() -> None:
    site = changed(SMALL_SITE, "    default_loss: {value: 0, source: invented}\n", "")
    lossy = {
        name: text.replace("{shape: bore, bore: 1", "{loss: 0, shape: bore, bore: 1") for name, text in site.items()
    }
    lossy["instruments.yaml"] = (
        lossy["instruments.yaml"]
        .replace("bore: 4.2 ±", "loss: 0, bore: 4.2 ±")
        .replace("annulus, ", "annulus, loss: 0, ")
    )
    lossy["equipment.yaml"] = lossy["equipment.yaml"].replace(
        " mm\n        fitting", " mm\n        loss: 0\n        fitting"
    )
    department = read_with_places(lossy).department
    assert unknowns(department) == []
    assert "limits.flow.default_loss" not in {one.limit for one in defaults_used(department)}


def test_what_may_be_left_out_without_doubt_opens_nothing() -> None:
    for was in (
        "    fixed_pressure_window: {value: 20 %, source: common practice}\n",  # decides nothing
        "        initial_treatment: {steps: [wipe off coarse soil, keep moist]}\n",  # before the set arrives
        "least_a0: 3000 s, ",  # the site's own target counts then
        "    clean_side: 30 min\n",
    ):
        assert open_questions(was) == {}, was


def test_an_instrument_without_instructions_leaves_suited_open() -> None:
    was = "    family: cable\n    instructions: steel\n"
    assert open_questions(was, "    family: cable\n") == {"instruments.cable.instructions": ("suited",)}


def test_without_a_day_the_newest_approved_version_counts_and_no_limit_is_out_of_date() -> None:
    day = SMALL_SITE["instruments.yaml"].index("\nday:")
    texts = {**SMALL_SITE, "instruments.yaml": SMALL_SITE["instruments.yaml"][:day]}
    texts = changed(
        texts, "source: common practice}\n    arm_clear", "source: x y, valid_until: 2020-01-01}\n    arm_clear"
    )
    assert unknowns(read_with_places(texts).department) == []


def test_on_a_day_before_the_approval_no_version_is_in_force() -> None:
    assert open_questions("on: 2025-02-01", "on: 2026-03-03") == {"instructions.steel.versions": ("suited",)}


def test_a_reference_load_out_of_date_leaves_fed_open() -> None:
    valid = "valid_from: 2024-01-01, valid_until: 2024-12-31"
    lumens = "[{instrument: fix5, piece: whole, lumen: shaft, shear: {value: 2 Pa, source: report}}]"
    load = (
        f"reference_loads: {{old: {{source: report, {valid}, carrier: Wren, programme: gentle, lumens: {lumens}}}}}\n"
    )
    assert open_questions("\nday:\n", f"\n{load}day:\n") == {"reference_loads.old": ("fed",)}


def test_every_question_is_one_of_the_six_or_the_verdict() -> None:
    assert set(get_args(OpenQuestion)) == {*Question, "verdict"}


def test_instructions_nobody_approved_leave_suited_open() -> None:
    found = open_questions("        approval: {by: [K1, K2], on: 2025-02-01}\n")
    assert any("suited" in questions for questions in found.values())


def test_instructions_in_a_language_nobody_reads_leave_suited_open() -> None:
    found = open_questions("        language: en\n", "        language: fi\n")
    assert any("suited" in questions for questions in found.values())


def test_a_missing_limit_of_the_cycle_leaves_the_verdict_open() -> None:
    found = open_questions("    dose_tolerance: {value: 5 %, source: common practice}\n")
    assert found == {"limits.cycle.dose_tolerance": ("verdict",)}


def test_a_limit_out_of_date_is_as_good_as_missing() -> None:
    old = "    dose_tolerance: {value: 5 %, source: common practice, valid_until: 2020-01-01}\n"
    found = open_questions("    dose_tolerance: {value: 5 %, source: common practice}\n", old)
    assert found == {"limits.cycle.dose_tolerance": ("verdict",)}


def test_a_hollow_nobody_looked_for_leaves_drainage_open() -> None:
    stated = "        cups: []\n        way_up: distal up\n        states: {tap"
    assert stated in SMALL_SITE["instruments.yaml"]
    text = SMALL_SITE["instruments.yaml"].replace(stated, stated.removeprefix("        cups: []\n"), 1)
    found = unknowns(read_with_places({**SMALL_SITE, "instruments.yaml": text}).department)
    assert any(one.path.endswith("cups") and "reached" in one.questions for one in found)


def test_tolerances_that_are_not_stated_are_no_unknowns_but_defaults_in_use() -> None:
    department = read_with_places(SMALL_SITE).department
    used = {one.limit: one.count for one in defaults_used(department)}
    assert used["limits.flow.bore_tolerance"] > 0
    assert used["limits.flow.default_loss"] == 9  # six fittings and three lumens
    assert not any("tolerance" in one.what for one in unknowns(department))

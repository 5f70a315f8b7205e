"""What is not stated is listed with the questions it leaves unanswered; what has a default is said to have one."""

from __future__ import annotations

import pytest

from patency.catalogue import defaults_used, read_with_places, unknowns
from tests.small_site import SMALL_SITE, changed


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
        ("        mass: 25 g\n", "mass", "held"),
        ("            inlet: {family: luer, gender: female}\n", "inlet", "fits"),
    ],
)
def test_a_missing_datum_names_its_question(was: str, path: str, question: str) -> None:
    found = open_questions(was)
    assert any(key.endswith(path) and question in questions for key, questions in found.items()), found


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
    assert not any("tolerance" in one.what for one in unknowns(department))

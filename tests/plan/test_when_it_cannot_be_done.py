"""What cannot be planned is left out with the reason: a hold, instructions, a missing link, or facts that conflict."""

from __future__ import annotations

import pytest

from patency.catalogue import Department, read_department
from patency.demo import larkmere_texts
from patency.errors import InputError
from patency.load import Plan
from patency.plan import NoJudge, Verdict, check_plan, plan_day
from tests.small_site import SMALL_SITE, changed, small_department

OF_SHAFT = "gender: female}\n            side_holes: []\n            dead_ends: []\n            strainer_upstream: "
TWO_FORCEPS = changed(
    changed(SMALL_SITE, "contents: {sleeve11: 1, mod5: 1,", "contents: {sleeve11: 1, mod5: 2,"),
    "    name: flushing sleeve for 5 mm tubes\n    stock: 2",
    "    name: flushing sleeve for 5 mm tubes\n    stock: 1",
)


def department(*changes: tuple[str, str]) -> Department:
    texts = dict(SMALL_SITE)
    for was, now in changes:
        texts = changed(texts, was, now)
    return small_department(texts)


def plan(one: Department) -> Plan:
    return plan_day(one, judge=NoJudge())


def why(one: Department, name: str) -> str:
    (said,) = [left.why for left in plan(one).left_out if left.set == name]
    return said


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("    soiled_side: 8 min\n", "    soiled_side: 8 min\n    hold: tag unreadable\n", "on hold: tag unreadable"),
    ],
)
def test_a_held_set_is_left_out_with_the_hold(was: str, now: str, said: str) -> None:
    assert why(department((was, now)), "Noon") == said


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("        approval: {by: [K1, K2], on: 2025-02-01}\n", "", "no version of the instructions steel is approved"),
        ("        language: en\n", "        language: fi\n", "is in language 'fi', not read here"),
        ("        sterilization: {steps: [saturated steam 134 °C 5 min]}\n", "", "says nothing of sterilization"),
        (
            "highest_temperature: 95 °C\n          lowest_ph",
            "highest_temperature: 50 °C\n          lowest_ph",
            "cleaning.highest_temperature",
        ),
        ("          highest_ph: 11.5\n", "          highest_ph: 9\n", "cleaning.highest_ph"),
        ("          highest_ph: 11.5\n", "", "cleaning.highest_ph"),
        ("forbidden_agents: [bleach]", "forbidden_agents: [mild alkaline detergent]", "cleaning.forbidden_agents"),
        ("least_a0: 3000 s", "least_a0: 6000 s", "disinfection.least_a0"),
        ("highest_temperature: 120 °C", "highest_temperature: 90 °C", "drying.highest_temperature"),
    ],
)
def test_a_programme_no_instrument_allows_is_refused_with_instrument_field_and_value(
    was: str, now: str, said: str
) -> None:
    reason = why(department((was, now)), "Noon")
    assert said in reason
    assert "fix5" in reason or "sleeve11" in reason


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        (
            "grips: {family: tube_outside, gender: female, size: 5 ± 0.5 mm}",
            "grips: {family: tube_outside, gender: female, size: 7 ± 0.5 mm}",
            "no flushing sleeve does it",
        ),
        ("            grip: 15 mm\n", "            grip: 5 mm\n", "no flushing sleeve does it"),
        ("    outer: 6 mm\n    length: 80 mm", "    outer: 9 mm\n    length: 80 mm", "no injector nozzle does it"),
        (
            "            inlet: {family: luer, gender: female}\n",
            "            inlet: {family: luer, gender: male}\n",
            "no adapter in the department joins",
        ),
        ("            inlet: {family: luer, gender: female}\n", "", "the connector at its inlet is not stated"),
        (
            f"{OF_SHAFT}false\n",
            f"{OF_SHAFT}true\n",
            "needs a strainer in line",
        ),
        (
            "            inlet: {family: luer, gender: female}\n",
            "            inlet: {family: luer, gender: female, size: 4 mm}\n",
            "is unknown: only one of the two",
        ),
    ],
)
def test_a_lumen_that_cannot_be_reached_says_which_link_is_missing(was: str, now: str, said: str) -> None:
    left = plan(department((was, now))).left_out
    assert any(said in one.why for one in left), [one.why for one in left]


def test_too_few_sleeves_are_named_with_stock_and_need() -> None:
    one = small_department(TWO_FORCEPS)
    found = plan(one)
    assert [left.set for left in found.left_out] == ["Morning"]
    words = " | ".join(found.conflicts)
    assert "1 × flushing sleeve for 5 mm tubes in stock, the set needs 2" in words


def test_without_the_scarce_fact_there_is_a_plan() -> None:
    cured = changed(TWO_FORCEPS, "for 5 mm tubes\n    stock: 1", "for 5 mm tubes\n    stock: 2")
    assert plan(small_department(cured)).left_out == ()


def test_every_fact_of_a_conflict_is_needed_for_it() -> None:
    """Three cables on one coil place: more places cure it, and nothing else is named."""
    texts = changed(SMALL_SITE, "fix5: 1, cable: 1, optic: 1}", "fix5: 1, cable: 2, optic: 1}")
    found = plan(small_department(texts))
    assert [left.set for left in found.left_out] == ["Morning"]
    scarce = [line for line in found.conflicts if "has to be washed" not in line]
    assert len(scarce) == 1
    assert "Wren: 1" in scarce[0]


def test_a_shift_too_short_is_a_reason_too() -> None:
    texts = changed(SMALL_SITE, "shift_ends: 2026-03-02T21:30", "shift_ends: 2026-03-02T12:40")
    found = plan(small_department(texts))
    assert {left.set for left in found.left_out} == {"Morning", "Noon"}
    assert all("after the shift" in left.why for left in found.left_out)


def test_ports_stay_open_only_where_no_cap_is_left() -> None:
    without = changed(
        SMALL_SITE, "    name: cap for the taper\n    stock: 1", "    name: cap for the taper\n    stock: 0"
    )
    (load,) = plan(small_department(without)).loads
    assert load.open_ports == ("T1",)
    assert load.capped_ports == ()


def test_a_lumen_that_can_never_be_fed_is_reported() -> None:
    class Starving:
        """Says of every load that the forceps gets too little."""

        holds_in_company = True

        def thoroughly(self, load: object) -> Verdict:
            pieces = load.pieces  # type: ignore[attr-defined]
            return Verdict({(p.set, p.piece): "shaft: too little" for p in pieces if p.piece == "fix5/1/whole"}, {})

        def quickly(self, load: object) -> Verdict:
            return self.thoroughly(load)

    found = plan_day(department(), judge=Starving())
    told = " ".join([*(left.why for left in found.left_out), *found.conflicts])
    assert "too little" in told


def test_a_department_without_a_day_has_nothing_to_plan() -> None:
    with pytest.raises(InputError, match="names no day"):
        plan_day(department().model_copy(update={"day": None}))


def test_two_cracked_hose_caps_do_not_upset_the_demo_day() -> None:
    """The demo day's second event: ten hose caps become eight; the day can still be planned in four loads."""
    texts = larkmere_texts()
    assert texts["accessories.yaml"].count("stock: 10") >= 1
    one = read_department(texts)
    cap = one.accessories["hose_cap"].model_copy(update={"stock": 8})
    cracked = one.model_copy(update={"accessories": {**one.accessories, "hose_cap": cap}})
    found = plan(cracked)
    assert (len(found.loads), found.proven_fewest) == (4, True)
    assert cracked.day is not None
    assert [finding for finding in check_plan(found, cracked, cracked.day) if finding.rule != "fed"] == []

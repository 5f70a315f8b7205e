"""Which programme suits: each exclusion names instrument, field and value; what is not stated counts as not kept."""

from __future__ import annotations

from datetime import date

import pytest

from patency.plan import NoJudge, plan_day, programmes_for
from patency.plan.search.linear import FORBIDDEN, cheapest_matching
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed, small_department

DAY = date(2026, 3, 2)
LOAD = SMALL_PLAN.loads[0]


@pytest.mark.parametrize(
    ("was", "now", "field"),
    [
        ("    for_lumens: true", "    for_lumens: false", "lumens"),
        ("ph: 10.5", "ph: 12", "cleaning.highest_ph"),
        ("volume: 120 mL, ph: 10.5", "volume: 120 mL", "cleaning.highest_ph"),
        ("ph: 10.5", "ph: 3", "cleaning.lowest_ph"),
        ("          forbidden_agents: [bleach]\n", "", "cleaning.forbidden_agents"),
        ("          water: utility\n          final", "          final", "cleaning.water"),
        ("          water: utility\n          final", "          water: critical\n          final", "cleaning.water"),
        ("temperature: 25 °C, water: utility", "temperature: 25 °C", "cleaning.water"),
        ("temperature: 90 °C, water: critical", "temperature: 90 °C, water: utility", "cleaning.final_rinse_water"),
        ("temperature: 90 °C, water: critical", "temperature: 90 °C", "cleaning.final_rinse_water"),
        ("    a0_target: 3000 s\n    stages", "    stages", "disinfection.least_a0"),
        ("      - {name: drying, kind: dry, hold: 20 min, temperature: 100 °C}\n", "", "drying"),
        ("highest_temperature: 120 °C", "highest_temperature: 99 °C", "drying.highest_temperature"),
        (
            "drying: {steps: [dry in the machine], highest_temperature: 120 °C}",
            "drying: {steps: [dry in the machine]}",
            "drying.highest_temperature",
        ),
    ],
)
def test_an_exclusion_names_field_and_value(was: str, now: str, field: str) -> None:
    choice = programmes_for(small_department(changed(SMALL_SITE, was, now)), ["Noon"], DAY)
    assert choice.allowed == ()
    assert any(one.field.startswith(field) for one in choice.excluded), choice.excluded
    assert all(one.line in choice.why_none for one in choice.excluded)


def test_an_exclusion_by_water_says_what_is_asked_and_where_the_programme_has_lesser_water() -> None:
    texts = changed(SMALL_SITE, "temperature: 90 °C, water: critical", "temperature: 90 °C, water: utility")
    lines = {one.line for one in programmes_for(small_department(texts), ["Noon"], DAY).excluded}
    asked = "cleaning.final_rinse_water critical, the programme has utility water in disinfection"
    assert f"gentle: fix5, {asked}" in lines


def test_instructions_silent_on_the_last_water_are_kept_by_the_purest_only() -> None:
    silent = changed(SMALL_SITE, "          final_rinse_water: critical\n", "")
    assert programmes_for(small_department(silent), ["Noon"], DAY).allowed == ("gentle",)
    lesser = changed(silent, "temperature: 90 °C, water: critical", "temperature: 90 °C, water: utility")
    lines = [one.line for one in programmes_for(small_department(lesser), ["Noon"], DAY).excluded]
    assert all("final_rinse_water not stated, the programme has utility water" in line for line in lines)
    assert lines


def test_a_programme_without_water_rinses_nothing() -> None:
    department = small_department()
    dry = [stage for stage in department.programmes["gentle"].stages if not stage.kind.wet]
    gentle = department.programmes["gentle"].model_copy(update={"stages": dry})
    found = programmes_for(department.model_copy(update={"programmes": {"gentle": gentle}}), ["Noon"], DAY)
    assert {(one.field, one.has) for one in found.excluded} >= {("cleaning.final_rinse_water", "no water")}


def test_purer_water_than_asked_for_serves() -> None:
    texts = changed(SMALL_SITE, "temperature: 25 °C, water: utility", "temperature: 25 °C, water: critical")
    assert programmes_for(small_department(texts), ["Noon"], DAY).allowed == ("gentle",)


def test_what_every_instrument_tolerates_is_allowed() -> None:
    choice = programmes_for(small_department(), ["Morning", "Noon"], DAY)
    assert (choice.allowed, choice.excluded, choice.why_none) == (("gentle",), (), "")


def test_an_instrument_without_instructions_allows_nothing() -> None:
    texts = changed(SMALL_SITE, "family: optic\n    instructions: steel\n", "family: optic\n")
    choice = programmes_for(small_department(texts), ["Morning"], DAY)
    assert choice.allowed == ()
    assert "optic has no processing instructions" in choice.why_none


def test_a_piece_of_unknown_mass_goes_on_no_carrier_with_a_limit() -> None:
    texts = changed(SMALL_SITE, "        mass: 25 g\n", "")
    found = plan_day(small_department(texts), judge=NoJudge())
    (left,) = [one for one in found.left_out if one.set == "Morning"]
    assert "the mass of mod5/1/tube is not known" in left.why


@pytest.mark.parametrize(
    ("costs", "columns"),
    [
        ([], []),
        ([[1.0], [2.0]], None),
        ([[FORBIDDEN, FORBIDDEN]], None),
        ([[3.0, 1.0], [2.0, FORBIDDEN]], [1, 0]),
    ],
)
def test_the_cheapest_matching_gives_every_row_its_own_column(
    costs: list[list[float]], columns: list[int] | None
) -> None:
    assert cheapest_matching(costs) == columns

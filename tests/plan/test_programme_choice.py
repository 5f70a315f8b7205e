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

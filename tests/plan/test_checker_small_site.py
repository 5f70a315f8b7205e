"""Plans broken on purpose: each breaks one rule, and the check names exactly that rule and says it in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from patency.load import LeftOut
from patency.plan.checker import check_plan, open_points
from patency.plan.checking.rules import RULES
from tests.plan import broken_connections, broken_places, broken_runs, broken_sets
from tests.plan.breaking import fed, load, moved
from tests.plan.cases import (
    ADAPTED,
    BOTH_LUMENS_APART,
    FORCEPS,
    GOOD,
    ONLY_MORNING,
    TWO_CARRIERS,
    TWO_LUMENS,
    TWO_MACHINES,
    at,
)
from tests.small_plan import PLAN_OF_TWO, SMALL_PLAN

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Plan

BROKEN = [*broken_sets.BROKEN, *broken_connections.BROKEN, *broken_places.BROKEN, *broken_runs.BROKEN]


@pytest.mark.parametrize(
    ("plan", "department"),
    [
        (SMALL_PLAN, GOOD),
        (broken_places.STATED, GOOD),
        (PLAN_OF_TWO, GOOD),
        (BOTH_LUMENS_APART, TWO_LUMENS),
        (SMALL_PLAN, ADAPTED),
        (fed(SMALL_PLAN, "Noon", FORCEPS, chain=("extension",) * 3), ADAPTED),
        (load(moved(PLAN_OF_TWO, 1, at("12:45")), 1, carrier="Robin"), TWO_CARRIERS),
        (load(moved(PLAN_OF_TWO, 1, at("12:55")), 1, machine="Beta"), TWO_MACHINES),
        (moved(SMALL_PLAN, 0, at("15:01")).model_copy(update={"conflicts": ("Noon ends late",)}), GOOD),
        (ONLY_MORNING.model_copy(update={"left_out": (LeftOut(set="Noon", why="no carrier"),)}), GOOD),
    ],
)
def test_a_good_plan_breaks_no_rule(plan: Plan, department: Department) -> None:
    assert department.day is not None
    assert [finding.line for finding in check_plan(plan, department, department.day)] == []
    assert open_points(plan, department, department.day) == []


@pytest.mark.parametrize(
    ("rule", "plan", "department", "words"), BROKEN, ids=[f"{number} {case[0]}" for number, case in enumerate(BROKEN)]
)
def test_a_plan_that_breaks_one_rule_yields_findings_of_exactly_that_rule(
    rule: str, plan: Plan, department: Department, words: str
) -> None:
    assert department.day is not None
    findings = check_plan(plan, department, department.day)
    assert {finding.rule for finding in findings} == {rule}, [finding.line for finding in findings]
    assert any(words in finding.sentence for finding in findings), [finding.sentence for finding in findings]


def test_every_rule_is_broken_by_some_plan() -> None:
    assert [rule.name for rule in RULES if rule.name not in {case[0] for case in BROKEN}] == []


def test_every_rule_has_a_name_of_its_own() -> None:
    assert len({rule.name for rule in RULES}) == len(RULES)

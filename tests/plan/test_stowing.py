"""Pods and optic holders stand in a basket area of their set, where they find room; the plan says in which."""

from __future__ import annotations

import pytest

from patency.catalogue import Department, Placing
from patency.load import Plan, pieces_of_set
from patency.plan import NoJudge, check_plan, plan_day
from patency.plan.stowing import areas_to_stand_in
from tests.plan.breaking import site

B1 = "y: 20 mm, z: 60 mm}, width: 260 mm, depth: 240 mm"
B2 = "y: 270 mm, z: 60 mm}, width: 240 mm, depth: 240 mm"
NARROW_B1 = (B1, "y: 20 mm, z: 60 mm}, width: 80 mm, depth: 240 mm")
NARROW_B2 = (B2, "y: 270 mm, z: 60 mm}, width: 80 mm, depth: 240 mm")
INSERT = "mod5/1/insert"
TWO_AREAS = ("optic: 1}\n    basket_areas: 1", "optic: 1}\n    basket_areas: 2")


def areas(department: Department, name: str) -> list[str]:
    return areas_to_stand_in(department, department.carriers["Wren"], pieces_of_set(department, name))


def planned(department: Department) -> Plan:
    """Plan the day and hold the plan to the independent check, flow aside."""
    assert department.day is not None
    plan = plan_day(department, judge=NoJudge())
    assert [finding.line for finding in check_plan(plan, department, department.day) if finding.rule != "fed"] == []
    return plan


def stand(plan: Plan, name: str) -> set[str | None]:
    standing = {Placing.POD, Placing.OPTIC_HOLDER}
    return {p.stands_in for load in plan.loads for p in load.pieces if p.set == name and p.placing in standing}


def lies(plan: Plan, piece: str) -> str:
    return next(placed.position for load in plan.loads for placed in load.pieces if placed.piece == piece)


@pytest.mark.parametrize(
    ("words", "of_morning", "of_noon"),
    [
        ((), ["B1", "B2"], ["B1", "B2"]),
        ((NARROW_B2,), ["B1"], ["B1"]),
        (((B2, "y: 270 mm, z: 60 mm}, width: 90 mm, depth: 240 mm"),), ["B1"], ["B1", "B2"]),  # turned a quarter
        (((B2, "y: 270 mm, z: 60 mm}, width: 180 mm, depth: 180 mm"),), ["B1"], ["B1", "B2"]),  # too short for an optic
        ((("inner_width: 180 mm, inner_depth: 90 mm", "inner_width: 240 mm, inner_depth: 240 mm"),), [], ["B1", "B2"]),
        ((("inner_height: 50 mm", "inner_height: 181 mm"),), [], []),
    ],
)  # fmt: skip
def test_what_stands_finds_room_by_its_sides_its_height_and_the_floor_of_all(
    words: tuple[tuple[str, str], ...], of_morning: list[str], of_noon: list[str]
) -> None:
    department = site(*words)
    assert (areas(department, "Morning"), areas(department, "Noon")) == (of_morning, of_noon)


def test_a_set_without_small_parts_and_optics_may_have_any_area() -> None:
    assert areas_to_stand_in(site(NARROW_B1), site(NARROW_B1).carriers["Wren"], []) == ["B1", "B2"]


def test_the_plan_says_where_each_pod_and_holder_stands() -> None:
    plan = planned(site())
    (one,) = stand(plan, "Morning")
    (other,) = stand(plan, "Noon")
    assert {one, other} == {"B1", "B2"}
    assert lies(plan, INSERT) == one


def test_sets_whose_pods_find_room_in_the_same_area_only_wait_for_each_other() -> None:
    plan = planned(site(NARROW_B2))
    assert len(plan.loads) == 2
    assert stand(plan, "Morning") == stand(plan, "Noon") == {"B1"}


NO_NOON = ("    - {set: Noon, back_at: 2026-03-02T12:15, washed_by: 2026-03-02T16:00}\n", "")


@pytest.mark.parametrize(
    ("words", "wide"), [((NARROW_B2,), "B1"), ((NARROW_B1, (B2, B2.replace("240 mm, depth", "260 mm, depth"))), "B2")]
)
def test_a_set_with_two_areas_uses_one_for_all_where_nothing_finds_room_in_the_other(
    words: tuple[tuple[str, str], ...], wide: str
) -> None:
    plan = planned(site(*words, TWO_AREAS, NO_NOON))
    assert stand(plan, "Morning") == {lies(plan, INSERT)} == {wide}


def test_where_no_area_serves_for_both_what_stands_and_what_lies_are_apart() -> None:
    long_and_low = (B1, "y: 20 mm, z: 60 mm}, width: 80 mm, depth: 360 mm")  # no pod stands there
    short = (B2, "y: 270 mm, z: 60 mm}, width: 235 mm, depth: 235 mm")  # too short for the insert
    short_optic = ("{form: rod, length: 250 mm, width: 10 mm}", "{form: rod, length: 200 mm, width: 10 mm}")
    plan = planned(site(long_and_low, short, short_optic, TWO_AREAS, NO_NOON))
    assert lies(plan, INSERT) == "B1"
    assert stand(plan, "Morning") == {"B2"}


def test_a_set_that_finds_no_area_to_stand_in_is_left_out() -> None:
    plan = plan_day(site(("inner_height: 50 mm", "inner_height: 181 mm"), TWO_AREAS), judge=NoJudge())
    assert {out.set for out in plan.left_out} == {"Morning", "Noon"}
    assert any("pod" in out.why for out in plan.left_out), plan.left_out

"""A time limit is kept by everything that works toward a plan, and what it ends is said.

The clock here goes forward only when something that takes long is asked for, so that the same happens on any machine.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest

from patency.flow import FaultKind, effects_of_faults
from patency.plan import (
    NoJudge,
    TimeLimit,
    Verdict,
    check_plan,
    place_by_reach,
    plan_day,
    plan_staying_fed,
    remedies_for,
)
from patency.plan.staying_fed import judge as staying_judge
from patency.plan.staying_fed import planning, remedies
from patency.reach import LoadReach, arms_of_load, solids_of_load
from tests.plan.larkmere import day_of
from tests.plan.test_staying_fed import CAPS, HOSES, asking_of_the_forceps, shear_between
from tests.small_plan import SMALL_PLAN
from tests.small_site import small_department

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import FaultEffects
    from patency.load import Load, Plan

SMALL = small_department()
DAY = day_of(SMALL)
(BOTH,) = SMALL_PLAN.loads
LEFT = SMALL_PLAN.model_copy(
    update={"loads": tuple(BOTH.model_copy(update={"id": name}) for name in ("L1", "L2", "L3"))}
)


@dataclass
class Clock:
    """A clock that others put forward; it counts how often they do."""

    now: float = 0.0
    counted: int = 0

    def __call__(self) -> float:
        return self.now

    def takes(self, seconds: float) -> None:
        self.now += seconds
        self.counted += 1


@dataclass(frozen=True)
class Slow:
    """A judge of which every answer takes ten seconds, and that never is content."""

    clock: Clock
    holds_in_company: bool = False
    asked: list[Load] = field(default_factory=list)

    def thoroughly(self, load: Load) -> Verdict:
        self.clock.takes(10.0)
        self.asked.append(load)
        lumens = {(one.set, one.piece): "too little" for one in load.pieces if one.lumens and len(load.sets) > 1}
        return Verdict(lumens, {(one.set, one.piece): 0.5 for one in load.pieces if one.lumens})

    def quickly(self, load: Load) -> Verdict:
        return self.thoroughly(load)


def test_a_limit_without_a_clock_never_ends_and_one_with_a_clock_ends_on_time() -> None:
    assert not TimeLimit(0.0).over("anything")
    clock = Clock(100.0)
    limit = TimeLimit.from_now(20.0, clock)
    clock.now = 119.9
    assert not limit.over("the search")
    clock.now = 120.0
    assert limit.over("the search")
    assert limit.over("the search")
    assert limit.cut_short == ("the search",)


def test_a_part_ends_earlier_and_what_it_does_not_use_is_left_to_what_follows() -> None:
    clock = Clock()
    limit = TimeLimit.from_now(20.0, clock)
    half = limit.part(0.5)
    clock.now = 4.0
    assert half.left_s == pytest.approx(6.0)
    assert limit.part(0.5).left_s == pytest.approx(8.0)
    clock.now = 10.0
    assert half.over("the first half")
    assert not limit.over("all of it")
    assert limit.cut_short == ("the first half",)
    clock.now = 30.0
    assert limit.part(0.5).over("nothing is left")


def test_a_day_is_planned_even_when_no_time_is_left_and_the_plan_keeps_the_rules() -> None:
    clock = Clock()
    judge = Slow(clock)
    plan = plan_day(SMALL, judge=judge, limit=TimeLimit.from_now(0.0, clock))
    assert {name for load in plan.loads for name in load.sets} | {one.set for one in plan.left_out} == {
        "Morning",
        "Noon",
    }
    assert plan.loads
    assert [one for one in check_plan(plan, SMALL, DAY) if one.rule != "fed"] == []
    # Only the water as planned was asked for, once thoroughly and once quickly for each load.
    assert clock.counted == 2 * len(plan.loads)
    assert "moving weak lumens nearer to the feed" in plan.cut_short


def test_a_search_that_learns_on_and_on_ends_with_the_limit_and_says_what_is_open() -> None:
    endless = plan_day(SMALL, judge=Slow(Clock()))
    assert endless.cut_short == ()
    clock = Clock()
    ended = plan_day(SMALL, judge=Slow(clock), limit=TimeLimit.from_now(25.0, clock))
    assert "the search for a way to feed what falls short" in ended.cut_short
    # The look at one lumen alone, and at its load without each other set, is finished when the time is over.
    assert clock.now <= 25.0 + 4 * 10.0
    assert any("the search ended before a way was found" in line for line in ended.conflicts)


def test_of_the_plans_seen_before_the_end_the_one_with_the_fewest_short_is_taken() -> None:
    """Everything starves in company; the time is over when the sets stand apart, and those loads are kept."""
    clock = Clock()
    unlimited = plan_day(SMALL, judge=Slow(clock))
    assert [load.sets for load in unlimited.loads] == [("Morning",), ("Noon",)]
    again = Clock()
    just_enough = plan_day(SMALL, judge=Slow(again), limit=TimeLimit.from_now(clock.now / 0.8 + 1.0, again))
    assert just_enough == unlimited


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """Let every look at all faults of a load take a second."""
    clock = Clock()

    def slowly(department: Department, load: Load, day: object) -> FaultEffects:
        clock.takes(1.0)
        return effects_of_faults(department, load, day)  # type: ignore[arg-type]

    for module in (staying_judge, planning, remedies):
        monkeypatch.setattr(module, "effects_of_faults", slowly)
    return clock


def test_what_would_buy_it_is_looked_for_until_the_time_is_over_and_no_longer(counted: Clock) -> None:
    department = asking_of_the_forceps(shear_between(FaultKind.CAP_MISSING, BOTH))
    whole = remedies_for(department, BOTH, DAY.date, CAPS)
    needed = counted.counted
    assert len(whole.found) == 2
    assert needed > 4
    counted.counted, start = 0, counted.now
    limit = TimeLimit.from_now(3.0, counted)
    cut = remedies_for(department, BOTH, DAY.date, CAPS, limit)
    assert counted.now == start + 3.0
    assert cut.none_found == ()
    assert set(cut.found) < set(whole.found)
    assert limit.cut_short == ("load L1: the search for what would buy it",)
    counted.counted = 0
    assert remedies_for(department, BOTH, DAY.date, CAPS, limit).found == ()
    assert counted.counted == 0


def test_a_plan_that_is_to_stay_fed_keeps_the_limit_and_still_says_what_it_costs(counted: Clock) -> None:
    department = asking_of_the_forceps(shear_between(FaultKind.HOSE_OFF_PORT, BOTH))
    whole = plan_staying_fed(department, HOSES)
    assert whole.cut_short == ()
    assert whole.stays_fed is not None
    needed, counted.now = counted.now, 0.0
    plan = plan_staying_fed(department, HOSES, limit=TimeLimit.from_now(needed / 2, counted))
    # On top come the look at the load that was planned last, and what is not known of its faults.
    assert counted.now <= needed / 2 + 4.0
    assert plan.cut_short != ()
    assert plan.stays_fed is not None
    assert plan.stays_fed.costs != ()
    assert plan.stays_fed.fault_kinds == whole.stays_fed.fault_kinds


def test_without_a_clock_the_same_plan_comes_out_and_nothing_is_cut_short() -> None:
    one, other = (plan_staying_fed(SMALL, HOSES, limit=TimeLimit(20.0)) for _ in range(2))
    assert one == other
    assert one.cut_short == ()


def looked_at(plan: Plan, clock: Clock, seconds: float) -> tuple[Plan, list[str]]:
    """Place a plan by reach with looks of ten seconds; return it with the loads that were kept."""
    kept: list[str] = []

    def look(load: Load) -> LoadReach:
        clock.takes(10.0)
        kind = SMALL.machine_kinds[load.machine_kind]
        return LoadReach(solids_of_load(SMALL, load), arms_of_load(kind, {}, 40.0), None, ())

    limit = TimeLimit.from_now(seconds, clock)
    placed = place_by_reach(SMALL, plan, look, NoJudge(), keep=lambda load, _: kept.append(load.id), limit=limit)
    return placed, kept


def test_loads_are_looked_at_as_long_as_there_is_time_and_the_others_stay_as_they_are() -> None:
    clock = Clock()
    plan, kept = looked_at(LEFT, clock, 15.0)
    assert clock.now == 20.0  # what has begun is finished
    assert kept == ["L1", "L2"]
    assert plan.loads[2] == LEFT.loads[2]
    assert "load L3: what the jets strike" in plan.cut_short
    assert not {"load L1: what the jets strike", "load L2: what the jets strike"} & set(plan.cut_short)
    # Each load is looked at twice: also as it was before its baskets were laid closer.
    plan, kept = looked_at(LEFT, Clock(), 61.0)
    assert kept == ["L1", "L2", "L3"]
    assert plan.cut_short == ()

"""The record itself: the right programme, stages in order, no gap that could hide something."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import CriterionState
from tests.evidence.cycles import Cycle, criterion, good_cycle, limits


def test_a_record_of_another_programme_is_not_met() -> None:
    evidence = good_cycle().described("programme: short", "programme: basket").judged()
    named = criterion(evidence, "programme")
    assert (named.state, named.why) == (
        CriterionState.NOT_MET,
        "the record names 'basket', the load was planned for 'short'",
    )
    assert evidence.verdict is CriterionState.NOT_MET


def test_a_record_may_name_the_programme_by_its_key() -> None:
    evidence = good_cycle().described("programme: short", "programme: short_lumen").judged(programme_key="short_lumen")
    assert criterion(evidence, "programme").state is CriterionState.MET


def test_a_record_that_names_no_programme_is_not_asked() -> None:
    evidence = good_cycle().described("programme: short\n", "").judged()
    assert [c for c in evidence.criteria if c.name == "programme"] == []


def test_a_stage_missing_or_out_of_order_is_not_met() -> None:
    cycle = good_cycle()
    stages = criterion(replace(cycle, step=np.where(cycle.step == "dry", "", cycle.step)).judged(), "stages in order")
    assert (stages.state, stages.value, stages.limit, stages.margin) == (CriterionState.NOT_MET, 5.0, 6.0, -1.0)


def test_a_missing_drying_is_found_by_the_circulation_too() -> None:
    stages = criterion(good_cycle().without_column("step").without(1300, 1599).judged(), "stages in order")
    assert (stages.state, stages.why) == (CriterionState.NOT_MET, "5 of 6 stages, found by the circulation")


def test_stages_that_cannot_be_told_are_not_evaluated() -> None:
    evidence = good_cycle().without_column("step").without_column("P1").without_column("arm").judged()
    assert criterion(evidence, "stages in order").state is CriterionState.NOT_EVALUATED
    assert evidence.verdict is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize(
    ("lost", "state"), [(9, CriterionState.MET), (10, CriterionState.NOT_MET), (60, CriterionState.NOT_MET)]
)
def test_a_gap_longer_than_tolerated_is_not_met(lost: int, state: CriterionState) -> None:
    gap = criterion(good_cycle().without(1001, 1000 + lost).judged(), "longest gap in the record")
    assert (gap.value, gap.limit, gap.state) == (lost + 1, 10.0, state)


@pytest.mark.parametrize(
    ("column", "first", "last", "hole"), [("T2", 1000, 1030, 31), ("P1", 0, 30, 30), ("T1", 1590, 1600, 10)]
)
def test_a_silent_sensor_leaves_a_gap_too(column: str, first: int, last: int, hole: int) -> None:
    def silent(_: object, values: np.ndarray) -> None:
        values[first:last] = np.nan

    gap = criterion(good_cycle().with_column(column, silent).judged(), "longest gap in the record")
    assert gap.value == hole
    assert gap.why.endswith(f"in {column}")


def clock_set_back(cycle: Cycle) -> Cycle:
    time = cycle.time.copy()
    time[700:] -= 500.0
    return replace(cycle, time=time)


def test_a_clock_set_back_leaves_the_completeness_open_and_all_else_judged() -> None:
    evidence = clock_set_back(good_cycle()).judged()
    gap = criterion(evidence, "longest gap in the record")
    assert gap.why == "the clock was set back; how long the time in between was is unknown"
    assert criterion(evidence, "A0", sensor="T2").state is CriterionState.MET
    assert evidence.a0_s["T2"] == good_cycle().judged().a0_s["T2"]
    assert evidence.verdict is CriterionState.NOT_EVALUATED


def test_a_clock_set_back_within_the_hold_leaves_the_hold_open() -> None:
    cycle = good_cycle()
    time = cycle.time.copy()
    time[1100:] -= 500.0
    hold = criterion(replace(cycle, time=time).judged(), "disinfection hold time")
    assert (hold.state, hold.value) == (CriterionState.NOT_EVALUATED, 202.0)
    assert hold.why.endswith("gaps in the record leave up to 401 s open")


def test_without_a_limit_completeness_is_not_evaluated() -> None:
    evidence = good_cycle().judged(limits=limits(longest_gap=None))
    assert criterion(evidence, "longest gap in the record").why == "the site states no limit"

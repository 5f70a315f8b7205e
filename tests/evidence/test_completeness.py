"""The record itself: the right programme, stages in order, no gap that could hide something."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import CriterionState
from tests.evidence.cycles import MACHINE, Cycle, criterion, good_cycle, limits


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


def test_a_record_of_another_machine_is_not_met() -> None:
    named = criterion(good_cycle().described("machine: Alder", "machine: Hazel").judged(), "machine")
    assert (named.state, named.why) == (
        CriterionState.NOT_MET,
        "the record names 'Hazel', the load was planned for 'Alder' or 'Birch'",
    )


def test_a_record_may_be_of_another_machine_of_the_same_kind() -> None:
    named = criterion(good_cycle().described("machine: Alder", "machine: Birch").judged(), "machine")
    assert (named.state, named.why) == (CriterionState.MET, "the record names 'Birch'")


@pytest.mark.parametrize("name", ["programme", "machine"])
def test_what_the_record_does_not_name_is_not_evaluated(name: str) -> None:
    cycle = good_cycle()
    lines = [line for line in cycle.description.splitlines() if not line.startswith(f"{name}:")]
    evidence = cycle.described(cycle.description, "\n".join(lines)).judged()
    named = criterion(evidence, name)
    assert (named.state, named.why) == (CriterionState.NOT_EVALUATED, f"the record names no {name}")
    assert evidence.verdict is CriterionState.NOT_EVALUATED


def test_without_the_machine_of_the_load_neither_machine_nor_sensors_are_evaluated() -> None:
    evidence = good_cycle().judged(machine=None)
    for name in ("machine", "sensors of the machine"):
        named = criterion(evidence, name)
        assert named.why == "which machine the load was planned for was not given"
        assert named.state is CriterionState.NOT_EVALUATED


def test_every_sensor_of_the_machine_has_to_be_in_the_record() -> None:
    sensors = criterion(good_cycle().judged(), "sensors of the machine")
    assert (sensors.value, sensors.limit, sensors.state) == (7.0, 7.0, CriterionState.MET)


@pytest.mark.parametrize(
    ("column", "said"),
    [
        ("T1", "temperature at 'chamber'"),
        ("T2", "temperature at 'load'"),
        ("P1", "pressure at 'circulation'"),
        ("F1", "flow at 'circulation'"),
        ("arm", "rotation at 'upper arm'"),
        ("cond", "conductivity at 'chamber'"),
        ("dose", "dosed volume at 'detergent'"),
    ],
)
def test_a_sensor_left_out_of_the_record_is_missed_and_no_verdict_is_met(column: str, said: str) -> None:
    evidence = good_cycle().without_column(column).judged()
    sensors = criterion(evidence, "sensors of the machine")
    assert sensors.why == f"the machine has them, the record has not: {said}"
    assert evidence.verdict is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize(
    ("recorded", "described", "state"),
    [
        ("load, upper level", "load", CriterionState.MET),
        ("detergent", "mild alkaline detergent", CriterionState.MET),
        ("door", "load", CriterionState.NOT_EVALUATED),
    ],
)
def test_a_place_may_be_told_in_more_or_fewer_words(recorded: str, described: str, state: CriterionState) -> None:
    column = "dose" if "detergent" in described else "T2"
    place = "detergent" if column == "dose" else "load"
    sensor = MACHINE.sensors[column].model_copy(update={"place": described})
    machine = replace(MACHINE, sensors={**MACHINE.sensors, column: sensor})
    evidence = good_cycle().described(f"place: {place}", f'place: "{recorded}"').judged(machine=machine)
    assert criterion(evidence, "sensors of the machine").state is state


def test_one_sensor_does_not_stand_for_two() -> None:
    twins = replace(MACHINE, sensors={**MACHINE.sensors, "T3": MACHINE.sensors["T1"]})
    sensors = criterion(good_cycle().judged(machine=twins), "sensors of the machine")
    assert sensors.why == "the machine has them, the record has not: temperature at 'chamber'"


def test_a_machine_without_described_sensors_is_not_evaluated() -> None:
    sensors = criterion(good_cycle().judged(machine=replace(MACHINE, sensors={})), "sensors of the machine")
    assert sensors.why == "no sensor of 'lumen washer' is described"


def test_a_stage_missing_or_out_of_order_is_not_met() -> None:
    cycle = good_cycle()
    stages = criterion(replace(cycle, step=np.where(cycle.step == "dry", "", cycle.step)).judged(), "stages in order")
    assert (stages.state, stages.value, stages.limit, stages.margin) == (CriterionState.NOT_MET, 5.0, 6.0, -1.0)


def test_a_missing_drying_is_found_by_the_signals_too() -> None:
    stages = criterion(good_cycle().without_column("step").without(1300, 1599).judged(), "stages in order")
    assert (stages.state, stages.why) == (CriterionState.NOT_MET, "5 of 6 stages, found by the signals")


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

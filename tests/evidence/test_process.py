"""Doses, last water and spray arms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import CriterionState
from patency.quantities import Limit
from tests.evidence.cycles import PROGRAMME, Cycle, criterion, good_cycle, limits


def changed(column: str, first: int, last: int, value: float) -> Cycle:
    def change(_: object, values: np.ndarray) -> None:
        values[first:last] = value

    return good_cycle().with_column(column, change)


def scaled_dose(factor: float) -> Cycle:
    def scale(_: object, values: np.ndarray) -> None:
        values *= factor

    return good_cycle().with_column("dose", scale)


# 120 mL prescribed, 5 % tolerated, the meter uncertain by 1 mL: from 115 to 125 mL.
@pytest.mark.parametrize(
    ("volume", "state"),
    [
        (120, CriterionState.MET),
        (115.1, CriterionState.MET),
        (124.9, CriterionState.MET),
        (114.9, CriterionState.NOT_MET),
        (125.1, CriterionState.NOT_MET),
        (0, CriterionState.NOT_MET),
    ],
)
def test_a_dose_is_met_within_its_tolerance(volume: float, state: CriterionState) -> None:
    dose = criterion(scaled_dose(volume / 120).judged(), "volume of mild detergent")
    assert dose.state is state
    assert dose.value == pytest.approx(volume * 1e-6)
    assert dose.limit == pytest.approx((114e-6, 126e-6))
    assert (dose.stage, dose.sensor) == ("cleaning", "dose")


def test_a_dose_counts_from_the_end_of_the_stage_before() -> None:
    def early(time: np.ndarray, values: np.ndarray) -> None:
        values[:] = np.interp(time, [0, 50, 60, 120, 140], [0, 0, 40, 40, 160])

    dose = criterion(good_cycle().with_column("dose", early).judged(), "volume of mild detergent")
    assert dose.value == pytest.approx(120e-6)


def test_a_dose_without_meter_is_not_evaluated() -> None:
    dose = criterion(good_cycle().without_column("dose").judged(), "volume of mild detergent")
    assert (dose.state, dose.why) == (
        CriterionState.NOT_EVALUATED,
        "the record has no dosed volume at 'mild detergent'",
    )


def test_a_meter_of_another_agent_is_not_taken() -> None:
    cycle = good_cycle().described("place: detergent", "place: neutraliser")
    assert criterion(cycle.judged(), "volume of mild detergent").state is CriterionState.NOT_EVALUATED


def test_of_several_meters_the_one_with_the_most_fitting_name_is_taken() -> None:
    cycle = changed("cond", 0, 1600, 7.0).described(
        "cond: {quantity: conductivity, unit: uS/cm, place: chamber",
        "cond: {quantity: dosed volume, unit: mL, place: Mild Detergent",
    )
    assert criterion(cycle.judged(), "volume of mild detergent").sensor == "cond"


@pytest.mark.parametrize(
    ("cycle", "why"),
    [
        (changed("dose", 90, 400, np.nan), "the meter shows no values in this stage"),
        (changed("dose", 200, 400, 10.0), "the meter ran backwards within the stage"),
        (
            replace(good_cycle(), step=np.where(good_cycle().step == "clean", "rinse", good_cycle().step)),
            "the stage was not found in the record",
        ),
    ],
)
def test_a_dose_that_cannot_be_told_is_not_evaluated(cycle: Cycle, why: str) -> None:
    dose = criterion(cycle.judged(), "volume of mild detergent")
    assert (dose.state, dose.why) == (CriterionState.NOT_EVALUATED, why)


def test_a_dose_without_tolerance_is_not_evaluated() -> None:
    dose = criterion(good_cycle().judged(limits=limits(dose_tolerance=None)), "volume of mild detergent")
    assert dose.why == "tolerance: the site states no limit"


def test_doses_the_programme_does_not_state_are_not_evaluated() -> None:
    stages = [stage.model_copy(update={"doses": None}) for stage in PROGRAMME.stages]
    silent = good_cycle().judged(programme=PROGRAMME.model_copy(update={"stages": stages}))
    found = [one for one in silent.criteria if one.name == "dosed volume"]
    assert [one.stage for one in found] == [stage.name for stage in stages if stage.kind.wet]
    assert {(one.state, one.why) for one in found} == {
        (CriterionState.NOT_EVALUATED, "the programme does not state the doses")
    }


def test_the_last_water_is_judged_by_its_highest_reading_at_the_end() -> None:
    last = criterion(changed("cond", 1290, 1291, 29.0).judged(), "conductivity of the last water")
    assert (last.value, last.limit, last.margin, last.state) == (29.0, 30.0, 0.5, CriterionState.MET)
    assert (last.stage, last.sensor) == ("disinfection", "cond")
    assert (
        criterion(changed("cond", 1290, 1291, 29.6).judged(), "conductivity of the last water").state
        is CriterionState.NOT_MET
    )


def test_what_the_probe_shows_before_the_last_quarter_does_not_count() -> None:
    assert criterion(changed("cond", 600, 1100, 500.0).judged(), "conductivity of the last water").value == 12.0


@pytest.mark.parametrize(
    ("cycle", "why"),
    [
        (good_cycle().without_column("cond"), "the record has no conductivity"),
        (changed("cond", 1000, 1400, np.nan), "no reading at the end of 'disinfection'"),
        (
            replace(good_cycle(), step=np.where(good_cycle().step == "disinfect", "rinse", good_cycle().step)),
            "the last wet stage was not found in the record",
        ),
    ],
)
def test_a_last_water_that_cannot_be_told_is_not_evaluated(cycle: Cycle, why: str) -> None:
    last = criterion(cycle.judged(), "conductivity of the last water")
    assert (last.state, last.why) == (CriterionState.NOT_EVALUATED, why)


def test_a_last_water_without_limit_is_not_evaluated() -> None:
    evidence = good_cycle().judged(limits=limits(final_rinse_conductivity=None))
    assert criterion(evidence, "conductivity of the last water").why == "the site states no limit"


def test_an_arm_that_stands_in_one_stage_is_found() -> None:
    slow = criterion(changed("arm", 150, 200, 0.0).judged(), "lowest speed of upper arm")
    assert (slow.value, slow.stage, slow.state) == (0.0, "cleaning", CriterionState.NOT_MET)


def test_a_single_reading_does_not_stop_an_arm() -> None:
    assert criterion(changed("arm", 150, 152, 0.0).judged(), "lowest speed of upper arm").value == 30.0


def test_an_arm_that_stands_in_the_first_of_two_stages_of_one_name_is_found() -> None:
    stages = [s.model_copy(update={"name": "rinse"}) if s.kind.value == "rinse" else s for s in PROGRAMME.stages]
    evidence = changed("arm", 400, 500, 0.0).judged(programme=PROGRAMME.model_copy(update={"stages": stages}))
    slow = criterion(evidence, "lowest speed of upper arm")
    assert (slow.value, slow.stage, slow.state) == (0.0, "rinse", CriterionState.NOT_MET)
    evidence = changed("arm", 500, 600, 0.0).judged(programme=PROGRAMME.model_copy(update={"stages": stages}))
    assert criterion(evidence, "lowest speed of upper arm").stage == "rinse 2"


def test_an_arm_that_turns_too_fast_is_found() -> None:
    fast = criterion(changed("arm", 700, 1200, 39.5).judged(), "highest speed of upper arm")
    assert (fast.value, fast.limit, fast.margin, fast.state) == (39.5, 40.0, -0.5, CriterionState.NOT_MET)


def test_an_arm_silent_in_one_stage_is_not_evaluated() -> None:
    slow = criterion(changed("arm", 100, 400, np.nan).judged(), "lowest speed of upper arm")
    assert slow.why == "not every wet stage has a reading"


@pytest.mark.parametrize("share", ["arm_readings_aside", "unsteady_share"])
def test_an_arm_is_not_evaluated_where_nobody_says_which_of_its_readings_count(share: str) -> None:
    speed = criterion(good_cycle().judged(limits=limits(**{share: None})), "speed of upper arm")
    assert speed.why == "share of an arm's readings that count: the site states no limit"
    assert speed.state is CriterionState.NOT_EVALUATED


def test_which_readings_of_an_arm_count_is_the_sites_word() -> None:
    stands = changed("arm", 150, 160, 0.0)  # 10 of the 231 steady readings of the cleaning
    strict = limits(arm_readings_aside=Limit(0.01, "1", "common practice"))
    assert criterion(stands.judged(), "lowest speed of upper arm").state is CriterionState.MET
    assert criterion(stands.judged(limits=strict), "lowest speed of upper arm").state is CriterionState.NOT_MET
    early = changed("arm", 110, 115, 0.0)
    all_of_it = limits(unsteady_share=Limit(0.0, "1", "common practice"), arm_readings_aside=Limit(0.0, "1", "none"))
    assert criterion(early.judged(), "lowest speed of upper arm").state is CriterionState.MET
    assert criterion(early.judged(limits=all_of_it), "lowest speed of upper arm").state is CriterionState.NOT_MET


def test_how_much_of_the_last_water_counts_is_the_sites_word() -> None:
    early = changed("cond", 900, 901, 100.0)
    assert criterion(early.judged(), "conductivity of the last water").state is CriterionState.MET
    half = limits(last_water_share=Limit(0.6, "1", "common practice"))
    assert criterion(early.judged(limits=half), "conductivity of the last water").state is CriterionState.NOT_MET
    nobody = criterion(good_cycle().judged(limits=limits(last_water_share=None)), "conductivity of the last water")
    assert (nobody.state, nobody.why) == (
        CriterionState.NOT_EVALUATED,
        "share of the last water: the site states no limit",
    )


def test_an_arm_without_limit_is_not_evaluated() -> None:
    evidence = good_cycle().judged(limits=limits(arm_rotation_least=None))
    assert criterion(evidence, "lowest speed of upper arm").why == "the site states no limit"

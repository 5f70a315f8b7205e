"""An arm's speed against the root of the pressure predicted for the load."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import ArmSpeed, Criterion, CriterionState, LoadMachine, PressurePrediction
from tests.evidence.cycles import MACHINE, PREDICTION, Cycle, criterion, good_cycle, limits, predicted

NAME = "speed of upper arm for this load"


def turning(rpm: float) -> Cycle:
    def turn(_: object, values: np.ndarray) -> None:
        values[105:395] = rpm

    return good_cycle().with_column("arm", turn)


def speed(
    cycle: Cycle, machine: LoadMachine = MACHINE, prediction: PressurePrediction | None = PREDICTION
) -> Criterion:
    return criterion(cycle.judged(machine=machine, prediction=prediction), NAME, stage="cleaning")


def test_what_is_expected_grows_with_the_root_of_the_pressure_predicted() -> None:
    """A quarter of the pressure is half of the speed: momentum of jets against drag, both worked out by hand."""
    found = speed(good_cycle(), prediction=predicted(4900.0, 5000.0, 5100.0))
    assert found.limit == pytest.approx((0.8 * 30 * math.sqrt(0.245), 1.2 * 30 * math.sqrt(0.255)))
    assert found.state is CriterionState.NOT_MET
    assert "expected 15.0 rpm" in found.why
    assert speed(good_cycle()).state is CriterionState.MET


@pytest.mark.parametrize(
    ("rpm", "state"),
    [
        (23.0, CriterionState.NOT_MET),  # 0.8 × 30 rpm × √0.98 = 23.76 rpm, the sensor uncertain by 1 rpm
        (24.0, CriterionState.NOT_EVALUATED),
        (25.0, CriterionState.MET),
        (35.0, CriterionState.MET),  # 1.2 × 30 rpm × √1.02 = 36.36 rpm
        (36.0, CriterionState.NOT_EVALUATED),
        (37.0, CriterionState.NOT_MET),
    ],
)
def test_a_slow_arm_above_the_least_speed_is_found_and_an_uncertain_reading_left_open(
    rpm: float, state: CriterionState
) -> None:
    evidence = turning(rpm).judged()
    assert criterion(evidence, NAME, stage="cleaning").state is state
    assert criterion(evidence, "lowest speed of upper arm").state is CriterionState.MET
    assert evidence.verdict is state


def test_what_is_not_stated_leaves_it_open() -> None:
    elsewhere = replace(MACHINE, arms={"lower arm": ArmSpeed(30.0, 2e4)})
    assert speed(good_cycle(), elsewhere).why == "how fast this arm turns at which pressure is not stated"
    assert speed(good_cycle(), prediction=None).why == "no pressure was predicted for this stage of this load"
    unsure = good_cycle().described("upper arm, uncertainty: 1", "upper arm")
    assert speed(unsure).state is CriterionState.NOT_EVALUATED
    silent = speed(turning(float("nan")))
    assert (silent.state, silent.value) == (CriterionState.NOT_EVALUATED, None)
    for name in ("arm_speed_tolerance", "unsteady_share"):
        judged = good_cycle().judged(limits=limits(**{name: None}))
        assert criterion(judged, NAME, stage="cleaning").state is CriterionState.NOT_EVALUATED

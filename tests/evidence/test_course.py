"""How fast a stage heats, and what a rinse carries over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.evidence import CriterionState
from patency.quantities import Limit
from tests.evidence.cycles import SOURCE, STARTS, criterion, good_cycle, limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

HEAT, CARRY = "fastest heating", "carried over into the rinse"


def leap(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
    values[(time > STARTS["clean"] + 180) & (time < STARTS["clean"] + 210)] += 60.0


def test_a_leap_that_no_heater_makes_is_missed_in_its_stage() -> None:
    evidence = good_cycle().with_column("T2", leap).judged()
    found = criterion(evidence, HEAT, stage="cleaning")
    assert (found.state, found.sensor) == (CriterionState.NOT_MET, "T2")
    assert found.value == pytest.approx(60.0, abs=5.0)
    assert criterion(evidence, HEAT, stage="first rinse").state is CriterionState.MET


def test_the_uncertainty_of_a_thermometer_counts_against_its_rise() -> None:
    found = criterion(good_cycle().judged(), HEAT, stage="disinfection")
    assert found.value is not None
    just = limits(fastest_heating=Limit(found.value + 0.1, "K", SOURCE))
    assert criterion(good_cycle().judged(limits=just), HEAT, stage="disinfection").state is CriterionState.NOT_MET


def test_a_stage_without_readings_leaves_its_heating_open() -> None:
    def gone(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        values[(time >= STARTS["clean"]) & (time < STARTS["rinse"])] = np.nan

    evidence = good_cycle().with_column("T1", gone).with_column("T2", gone).judged()
    assert criterion(evidence, HEAT, stage="cleaning").state is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize(("share", "state"), [(0.4, CriterionState.MET), (0.6, CriterionState.NOT_MET)])
def test_a_rinse_that_leaves_too_much_of_the_water_before_is_missed(share: float, state: CriterionState) -> None:
    def rinsed(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        values[(time >= STARTS["rinse"]) & (time < STARTS["rinse 2"])] = 800.0 * share

    found = criterion(good_cycle().with_column("cond", rinsed).judged(), CARRY, stage="first rinse")
    assert found.state is state
    assert found.value == pytest.approx(share, rel=0.01)


def test_water_as_pure_as_the_last_needs_no_further_fall() -> None:
    evidence = good_cycle().judged()
    assert criterion(evidence, CARRY, stage="second rinse").state is CriterionState.MET
    without = good_cycle().judged(limits=limits(final_rinse_conductivity=None))
    assert criterion(without, CARRY, stage="second rinse").state is CriterionState.NOT_EVALUATED


def test_a_record_without_conductivity_leaves_the_rinses_open() -> None:
    evidence = good_cycle().without_column("cond").judged()
    assert criterion(evidence, CARRY, stage="first rinse").state is CriterionState.NOT_EVALUATED

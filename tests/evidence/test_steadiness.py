"""Foam and air make the circulation pressure swing; a pause, a slow change and a sensor's offset do not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from patency.evidence import Criterion, CriterionState
from patency.quantities import Limit
from tests.evidence.cycles import Cycle, criterion, good_cycle, limits

NAME = "swing of the circulation pressure"


def swinging(mbar: float, period_s: float = 9.0) -> Cycle:
    def swing(time: np.ndarray, values: np.ndarray) -> None:
        values[150:380] += mbar * np.sqrt(2.0) * np.sin(2 * np.pi * time[150:380] / period_s)

    return good_cycle().with_column("P1", swing)


def swing_of(cycle: Cycle, stage: str = "cleaning") -> Criterion:
    return criterion(cycle.judged(), NAME, stage=stage)


def test_a_pressure_that_swings_is_found_in_its_stage_alone() -> None:
    foam = swinging(10.0)
    assert swing_of(foam).state is CriterionState.NOT_MET
    assert swing_of(foam).value == pytest.approx(10.0 / 198.0, rel=0.1)
    assert swing_of(foam, "disinfection").state is CriterionState.MET
    assert swing_of(swinging(4.0)).state is CriterionState.MET


def test_pauses_and_slow_changes_are_no_swing() -> None:
    def pause_and_rise(_: object, values: np.ndarray) -> None:
        values[700:1300] *= np.linspace(1.0, 1.02, 600)
        values[900:905] = 0.0

    assert swing_of(good_cycle().with_column("P1", pause_and_rise), "disinfection").value == pytest.approx(
        0.0, abs=0.01
    )


def test_more_uncertainty_makes_it_stricter_and_none_stated_leaves_it_open() -> None:
    near = swinging(5.8)
    assert swing_of(near).state is CriterionState.MET
    assert swing_of(near.described("circulation, uncertainty: 2", "circulation, uncertainty: 20")).state is (
        CriterionState.NOT_MET
    )
    unknown = swing_of(near.described("circulation, uncertainty: 2", "circulation"))
    assert unknown.state is CriterionState.NOT_EVALUATED


def test_an_absolute_sensor_is_judged_above_the_surroundings() -> None:
    def lift(_: object, values: np.ndarray) -> None:
        values += 980.0

    absolute = swinging(10.0).with_column("P1", lift).described("reference: gauge", "reference: absolute")
    assert swing_of(absolute).why.endswith("the pressure of the surroundings is not known")
    stated = "surroundings: {pressure: 980, unit: mbar, uncertainty: 0.5, source: barometer}\n"
    told = replace(absolute, description=absolute.description + stated)
    assert swing_of(told).value == pytest.approx(swing_of(swinging(10.0)).value, rel=0.01)


def test_what_cannot_be_told_is_not_evaluated() -> None:
    no_limit = criterion(good_cycle().judged(limits=limits(pressure_swing=None)), NAME, stage="cleaning")
    assert no_limit.why == "the site states no limit"
    lapsed = Limit(0.03, "K", "x")
    assert criterion(good_cycle().judged(limits=limits(pressure_swing=lapsed)), NAME, stage="cleaning").why.startswith(
        "the limit is stated in K"
    )
    deaf = swing_of(good_cycle().described("circulation, uncertainty: 2", "circulation, uncertainty: 300"))
    assert deaf.why == "the pressure is no higher than the sensor is uncertain"

    def short(_: object, values: np.ndarray) -> None:
        values[140:399] = 0.0

    assert swing_of(good_cycle().with_column("P1", short)).why == "no stretch of circulation is long enough to tell"
    silent = criterion(good_cycle().without_column("P1").judged(), NAME)
    assert silent.why == "the record has no pressure at the circulation"
    lost = good_cycle().without_column("step").without_column("arm")

    def never(_: object, values: np.ndarray) -> None:
        values[:] = 0.0

    assert criterion(lost.with_column("P1", never).judged(), NAME).why == "no wet stage was found in the record"

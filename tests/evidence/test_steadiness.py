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


def trembling(first: int, last: int) -> Cycle:
    def tremble(time: np.ndarray, values: np.ndarray) -> None:
        values[first:last] += 20.0 * np.sin(2 * np.pi * time[first:last] / 2.3)

    return good_cycle().with_column("P1", tremble)


def test_foam_needs_an_agent_and_cavitation_hot_water_and_what_is_left_is_not_told_apart() -> None:
    """At 51 °C water vapour has 13 % of the pressure of the surroundings, at 92 °C 75 % (IAPWS-IF97)."""
    cold = swing_of(swinging(10.0)).why
    assert "; foam or air past a low water level, which the record does not tell apart (an agent is dosed in it" in cold
    assert "at 51.00 °C its vapour has 13% of the pressure of the surroundings: too little to boil in the pump" in cold
    assert "swing together" in cold
    hot = swing_of(trembling(700, 1250), "disinfection").why
    assert "; cavitation or air past a low water level, which the record does not tell apart (its water conducts" in hot
    assert "no agent is left to foam; at 92.00 °C its vapour has 75% of the pressure" in hot
    assert "swing each for itself" in hot


def test_what_is_not_known_excludes_no_cause() -> None:
    trembles = trembling(700, 1250)
    for cycle, changed in ((trembles.without_column("cond"), {}), (trembles, {"final_rinse_conductivity": None})):
        why = criterion(cycle.judged(limits=limits(**changed)), NAME, stage="disinfection").why
        assert "; foam, cavitation or air past a low water level" in why

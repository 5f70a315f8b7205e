"""How long drying ran, how long its air was hot, how hot it got; never whether lumens are dry."""

from __future__ import annotations

import numpy as np
import pytest

from patency.evidence import CriterionState
from tests.evidence.cycles import PROGRAMME, STARTS, Cycle, criterion, good_cycle, limits

AT_TEMPERATURE = "drying time at temperature"
HIGHEST = "highest temperature of the drying air"


def air(change: float, column: str = "T1") -> Cycle:
    def warmer(_: object, values: np.ndarray) -> None:
        values[STARTS["dry"] :] += change

    return good_cycle().with_column(column, warmer)


def test_drying_is_judged_by_its_time_and_claims_no_dryness() -> None:
    drying = criterion(good_cycle().judged(), "drying time")
    assert (drying.value, drying.limit, drying.state) == (299.0, 200.0, CriterionState.MET)
    assert drying.why.endswith("no record shows that lumens are dry inside")


def test_drying_cut_short_is_not_met() -> None:
    cycle = good_cycle().without(STARTS["dry"] + 100, STARTS["end"] - 1).without_column("T1").without_column("T2")
    drying = criterion(cycle.judged(), "drying time")
    assert (drying.value, drying.state) == (99.0, CriterionState.NOT_MET)


def test_a_long_gap_is_not_counted_as_drying() -> None:
    cycle = good_cycle().without(STARTS["dry"] + 100, STARTS["dry"] + 249)
    drying = criterion(cycle.judged(), "drying time")
    assert (drying.value, drying.state) == (148.0, CriterionState.NOT_EVALUATED)  # 99 s before the gap, 49 s behind it
    assert drying.why.endswith("gaps in the record leave up to 299 s open")


def test_drying_that_is_not_found_is_not_evaluated() -> None:
    cycle = good_cycle().without(STARTS["dry"], STARTS["end"] - 1)
    assert criterion(cycle.judged(), "drying time").why == "the stage was not found in the record"


def test_a_programme_without_drying_is_not_asked_for_it() -> None:
    programme = PROGRAMME.model_copy(update={"stages": PROGRAMME.stages[:-1]})
    evidence = good_cycle().without(STARTS["dry"], STARTS["end"] - 1).judged(programme=programme)
    assert [c for c in evidence.criteria if "drying" in c.name] == []
    assert evidence.verdict is CriterionState.MET


def test_the_air_has_to_be_hot_for_the_time_prescribed_less_what_the_sensor_is_uncertain_by() -> None:
    hot = criterion(good_cycle().judged(), AT_TEMPERATURE)
    # 92 °C to 101 °C in 100 s: 95.5 °C, 0.5 K above the tolerance's end, 39 s after the start; 1599 - 1339 s.
    assert (hot.value, hot.limit, hot.state) == (260.0, 200.0, CriterionState.MET)
    assert "every sensor of the chamber at 95.00 °C or more" in hot.why


def test_drying_with_air_that_stays_cool_is_not_met_however_long() -> None:
    cool = air(-6.0).judged()
    assert criterion(cool, AT_TEMPERATURE).state is CriterionState.NOT_MET
    assert criterion(cool, "drying time").state is CriterionState.MET


def test_the_load_may_lag_behind_the_air() -> None:
    assert criterion(air(-20.0, "T2").judged(), AT_TEMPERATURE).state is CriterionState.MET


# 101 °C, 100 °C set, 5 K tolerated, the sensor uncertain by 0.5 K.
@pytest.mark.parametrize(("more", "state"), [(3.5, CriterionState.MET), (3.6, CriterionState.NOT_MET)])
def test_air_too_hot_for_the_load_is_not_met(more: float, state: CriterionState) -> None:
    highest = criterion(air(more).judged(), HIGHEST)
    assert (highest.state, highest.limit, highest.sensor) == (state, 105.0, "T1")


@pytest.mark.parametrize(
    ("cycle", "changed", "why"),
    [
        (good_cycle().without_column("T1"), {}, "the record has no temperature of the chamber's air"),
        (good_cycle(), {"drying_temperature_tolerance": None}, "temperature tolerance: the site states no limit"),
    ],
)
def test_air_that_cannot_be_judged_is_not_evaluated(cycle: Cycle, changed: dict[str, None], why: str) -> None:
    evidence = cycle.judged(limits=limits(**changed))
    for name in (AT_TEMPERATURE, HIGHEST):
        assert (criterion(evidence, name).state, criterion(evidence, name).why) == (CriterionState.NOT_EVALUATED, why)
    assert criterion(evidence, "drying time").state is CriterionState.MET


def test_a_sensor_of_unknown_uncertainty_shows_no_hot_air_but_can_show_that_there_was_none() -> None:
    def unknown(cycle: Cycle) -> Cycle:
        return cycle.described("place: chamber, uncertainty: 0.5, range", "place: chamber, range")

    assert criterion(unknown(good_cycle()).judged(), AT_TEMPERATURE).state is CriterionState.NOT_EVALUATED
    assert criterion(unknown(air(-6.0)).judged(), AT_TEMPERATURE).state is CriterionState.NOT_MET

"""How fast a stage heats, and what a rinse carries over."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import Dose, Stage
from patency.evidence import CriterionState
from patency.quantities import Limit
from tests.evidence.cycles import PROGRAMME, SOURCE, STARTS, Cycle, criterion, good_cycle, limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.catalogue import Programme

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


SLOW = "slowest heating"


def warming(kelvin_per_minute: float, start: str = "clean", until_c: float = 51.0) -> Cycle:
    """Let the water of a stage warm up steadily, both thermometers alike."""

    def warm(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        begin = STARTS[start] + 10
        rows = (time >= begin) & (time < STARTS["rinse"])
        values[rows] = np.minimum(20.0 + kelvin_per_minute / 60.0 * (time[rows] - begin), until_c)

    return good_cycle().with_column("T1", warm).with_column("T2", warm)


def test_water_that_warms_up_slower_than_the_site_allows_is_missed_in_its_stage() -> None:
    """30 K at 10 K a minute take 180 s, after 10 s in which it was filled; T1 may be off by 0.5 K."""
    found = criterion(warming(10.0).judged(), SLOW, stage="cleaning")
    assert found.state is CriterionState.MET
    assert found.value == pytest.approx(10.0, rel=0.08)
    near = limits(slowest_heating=Limit(9.4, "K", SOURCE))
    assert criterion(warming(10.0).judged(limits=near), SLOW, stage="cleaning").state is CriterionState.NOT_MET
    assert criterion(warming(10.0).judged(limits=near), SLOW, stage="disinfection").state is CriterionState.MET


def test_a_stage_filled_hot_has_nothing_to_heat_and_one_that_never_gets_there_is_held_to_its_climb() -> None:
    def hot(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        values[(time >= STARTS["clean"]) & (time < STARTS["rinse"])] = 51.0

    filled = criterion(good_cycle().with_column("T1", hot).with_column("T2", hot).judged(), SLOW, stage="cleaning")
    assert (filled.state, filled.value) == (CriterionState.MET, None)
    assert filled.why.startswith("filled hot")
    cold = criterion(warming(1.5, until_c=30.0).judged(), SLOW, stage="cleaning")
    assert cold.state is CriterionState.NOT_MET
    assert cold.value == pytest.approx(1.5, rel=0.05)


def test_slow_heating_is_open_without_readings_or_after_the_clock_was_set_back() -> None:
    def gone(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        values[(time >= STARTS["clean"]) & (time < STARTS["rinse"])] = np.nan

    silent = good_cycle().with_column("T2", gone).judged()
    assert criterion(silent, SLOW, stage="cleaning").state is CriterionState.NOT_EVALUATED
    back = good_cycle()
    stepped = replace(back, time=np.where(back.time > 150, back.time - 30.0, back.time))
    assert criterion(stepped.judged(), SLOW, stage="cleaning").state is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize(("kelvin", "word"), [(-8.0, "lowest"), (8.0, "highest")])
def test_a_rinse_that_ends_too_cold_or_too_warm_is_missed(kelvin: float, word: str) -> None:
    def off(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        values[(time >= STARTS["rinse 2"] - 25) & (time < STARTS["rinse 2"])] += kelvin

    evidence = good_cycle().with_column("T2", off).judged()
    states = {
        (one, stage): criterion(evidence, f"{one} temperature of the rinse", stage=stage).state
        for one in ("lowest", "highest")
        for stage in ("first rinse", "second rinse")
    }
    assert states.pop((word, "first rinse")) is CriterionState.NOT_MET
    assert set(states.values()) == {CriterionState.MET}


def test_a_rinse_without_limit_reading_or_stage_leaves_its_temperature_open() -> None:
    def gone(time: NDArray[np.float64], values: NDArray[np.float64]) -> None:
        values[(time >= STARTS["rinse"]) & (time < STARTS["rinse 2"])] = np.nan

    both = good_cycle().with_column("T1", gone).with_column("T2", gone).judged()
    ways = (both, *(good_cycle().judged(limits=limits(**{name: None})) for name in
            ("rinse_temperature_tolerance", "last_water_share")))  # fmt: skip
    for evidence in ways:
        found = criterion(evidence, "highest temperature of the rinse", stage="first rinse")
        assert found.state is CriterionState.NOT_EVALUATED


DOSED = "conductivity of the rinse with its dose"


def with_a_dose(**stated: float) -> Programme:
    """Return the programme with a dose in its first rinse, and what its water should conduct."""
    stages = list(PROGRAMME.stages)
    dose = Dose.model_validate({"agent": "mild detergent", "volume": "0 mL"})
    stages[2] = stages[2].model_copy(update={"doses": [dose], **stated})
    return PROGRAMME.model_copy(update={"stages": stages})


@pytest.mark.parametrize(
    ("least", "highest", "missed"), [(5.0, 20.0, set()), (13.0, 20.0, {"lowest"}), (5.0, 12.2, {"highest"})]
)
def test_a_rinse_with_a_dose_conducts_what_was_found_at_validation(
    least: float, highest: float, missed: set[str]
) -> None:
    """The water of the first rinse conducts 12 µS/cm, give or take 0.5."""
    programme = with_a_dose(least_conductivity_us_cm=least, highest_conductivity_us_cm=highest)
    evidence = good_cycle().judged(programme=programme)
    states = {word: criterion(evidence, f"{word} {DOSED}").state for word in ("lowest", "highest")}
    assert {word for word, state in states.items() if state is CriterionState.NOT_MET} == missed


def test_a_rinse_with_a_dose_of_which_nothing_is_stated_or_read_is_open() -> None:
    assert criterion(good_cycle().judged(programme=with_a_dose()), f"lowest {DOSED}").why == (
        "the programme does not state what its water conducts"
    )
    stated = with_a_dose(least_conductivity_us_cm=5.0, highest_conductivity_us_cm=20.0)
    ways = (
        good_cycle().judged(programme=stated, limits=limits(last_water_share=None)),
        good_cycle().without_column("cond").judged(programme=stated),
    )
    for evidence in ways:
        assert criterion(evidence, f"highest {DOSED}").state is CriterionState.NOT_EVALUATED


def test_conductivities_out_of_order_are_refused() -> None:
    rinse = {"name": "r", "kind": "rinse", "hold": "60 s", "temperature": "30 °C"}
    with pytest.raises(ValueError, match="the least no more than the highest"):
        Stage.model_validate({**rinse, "least_conductivity": "9 µS/cm", "highest_conductivity": "5 µS/cm"})

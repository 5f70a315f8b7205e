"""A0, the hold, the first contact and the cleaning, on a cycle drawn with a ruler."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.evidence import CriterionState, Sense
from patency.quantities import Limit
from tests.evidence.cycles import PROGRAMME, SOURCE, STARTS, Cycle, criterion, good_cycle, limits

if TYPE_CHECKING:
    from collections.abc import Callable


def a0_by_hand(hold_c: float, hold_s: float, rate_k_s: float) -> float:
    """Return the A0 of a straight ramp from 65 °C to the hold, and of the hold."""
    ramp = 10 / math.log(10) / rate_k_s * (10 ** ((hold_c - 80) / 10) - 10**-1.5)
    return ramp + hold_s * 10 ** ((hold_c - 80) / 10)


def heat(change: Callable[[np.ndarray, np.ndarray], None]) -> Cycle:
    return good_cycle().with_column("T1", change).with_column("T2", change)


def sagging(from_s: int, to_s: int, kelvin: float) -> Cycle:
    def sag(time: np.ndarray, values: np.ndarray) -> None:
        values[(time >= from_s) & (time < to_s)] -= kelvin

    return heat(sag)


# The chamber rises 62 K in 300 s to 92 °C and stays for 399 s; the load reads 1 K less; uncertainties 0.5 and 0.25 K.
@pytest.mark.parametrize(("sensor", "raw_c", "guarded_c"), [("T1", 92, 91.5), ("T2", 91, 90.75)])
def test_a0_is_that_of_ramp_and_hold_and_drying_adds_nothing(sensor: str, raw_c: float, guarded_c: float) -> None:
    evidence = good_cycle().judged()
    assert evidence.a0_s[sensor] == pytest.approx(a0_by_hand(raw_c, 399, 62 / 300), rel=1e-3)
    assert evidence.a0_guarded_s[sensor] == pytest.approx(a0_by_hand(guarded_c, 399, 62 / 300), rel=1e-3)
    a0 = criterion(evidence, "A0", sensor=sensor)
    assert (a0.value, a0.limit, a0.sense) == (evidence.a0_guarded_s[sensor], 3000.0, Sense.AT_LEAST)
    assert a0.margin == pytest.approx(evidence.a0_guarded_s[sensor] - 3000)
    assert a0.state is CriterionState.MET


def test_hotter_and_longer_drying_leaves_a0_as_it_is() -> None:
    def bake(time: np.ndarray, values: np.ndarray) -> None:
        values[time >= STARTS["dry"]] = 120.0

    assert heat(bake).judged().a0_s == good_cycle().judged().a0_s


def test_the_guarded_value_decides() -> None:
    between = limits(a0_target=Limit(5200.0, "s", SOURCE))
    a0 = criterion(good_cycle().judged(limits=between), "A0", sensor="T2")
    assert a0.state is CriterionState.NOT_MET
    assert a0.why.startswith("4992 s, at least 5200 s; after subtracting the sensor's 0.25 K; the raw value is 5288 s")


def test_without_uncertainty_a0_is_not_evaluated_unless_it_is_missed_anyway() -> None:
    cycle = good_cycle().described("place: load, uncertainty: 0.25", "place: load")
    evidence = cycle.judged()
    assert criterion(evidence, "A0", sensor="T2").state is CriterionState.NOT_EVALUATED
    assert "T2" not in evidence.a0_guarded_s
    assert "T2" in evidence.a0_s
    missed = cycle.judged(limits=limits(a0_target=Limit(6000.0, "s", SOURCE)))
    assert criterion(missed, "A0", sensor="T2").state is CriterionState.NOT_MET


@pytest.mark.parametrize(
    ("limit", "why"),
    [
        (None, "the site states no limit"),
        (Limit(50.0, "min", SOURCE), "the limit is stated in min, not in s"),
        (
            Limit(3000.0, "s", SOURCE, valid_until=date(2026, 5, 31)),
            "the limit holds from the beginning until 2026-05-31, not on 2026-06-01",
        ),
    ],
)
def test_a0_without_a_usable_limit_is_not_evaluated(limit: Limit | None, why: str) -> None:
    evidence = good_cycle().judged(limits=limits(a0_target=limit))
    assert criterion(evidence, "A0", sensor="T1").state is CriterionState.NOT_EVALUATED
    assert criterion(evidence, "A0", sensor="T1").why == why
    assert evidence.verdict is CriterionState.NOT_EVALUATED


def test_a0_that_rests_on_a_long_gap_is_not_evaluated() -> None:
    evidence = good_cycle().without(950, 1290).judged()
    a0 = criterion(evidence, "A0", sensor="T2")
    assert evidence.a0_guarded_s["T2"] > 3000
    assert a0.state is CriterionState.NOT_EVALUATED
    assert "credited across long gaps" in a0.why


def test_a0_with_short_gaps_is_judged() -> None:
    assert criterion(good_cycle().without(950, 958).judged(), "A0", sensor="T2").state is CriterionState.MET


def test_a0_of_heat_without_water_is_not_evaluated() -> None:
    def dry(_: object, values: np.ndarray) -> None:
        values[700:] = 0.0

    a0 = criterion(good_cycle().with_column("P1", dry).judged(), "A0", sensor="T1")
    assert a0.state is CriterionState.NOT_EVALUATED
    assert a0.why == "water circulates in only 13% of what should be the disinfection"


def test_a0_without_disinfection_in_the_record_is_not_evaluated() -> None:
    cycle = good_cycle()
    step = np.where(cycle.step == "disinfect", "rinse", cycle.step)
    evidence = replace(cycle, step=step).judged()
    assert criterion(evidence, "A0", sensor="T1").why == "no disinfection was found in the record"
    assert criterion(evidence, "disinfection hold time").why == "no disinfection was found in the record"
    assert evidence.a0_s == {"T1": 0.0, "T2": 0.0}


def test_without_a_thermometer_nothing_of_heat_is_evaluated() -> None:
    evidence = good_cycle().without_column("T1").without_column("T2").judged()
    for name in ("A0", "disinfection hold time", "highest temperature before cleaning", "cleaning time"):
        assert criterion(evidence, name).state is CriterionState.NOT_EVALUATED


def test_a_thermometer_elsewhere_has_an_a0_and_no_criterion() -> None:
    evidence = good_cycle().described("place: chamber, uncertainty: 0.5, range", "place: drain, range").judged()
    assert set(evidence.a0_s) == {"T1", "T2"}
    assert [c.sensor for c in evidence.criteria if c.name == "A0"] == ["T2"]


def test_the_hold_is_the_longest_time_with_every_sensor_in_the_band() -> None:
    hold = criterion(good_cycle().judged(), "disinfection hold time")
    # The load reads 90.25 °C, its uncertainty above the set 90 °C, first at 600 + (90.25 - 29) / (62/300) = 896.4 s.
    assert hold.value == 1299 - 897
    assert (hold.limit, hold.margin, hold.state) == (300.0, 102.0, CriterionState.MET)


def test_a_sag_breaks_the_hold() -> None:
    evidence = sagging(1050, 1060, 3.0).judged()
    hold = criterion(evidence, "disinfection hold time")
    assert hold.value == 1299 - 1060
    assert hold.state is CriterionState.NOT_MET
    lowest = criterion(evidence, "lowest temperature of the hold", sensor="T2")
    assert (lowest.value, lowest.state) == (88.0, CriterionState.NOT_MET)
    assert lowest.margin == pytest.approx(88.0 - 0.25 - 90.0)


def test_a_sag_after_the_prescribed_time_is_no_fault() -> None:
    evidence = sagging(1250, 1260, 3.0).judged()
    assert criterion(evidence, "disinfection hold time").value == 1249 - 897
    assert criterion(evidence, "lowest temperature of the hold", sensor="T2").value == 91.0


def test_too_hot_a_disinfection_is_not_met() -> None:
    evidence = sagging(900, 1300, -3.0).judged()
    highest = criterion(evidence, "highest temperature of the disinfection", sensor="T1")
    assert (highest.value, highest.limit, highest.margin) == (95.0, 95.0, -0.5)
    assert highest.state is CriterionState.NOT_MET
    assert criterion(evidence, "disinfection hold time").state is CriterionState.NOT_MET


def test_a_single_missing_value_does_not_break_the_hold_and_a_long_hole_does() -> None:
    def lose(first: int, last: int) -> Cycle:
        def hole(_: object, values: np.ndarray) -> None:
            values[first:last] = np.nan

        return good_cycle().with_column("T2", hole)

    assert criterion(lose(1050, 1051).judged(), "disinfection hold time").value == 402
    hold = criterion(lose(1050, 1100).judged(), "disinfection hold time")
    assert (hold.value, hold.state) == (1299 - 1100, CriterionState.NOT_EVALUATED)
    assert hold.why.endswith("gaps in the record leave up to 402 s open")


def test_without_an_uncertainty_the_hold_is_not_evaluated() -> None:
    cycle = good_cycle().described("place: load, uncertainty: 0.25", "place: load")
    hold = criterion(cycle.judged(), "disinfection hold time")
    assert (hold.state, hold.value) == (CriterionState.NOT_EVALUATED, 1299 - 896)


@pytest.mark.parametrize("name", ["disinfection hold time", "highest temperature of the disinfection"])
def test_without_a_band_its_criteria_are_not_evaluated(name: str) -> None:
    evidence = good_cycle().judged(limits=limits(disinfection_band=None))
    found = [c for c in evidence.criteria if c.name == name]
    assert found
    assert all((c.state, c.why) == (CriterionState.NOT_EVALUATED, "band: the site states no limit") for c in found)


def test_a_stage_shorter_than_the_hold_has_no_window() -> None:
    cycle = good_cycle()
    step = cycle.step.copy()
    step[850:1300] = "dry"
    evidence = replace(cycle, step=step).judged()
    lowest = criterion(evidence, "lowest temperature of the hold", sensor="T1")
    assert lowest.why == "no unbroken 300 s of 'disinfection' in the record"
    hold = criterion(evidence, "disinfection hold time")
    assert (hold.value, hold.state) == (0.0, CriterionState.NOT_MET)


def test_a_sensor_silent_during_disinfection_leaves_its_highest_temperature_open() -> None:
    def silent(time: np.ndarray, values: np.ndarray) -> None:
        values[(time >= 600) & (time < 1300)] = np.nan

    evidence = good_cycle().with_column("T2", silent).judged()
    highest = criterion(evidence, "highest temperature of the disinfection", sensor="T2")
    assert highest.why == "the sensor shows no value in this stage"
    assert evidence.a0_s["T2"] == 0.0


@pytest.mark.parametrize(
    ("temperature", "state"),
    [(44.4, CriterionState.MET), (44.6, CriterionState.NOT_MET), (50.0, CriterionState.NOT_MET)],
)
def test_the_first_water_must_not_fix_protein(temperature: float, state: CriterionState) -> None:
    def warm(time: np.ndarray, values: np.ndarray) -> None:
        values[time < 90] = temperature

    first = criterion(heat(warm).judged(), "highest temperature before cleaning")
    assert (first.value, first.sensor, first.stage, first.state) == (temperature, "T1", "cold rinse", state)


def test_a_programme_that_begins_with_cleaning_leaves_the_first_contact_open() -> None:
    programme = PROGRAMME.model_copy(update={"stages": PROGRAMME.stages[1:]})
    first = criterion(good_cycle().judged(programme=programme), "highest temperature before cleaning")
    assert first.why == "no stage before cleaning with a temperature was found in the record"


def test_a_programme_without_cleaning_has_first_contact_and_no_cleaning_criterion() -> None:
    programme = PROGRAMME.model_copy(update={"stages": [s for s in PROGRAMME.stages if s.kind.value != "clean"]})
    cycle = good_cycle()
    rinsed = replace(cycle, step=np.where(cycle.step == "clean", "flush", cycle.step))
    evidence = rinsed.judged(programme=programme)
    assert criterion(evidence, "highest temperature before cleaning").value == 51.0
    assert [c for c in evidence.criteria if c.name == "cleaning time"] == []


def test_the_cleaning_counts_only_time_within_its_band() -> None:
    time = criterion(good_cycle().judged(), "cleaning time")
    # The load reads 45.25 °C, its uncertainty above 45 °C, first at 100 + (46.25 - 20) / 0.31 = 184.7 s.
    assert (time.value, time.limit, time.state) == (399 - 185, 120.0, CriterionState.MET)


def test_cleaning_too_hot_and_so_too_short_is_not_met() -> None:
    evidence = sagging(200, 400, -5.0).judged()
    hottest = criterion(evidence, "highest temperature of the cleaning")
    assert (hottest.value, hottest.limit, hottest.state, hottest.sensor) == (56.0, 55.0, CriterionState.NOT_MET, "T1")
    assert criterion(evidence, "cleaning time").state is CriterionState.NOT_MET


def test_cleaning_without_a_tolerance_or_without_an_uncertainty_is_not_evaluated() -> None:
    open_ended = good_cycle().judged(limits=limits(cleaning_temperature_tolerance=None))
    assert criterion(open_ended, "cleaning time").why == "temperature tolerance: the site states no limit"
    unsure = good_cycle().described("place: load, uncertainty: 0.25", "place: load").judged()
    assert criterion(unsure, "cleaning time").state is CriterionState.NOT_EVALUATED


def test_a_cleaning_stage_that_is_not_found_is_not_evaluated() -> None:
    cycle = good_cycle()
    evidence = replace(cycle, step=np.where(cycle.step == "clean", "rinse", cycle.step)).judged()
    assert criterion(evidence, "cleaning time").why == "not every cleaning stage was found in the record"


@pytest.mark.parametrize(
    ("site_s", "designed_s", "limit_s", "source"),
    [
        (3000.0, None, 3000.0, SOURCE),
        (3000.0, 600.0, 3000.0, SOURCE),
        (600.0, 3000.0, 3000.0, "programme short, version 2, more than the site's 600 s"),
    ],
)
def test_a0_has_to_reach_the_higher_of_the_site_s_limit_and_what_the_programme_is_designed_for(
    site_s: float, designed_s: float | None, limit_s: float, source: str
) -> None:
    programme = PROGRAMME.model_copy(update={"a0_target_s": designed_s})
    evidence = good_cycle().judged(programme=programme, limits=limits(a0_target=Limit(site_s, "s", SOURCE)))
    judged = criterion(evidence, "A0", sensor="T2")
    assert (judged.limit, judged.source) == (limit_s, source)


def test_what_the_programme_is_designed_for_does_not_stand_in_for_the_site_s_limit() -> None:
    programme = PROGRAMME.model_copy(update={"a0_target_s": 600.0})
    evidence = good_cycle().judged(programme=programme, limits=limits(a0_target=None))
    assert criterion(evidence, "A0", sensor="T2").why == "the site states no limit"


def test_a_reading_hotter_than_water_can_be_is_worth_nothing() -> None:
    """A second at 140 °C would be worth 10^6 s; what stands for it is the lower of its neighbours at 30 °C."""

    def jump(_: object, values: np.ndarray) -> None:
        values[550] = 140.0

    assert good_cycle().with_column("T1", jump).judged().a0_s == good_cycle().judged().a0_s

"""The prediction carried to a sensor: its tap's height, its offset, the surroundings; nothing met without them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.evidence import CriterionState
from tests.evidence.cycles import MACHINE, PREDICTION, SOURCE, Cycle, criterion, good_cycle

if TYPE_CHECKING:
    from patency.catalogue import Sensor
    from patency.evidence import Criterion, LoadMachine


def pressure(cycle: Cycle, machine: LoadMachine | None = MACHINE) -> Criterion:
    return criterion(cycle.judged(machine=machine), "circulation pressure", stage="cleaning")


def lifted(mbar: float) -> Cycle:
    def lift(_: object, values: np.ndarray) -> None:
        values[values > 0] += mbar

    return good_cycle().with_column("P1", lift)


def with_sensor(**changes: object) -> LoadMachine:
    sensor: Sensor = MACHINE.sensors["P1"].model_copy(update=changes)
    return replace(MACHINE, sensors={**MACHINE.sensors, "P1": sensor})


def with_offset(mbar: float | None, found_on: date = date(2026, 1, 12)) -> LoadMachine:
    if mbar is None:
        return replace(MACHINE, offsets={})
    offset = MACHINE.offsets["Alder"]["P1"].model_copy(update={"value": mbar, "found_on": found_on})
    return replace(MACHINE, offsets={"Alder": {"P1": offset}})


def test_a_tap_above_the_sump_shows_less_by_the_column_in_between() -> None:
    # 0.38 m above the rails, the sump 0.12 m below them: 0.5 m of water at 50 °C, 988.0 kg/m3 (IAPWS), 48.4 mbar.
    above = with_sensor(height_m=0.38)
    high, low = pressure(lifted(-48.4), above), pressure(good_cycle(), above)
    assert (high.state, low.state) == (CriterionState.MET, CriterionState.NOT_MET)
    assert high.limit == pytest.approx((19600.0 - 4844.8, 20400.0 - 4844.8), abs=0.5)
    assert "its tap lies 500 mm above the sump's water" in high.why


def test_an_offset_found_is_counted_and_named_with_its_day_and_source() -> None:
    offset = with_offset(6.0)
    right, wrong = pressure(lifted(6.0), offset), pressure(good_cycle(), offset)
    assert (right.state, wrong.state) == (CriterionState.MET, CriterionState.NOT_MET)
    assert f"its offset of 6.0 mbar was found on 2026-01-12 ({SOURCE})" in right.why


def test_the_offset_is_that_of_the_machine_the_record_names() -> None:
    offsets = {**MACHINE.offsets, "Birch": with_offset(6.0).offsets["Alder"]}
    both = replace(MACHINE, offsets=offsets)
    birch = lifted(6.0).described("machine: Alder", "machine: Birch")
    assert pressure(birch, both).state is CriterionState.MET
    assert pressure(lifted(6.0), both).state is CriterionState.NOT_MET
    nameless = good_cycle().described("machine: Alder\n", "")
    assert pressure(nameless, both).state is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize(
    ("machine", "says"),
    [
        (with_sensor(height_m=None), "the height of its tap is not stated: taken as at the level of the sump's water"),
        (with_offset(None), "what this sensor shows too much was never found: taken as nothing"),
        (with_offset(0.0, date(2026, 6, 2)), "what this sensor shows too much was never found: taken as nothing"),
        (None, "the height of its tap is not stated"),
    ],
)
def test_without_height_or_offset_nothing_is_met_and_what_is_assumed_is_said(
    machine: LoadMachine | None, says: str
) -> None:
    met, missed = pressure(good_cycle(), machine), pressure(lifted(-20.0), machine)
    assert (met.state, missed.state) == (CriterionState.NOT_EVALUATED, CriterionState.NOT_MET)
    assert says in met.why
    assert says in missed.why


def test_without_the_sumps_level_a_height_says_nothing() -> None:
    evidence = good_cycle().judged(prediction=replace(PREDICTION, sump_level_m=None))
    assert criterion(evidence, "circulation pressure", stage="cleaning").state is CriterionState.NOT_EVALUATED


STATED = "surroundings: {pressure: 98, unit: kPa, uncertainty: 0.1, source: barometer of the plant room}\n"


def absolute(stated: str = "", around: float | None = None, *, reference: str = "absolute") -> Cycle:
    """Return the good cycle with an absolute sensor, the surroundings stated, or measured by the column of another."""

    def lift(_: object, values: np.ndarray) -> None:
        values += 980.0

    cycle = good_cycle().with_column("P1", lift).described("reference: gauge", "reference: absolute")
    cycle = replace(cycle, description=cycle.description + stated)
    if around is None:
        return cycle

    def weather(_: object, values: np.ndarray) -> None:
        values[:] = around

    told = f"quantity: pressure, unit: mbar, reference: {reference}, place: surroundings"
    return cycle.with_column("cond", weather).described("quantity: conductivity, unit: uS/cm, place: chamber", told)


@pytest.mark.parametrize(("cycle", "named"), [(absolute(STATED), "plant room"), (absolute(around=980.0), "cond")])
def test_an_absolute_pressure_is_held_against_prediction_and_surroundings(cycle: Cycle, named: str) -> None:
    found = pressure(cycle)
    assert found.state is CriterionState.MET
    assert found.value == pytest.approx(118000.0)
    assert found.limit == pytest.approx((117600.0, 118400.0))
    assert found.why.endswith(f"surroundings at 980.0 mbar ({named})") or named in found.why


def test_the_doubt_of_the_surroundings_counts_against_the_reading_too() -> None:
    assert pressure(absolute(STATED)).uncertainty == pytest.approx(300.0)
    doubtful = STATED.replace("uncertainty: 0.1", "uncertainty: 0.3")
    assert pressure(absolute(doubtful)).state is CriterionState.NOT_EVALUATED
    unknown = STATED.replace("uncertainty: 0.1, ", "")
    assert pressure(absolute(unknown)).state is CriterionState.NOT_EVALUATED


def test_other_weather_than_the_reading_needs_is_not_met() -> None:
    assert pressure(absolute(STATED.replace("pressure: 98", "pressure: 97"))).state is CriterionState.NOT_MET
    assert pressure(absolute(around=970.0)).state is CriterionState.NOT_MET


def test_surroundings_stated_and_measured_have_to_agree() -> None:
    assert pressure(absolute(STATED, 980.5)).state is CriterionState.MET
    apart = pressure(absolute(STATED, 990.0))
    assert apart.state is CriterionState.NOT_EVALUATED
    assert apart.why.endswith("the surroundings are stated and measured 10.0 mbar apart")


@pytest.mark.parametrize(
    ("cycle", "why"),
    [
        (absolute(), "the pressure of the surroundings is not known"),
        (absolute(around=980.0, reference="gauge"), "the pressure of the surroundings is not known"),
        (absolute(around=np.nan), "the sensor at the surroundings shows no value in the stage"),
    ],
)
def test_without_the_surroundings_an_absolute_pressure_is_not_evaluated(cycle: Cycle, why: str) -> None:
    found = pressure(cycle)
    assert found.state is CriterionState.NOT_EVALUATED
    assert found.why == f"the sensor measures absolute pressure and {why}"


def test_a_silent_barometer_leaves_the_word_of_the_description() -> None:
    assert pressure(absolute(STATED, np.nan)).state is CriterionState.MET

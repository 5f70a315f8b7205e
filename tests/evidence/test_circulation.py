"""Pressure against the prediction for the load, time of circulation, and what only an eye can see."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.evidence import (
    CriterionState,
    EyeCheck,
    OneHoseOff,
    PredictedPressure,
    PressurePrediction,
    RestOfLoad,
    Seen,
)
from patency.quantities import Interval, Limit
from tests.evidence.cycles import (
    PREDICTION,
    PROGRAMME,
    STARTS,
    Cycle,
    alarm_of,
    criterion,
    good_cycle,
    limits,
    predicted,
)

if TYPE_CHECKING:
    from patency.evidence import Evidence


def at_pressure(mbar: float, first: int = 0, last: int = 1600) -> Cycle:
    def change(_: object, values: np.ndarray) -> None:
        part = values[first:last]
        part[part > 0] = mbar

    return good_cycle().with_column("P1", change)


# Predicted 196 to 204 mbar, the sensor uncertain by 2 mbar: all that the reading may be has to lie within.
@pytest.mark.parametrize(
    ("mbar", "state"),
    [
        (200, CriterionState.MET),
        (198, CriterionState.MET),
        (202, CriterionState.MET),
        (197.9, CriterionState.NOT_EVALUATED),
        (202.1, CriterionState.NOT_EVALUATED),
        (196, CriterionState.NOT_EVALUATED),
        (195.9, CriterionState.NOT_MET),
        (204.1, CriterionState.NOT_MET),
        (0.1, CriterionState.NOT_MET),
    ],
)
def test_pressure_meets_the_prediction_where_all_it_may_be_lies_within(mbar: float, state: CriterionState) -> None:
    pressure = criterion(at_pressure(mbar, 600, 1300).judged(), "circulation pressure", stage="disinfection")
    assert pressure.state is state
    assert pressure.limit == (19600.0, 20400.0)
    assert pressure.value == pytest.approx(mbar * 100)
    assert ("too uncertain to tell" in pressure.why) is (state is CriterionState.NOT_EVALUATED)


@pytest.mark.parametrize("mbar", [150.0, 190.0, 195.0, 196.0, 197.0, 199.0, 200.0, 203.0, 205.0, 260.0])
def test_a_worse_sensor_never_makes_the_pressure_easier_to_meet(mbar: float) -> None:
    order = [CriterionState.NOT_MET, CriterionState.NOT_EVALUATED, CriterionState.MET]
    ranks = []
    for words in (
        ", uncertainty: 0",
        ", uncertainty: 0.5",
        ", uncertainty: 2",
        ", uncertainty: 5",
        ", uncertainty: 90",
        "",
    ):
        cycle = at_pressure(mbar).described("place: circulation, uncertainty: 2", f"place: circulation{words}")
        ranks.append(order.index(criterion(cycle.judged(), "circulation pressure", stage="cleaning").state))
    assert ranks == sorted(ranks, reverse=True)
    assert ranks[-1] < 2


def test_every_wet_stage_is_judged_by_its_own_pressure() -> None:
    evidence = at_pressure(178.0, 100, 400).judged()
    states = {c.stage: c.state for c in evidence.criteria if c.name == "circulation pressure"}
    assert states == {
        "cold rinse": CriterionState.MET,
        "cleaning": CriterionState.NOT_MET,
        "first rinse": CriterionState.MET,
        "second rinse": CriterionState.MET,
        "disinfection": CriterionState.MET,
    }


def test_a_fixed_window_lets_through_what_the_prediction_catches_and_decides_nothing() -> None:
    evidence = at_pressure(178.0).judged()
    assert {c.state for c in evidence.criteria if c.name == "circulation pressure"} == {CriterionState.NOT_MET}
    assert {window.state for window in evidence.fixed_pressure_windows} == {CriterionState.MET}
    window = evidence.fixed_pressure_windows[0]
    assert (window.low_pa, window.high_pa, window.value_pa) == (16000.0, 24000.0, 17800.0)
    low = alarm_of(pressure_pa=15_000.0)
    wide = at_pressure(150.0).judged(prediction=replace(predicted(10000.0, 20000.0, 30000.0), alarm=low))
    assert {window.state for window in wide.fixed_pressure_windows} == {CriterionState.NOT_MET}
    assert wide.verdict is CriterionState.MET


def test_no_fixed_window_is_reported_where_the_site_has_none() -> None:
    assert good_cycle().judged(limits=limits(fixed_pressure_window=None)).fixed_pressure_windows == ()
    assert good_cycle().judged(prediction=None).fixed_pressure_windows == ()


def test_a_short_interruption_moves_the_pressure_of_a_stage_by_nothing() -> None:
    def stop(_: object, values: np.ndarray) -> None:
        values[1000:1015] = 0.0

    evidence = good_cycle().with_column("P1", stop).judged()
    assert criterion(evidence, "circulation pressure", stage="disinfection").value == 20000.0
    time = criterion(evidence, "circulation time", stage="disinfection")
    assert time.value == (999 - 610) + (1299 - 1015)
    assert time.why.endswith("in 2 stretches")
    assert [finding.text for finding in evidence.findings] == ["stopped for 15 s in stage 'disinfection' (line 1002)"]


def test_circulation_that_stops_for_too_long_is_not_met() -> None:
    def stop(_: object, values: np.ndarray) -> None:
        values[130:380] = 0.0

    time = criterion(good_cycle().with_column("P1", stop).judged(), "circulation time", stage="cleaning")
    assert (time.value, time.limit, time.state) == (38.0, 120.0, CriterionState.NOT_MET)


@pytest.mark.parametrize(
    ("cycle", "prediction", "why"),
    [
        (good_cycle(), None, "no pressure was predicted for this stage of this load"),
        (good_cycle(), replace(PREDICTION, stages={}), "no pressure was predicted for this stage of this load"),
        (good_cycle().without_column("P1"), PREDICTION, "the record has no pressure at the circulation"),
        (
            good_cycle().described("reference: gauge", "reference: absolute"),
            PREDICTION,
            "the sensor measures absolute pressure and the pressure of the surroundings is not known",
        ),
    ],
)
def test_pressure_that_cannot_be_compared_is_not_evaluated(
    cycle: Cycle, prediction: PressurePrediction | None, why: str
) -> None:
    evidence = cycle.judged(prediction=prediction)
    found = [c for c in evidence.criteria if c.name == "circulation pressure"]
    assert len(found) == 5
    assert {(c.state, c.why) for c in found} == {(CriterionState.NOT_EVALUATED, why)}
    assert evidence.verdict is CriterionState.NOT_EVALUATED


def test_a_stage_that_is_not_found_or_silent_has_no_pressure() -> None:
    def silent(_: object, values: np.ndarray) -> None:
        values[100:400] = np.nan

    evidence = good_cycle().with_column("P1", silent).judged()
    why = criterion(evidence, "circulation pressure", stage="cleaning").why
    assert why == "the sensor shows no value in the steady part of the stage"
    cycle = good_cycle()
    evidence = replace(cycle, step=np.where(cycle.step == "clean", "rinse", cycle.step)).judged()
    assert criterion(evidence, "circulation pressure", stage="cleaning").why == "the stage was not found in the record"


def test_circulation_time_is_not_evaluated_where_nothing_shows_the_pump() -> None:
    evidence = good_cycle().without_column("P1").without_column("arm").judged()
    assert {c.state for c in evidence.criteria if c.name == "circulation time"} == {CriterionState.NOT_EVALUATED}


def test_how_much_pressure_counts_as_circulation_is_the_sites_word() -> None:
    weak = at_pressure(80.0, 130, 330)  # two fifths of the pressure for 200 s of the cleaning
    half = limits(running_share=Limit(0.5, "1", "common practice"))
    assert criterion(weak.judged(), "circulation time", stage="cleaning").state is CriterionState.MET
    assert criterion(weak.judged(limits=half), "circulation time", stage="cleaning").state is CriterionState.NOT_MET
    nobody = criterion(weak.judged(limits=limits(running_share=None)), "circulation time", stage="cleaning")
    assert nobody.why == "share of a signal that counts as running: the site states no limit"


def test_a_predicted_pressure_of_nothing_is_compared_without_a_share() -> None:
    evidence = at_pressure(1.0).judged(prediction=predicted(-300.0, 0.0, 300.0))
    pressure = criterion(evidence, "circulation pressure", stage="cleaning")
    assert (pressure.state, "%" in pressure.why) == (CriterionState.MET, False)


def eye(evidence: Evidence) -> tuple[CriterionState, str]:
    found = criterion(evidence, "every hose and sleeve seen at unloading")
    return found.state, found.why


def test_until_somebody_has_looked_nothing_is_met_and_the_blindness_is_told() -> None:
    evidence = good_cycle().judged(eye_check=None)
    state, why = eye(evidence)
    assert state is CriterionState.NOT_EVALUATED
    assert why == (
        "nobody has entered it; one hose off would change the pressure by at most 1.0 mbar (0.5%); an alarm shows it "
        "in at most 3% of cycles (against the computed value, with 1% false alarms), so it cannot be relied on to show "
        "it"
    )
    assert evidence.verdict is CriterionState.NOT_EVALUATED
    assert all(
        c.state is CriterionState.MET for c in evidence.criteria if c.name != "every hose and sleeve seen at unloading"
    )


def test_the_look_of_a_person_decides_in_both_directions() -> None:
    moment = datetime(2026, 6, 1, 15, 40, tzinfo=UTC)
    off = EyeCheck(Seen.SOMETHING_OFF, "J. Arden", moment, "hose 7 lies beside its piece")
    expected = "seen by J. Arden at 2026-06-01 15:40 UTC: hose 7 lies beside its piece"
    evidence = good_cycle().judged(eye_check=off)
    assert eye(evidence) == (CriterionState.NOT_MET, expected)
    assert evidence.verdict is CriterionState.NOT_MET
    assert eye(good_cycle().judged(eye_check=replace(off, remark="")))[1].endswith(": something off")
    assert eye(good_cycle().judged())[0] is CriterionState.MET


def test_even_a_change_that_would_show_leaves_the_look_to_a_person() -> None:
    shown = replace(PREDICTION, one_hose_off=OneHoseOff(0.995, 0.99, 0.01, "against a baseline"))
    state, why = eye(good_cycle().judged(prediction=shown, eye_check=None))
    assert state is CriterionState.NOT_EVALUATED
    assert why.endswith(
        "shows it in at most 100% of cycles (against a baseline, with 1% false alarms), but not which hose it is"
    )


@pytest.mark.parametrize("prediction", [None, predicted(19600.0, 20000.0, 20400.0)])
def test_a_change_that_was_not_computed_counts_as_one_that_cannot_show(prediction: PressurePrediction | None) -> None:
    _, why = eye(good_cycle().judged(prediction=prediction, eye_check=None))
    assert why.endswith("whether the pressure could show one hose off was not computed, so it counts as unable to")


def test_an_alarm_that_was_not_computed_shows_nothing_and_a_share_of_zero_is_left_out() -> None:
    blind = PressurePrediction("load 3", {"cleaning": PredictedPressure(Interval(0.0, 0.0, 0.0), 100.0)})
    _, why = eye(good_cycle().judged(prediction=blind, eye_check=None))
    assert why.endswith("by at most 1.0 mbar; how likely an alarm shows it was not computed, so it counts as unable to")


def test_two_sensors_are_both_judged() -> None:
    cycle = good_cycle().described(
        "arm: {quantity: rotation, unit: rpm, place: upper arm",
        "arm: {quantity: pressure, unit: kPa, reference: gauge, place: circulation 2",
    )
    evidence = cycle.judged()
    assert criterion(evidence, "circulation pressure", stage="cleaning", sensor="P1").state is CriterionState.MET
    assert criterion(evidence, "circulation pressure", stage="cleaning", sensor="arm").state is CriterionState.NOT_MET
    assert STARTS["dry"] == 1300


def test_two_stages_of_one_name_are_each_held_to_their_own_prediction() -> None:
    stages = [s.model_copy(update={"name": "rinse"}) if s.kind.value == "rinse" else s for s in PROGRAMME.stages]
    programme = PROGRAMME.model_copy(update={"stages": stages})
    names = {"first rinse": "rinse", "second rinse": "rinse 2"}
    expected = {names.get(name, name): predicted for name, predicted in PREDICTION.stages.items()}
    known = alarm_of()
    alarm = replace(known, columns=tuple((names.get(stage, stage), sensor) for stage, sensor in known.columns))
    evidence = good_cycle().judged(programme=programme, prediction=replace(PREDICTION, stages=expected, alarm=alarm))
    assert evidence.verdict is CriterionState.MET
    expected["rinse 2"] = PredictedPressure(Interval(9000.0, 10000.0, 11000.0))
    evidence = good_cycle().judged(programme=programme, prediction=replace(PREDICTION, stages=expected))
    for stage, state in (("rinse", CriterionState.MET), ("rinse 2", CriterionState.NOT_MET)):
        assert criterion(evidence, "circulation pressure", stage=stage).state is state


def test_with_something_off_the_sets_that_stay_are_held_against_what_they_still_reach() -> None:
    moment = datetime(2026, 6, 1, 15, 40, tzinfo=UTC)
    rest = RestOfLoad(("Knee Scope", "Groin Repair"), 1.2, "computed for load D1 with H7 off")
    off = EyeCheck(Seen.SOMETHING_OFF, "J. Arden", moment, "H7: fixed 3 mm instrument", rest)
    found = criterion(good_cycle().judged(eye_check=off), "every hose and sleeve seen at unloading")
    assert (found.state, found.value, found.limit) == (CriterionState.MET, 1.2, 1.0)
    assert found.margin == pytest.approx(0.2)
    assert found.source == "computed for load D1 with H7 off"
    assert found.why == (
        "1.2, at least 1; seen by J. Arden at 2026-06-01 15:40 UTC: H7: fixed 3 mm instrument; "
        "what stays: Knee Scope, Groin Repair"
    )
    short = replace(off, rest=replace(rest, margin=0.99))
    assert eye(good_cycle().judged(eye_check=short))[0] is CriterionState.NOT_MET

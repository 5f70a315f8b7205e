"""The alarm against earlier cycles of the same load: raised, not raised, not counted where it cannot be judged."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from patency.evidence import ALARM_CRITERION, Criterion, CriterionState, WaterAlarm
from patency.quantities import Limit
from tests.evidence.cycles import PREDICTION, SOURCE, Cycle, alarm_of, criterion, good_cycle, limits


def off(column: str, factor: float) -> Cycle:
    def change(_: object, values: np.ndarray) -> None:
        values *= factor

    return good_cycle().with_column(column, change)


def alarm(cycle: Cycle, known: WaterAlarm | None = None, **changes: Limit | None) -> Criterion:
    prediction = PREDICTION if known is None else replace(PREDICTION, alarm=known)
    return criterion(cycle.judged(prediction=prediction, limits=limits(**changes)), ALARM_CRITERION)


def test_readings_as_before_raise_no_alarm_and_the_site_s_share_of_false_alarms_decides() -> None:
    found = alarm(good_cycle())
    assert found.state is CriterionState.MET
    assert found.value is not None
    assert found.value > 0.1
    assert found.limit == pytest.approx(0.005)  # half of 1 %, the other half is the arm's
    assert found.source == f"{SOURCE}; 0.5 of it, the rest for the arms"
    assert found.why.endswith("against a baseline of 12 earlier cycles of the same load in Alder")


@pytest.mark.parametrize(("column", "factor"), [("P1", 0.99), ("F1", 1.02), ("P1", 1.01)])
def test_readings_that_lie_off_what_earlier_cycles_showed_raise_it_though_the_prediction_holds(
    column: str, factor: float
) -> None:
    evidence = off(column, factor).judged()
    assert criterion(evidence, ALARM_CRITERION).state is CriterionState.NOT_MET
    assert criterion(evidence, "circulation pressure", stage="cleaning").state is CriterionState.MET
    assert evidence.verdict is CriterionState.NOT_MET


def test_without_a_baseline_it_is_not_evaluated_and_so_is_the_verdict() -> None:
    evidence = good_cycle().judged(prediction=replace(PREDICTION, alarm=None))
    found = criterion(evidence, ALARM_CRITERION)
    assert found.state is CriterionState.NOT_EVALUATED
    assert "no baseline of earlier cycles of this load is kept" in found.why
    assert evidence.verdict is CriterionState.NOT_EVALUATED


def test_what_cannot_be_held_against_the_baseline_is_not_evaluated_and_it_is_said_why() -> None:
    record = good_cycle().record()
    known = alarm_of()
    itself = replace(known, records=(record.sha256, *known.records[1:]))
    narrower = replace(known, columns=known.columns[:-1], readings=tuple(row[:-1] for row in known.readings))
    cases = (
        (alarm(good_cycle(), alarm_of(machine="Birch")), "the baseline is of Birch, the record of Alder"),
        (alarm(good_cycle(), narrower), "the baseline has no reading of F1 in disinfection"),
        (alarm(good_cycle(), itself), "this record is itself part of the baseline"),
        (alarm(good_cycle(), alarm_of(2)), "a baseline of 2 cycles, of 3 at least for 2 readings"),
        (alarm(good_cycle().without_column("F1")), "the record has no reading of F1 in cold rinse"),
        (alarm(good_cycle(), false_alarms=None), "share of false alarms: the site states no limit"),
        (alarm(good_cycle(), unsteady_share=None), "unsteady share of a stage: the site states no limit"),
        (
            alarm(good_cycle().described("machine: Alder\n", "")),
            "the baseline is of Alder, the record of a machine it does not name",
        ),
    )
    for found, why in cases:
        assert found.state is CriterionState.NOT_EVALUATED
        assert why in found.why


def test_an_alarm_that_chance_could_have_raised_asks_for_a_look_and_never_lets_the_cycle_pass() -> None:
    weak, strong = off("P1", 1.005), off("P1", 1.01)
    evidence = weak.judged()
    found = criterion(evidence, ALARM_CRITERION)
    assert found.value is not None
    assert 0.0005 < found.value < 0.005
    assert found.state is evidence.verdict is CriterionState.NOT_EVALUATED
    assert found.why.endswith(
        f"an alarm, though not below 0.0005, where it would refuse the cycle ({SOURCE}): look at every hose, cap and "
        "sensor before anybody decides"
    )
    assert alarm(strong).state is CriterionState.NOT_MET


@pytest.mark.parametrize("stated", [None, Limit(0.001, "1", SOURCE, valid_until=date(2026, 5, 31))])
def test_where_the_site_does_not_say_how_many_it_may_refuse_every_alarm_refuses(stated: Limit | None) -> None:
    assert alarm(off("P1", 1.005), false_rejects=stated).state is CriterionState.NOT_MET
    assert alarm(good_cycle(), false_rejects=stated).state is CriterionState.MET


def test_a_share_of_refusals_above_that_of_alarms_makes_no_alarm_weaker_than_it_is() -> None:
    assert alarm(off("P1", 1.005), false_rejects=Limit(0.05, "1", SOURCE)).state is CriterionState.NOT_MET
    assert alarm(good_cycle(), false_rejects=Limit(0.05, "1", SOURCE)).state is CriterionState.MET

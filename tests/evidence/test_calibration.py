"""The day of a calibration counts: too long ago is not met, not stated is not evaluated."""

from __future__ import annotations

from dataclasses import replace

import pytest

from patency.evidence import CriterionState, CycleAgainst, parts_touched
from patency.quantities import Limit
from tests.evidence.cycles import LIMITS, PROGRAMME, SOURCE, TODAY, criterion, good_cycle, limits

NAME = "calibration of the sensors"
DAY_S = 86400.0
AGE = "calibrated: 2026-01-12"


def test_the_oldest_calibration_decides_and_the_day_of_the_decision_counts_whole() -> None:
    """From 12 January to the end of 1 June 2026 are 141 days."""
    older = good_cycle().described(f"T2: {{quantity: temperature, unit: degC, place: load, uncertainty: 0.25, range: "
                                   f"[0, 150], {AGE}", "T2: {quantity: temperature, unit: degC, place: load, "
                                   "uncertainty: 0.25, range: [0, 150], calibrated: 2026-01-11")  # fmt: skip
    assert criterion(good_cycle().judged(), NAME).value == 141 * DAY_S
    found = criterion(older.judged(limits=limits(calibration_interval=Limit(141 * DAY_S, "s", SOURCE))), NAME)
    assert (found.value, found.state) == (142 * DAY_S, CriterionState.NOT_MET)
    assert found.why.endswith("T2 was calibrated on 2026-01-11")
    whole = good_cycle().judged(limits=limits(calibration_interval=Limit(141 * DAY_S, "s", SOURCE)))
    assert criterion(whole, NAME).state is CriterionState.MET


@pytest.mark.parametrize("instead", ["", ", calibrated: 2026-06-02"])
def test_not_stated_or_later_than_the_decision_is_not_evaluated(instead: str) -> None:
    text = good_cycle().described(f"upper arm, uncertainty: 1, {AGE}", f"upper arm, uncertainty: 1{instead}")
    found = criterion(text.judged(), NAME)
    assert found.state is text.judged().verdict is CriterionState.NOT_EVALUATED
    assert "arm" in found.why


def test_another_out_of_date_is_missed_though_one_is_not_stated() -> None:
    cycle = good_cycle().described(f"upper arm, uncertainty: 1, {AGE}", "upper arm, uncertainty: 1")
    short = limits(calibration_interval=Limit(30 * DAY_S, "s", SOURCE))
    assert criterion(cycle.judged(limits=short), NAME).state is CriterionState.NOT_MET


def test_judging_again_on_another_day_asks_for_it_again_though_no_limit_changed() -> None:
    before = CycleAgainst(limits=LIMITS, on=TODAY, programme=PROGRAMME)
    touched = parts_touched(before, before.model_copy(update={"on": TODAY.replace(day=2)}))
    assert len(touched) == 1
    assert parts_touched(before, before) == frozenset()
    assert replace(good_cycle()).record().traces["T1"].calibrated is not None

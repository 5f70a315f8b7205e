"""How a value is compared with its limit, and how the verdict follows."""

from __future__ import annotations

from datetime import date

import pytest

from patency.evidence import CriterionState, Sense, beyond_numbers
from patency.evidence.criteria import Asked, Bounds, compared, limit_fault, shown, unanswered
from patency.evidence.outcome import overall
from patency.quantities import Limit

ASKED = Asked("final rinse", "uS/cm", "disinfection", "cond")


def test_the_uncertainty_counts_against_the_value_at_both_ends() -> None:
    between = Bounds("site", 10.0, 20.0)
    assert compared(ASKED, 12.0, 1.0, between).margin == 1.0
    assert compared(ASKED, 19.0, 1.5, between).margin == -0.5
    assert compared(ASKED, 19.0, 1.5, between).state is CriterionState.NOT_MET


@pytest.mark.parametrize(
    ("low", "high", "sense", "limit"),
    [
        (1.0, None, Sense.AT_LEAST, 1.0),
        (None, 2.0, Sense.AT_MOST, 2.0),
        (1.0, 2.0, Sense.BETWEEN, (1.0, 2.0)),
        (None, None, Sense.NONE, None),
    ],
)
def test_a_limit_knows_its_side(low: float | None, high: float | None, sense: Sense, limit: object) -> None:
    bounds = Bounds("site", low, high)
    assert (bounds.sense, bounds.limit) == (sense, limit)


def test_a_limit_that_is_exactly_reached_is_met() -> None:
    assert compared(ASKED, 30.0, 0.0, Bounds("site", high=30.0)).state is CriterionState.MET
    assert compared(ASKED, 0.1 + 0.2, 0.0, Bounds("site", high=0.3)).state is CriterionState.MET
    assert compared(ASKED, 0.3 + 1e-6, 0.0, Bounds("site", high=0.3)).state is CriterionState.NOT_MET


def test_a_limit_missed_without_any_uncertainty_stays_missed() -> None:
    missed = compared(ASKED, 31.0, None, Bounds("site", high=30.0))
    assert (missed.state, missed.margin, missed.uncertainty) == (CriterionState.NOT_MET, -1.0, None)


@pytest.mark.parametrize("note", ["", "raw value"])
def test_a_limit_met_by_a_value_of_unknown_uncertainty_is_not_evaluated(note: str) -> None:
    result = compared(ASKED, 12.0, None, Bounds("site", high=30.0), note)
    assert result.state is CriterionState.NOT_EVALUATED
    assert "uncertainty" in result.why
    assert result.value == 12.0


def test_the_reason_is_one_sentence_in_the_units_of_people() -> None:
    result = compared(Asked("p", "Pa"), 20000.0, 200.0, Bounds("site", 19000.0, 21000.0), "steady")
    assert result.why == "200.0 mbar ± 2.0 mbar, between 190.0 mbar and 210.0 mbar; steady"
    warm = compared(Asked("t", "degC"), 91.0, 0.5, Bounds("site", low=90.0))
    assert warm.why == "91.00 °C ± 0.50 K, at least 90.00 °C"


def test_beyond_the_numbers_stands_what_else_belongs_to_the_reason() -> None:
    within = Bounds("site", 19000.0, 21000.0)
    assert beyond_numbers(compared(Asked("p", "Pa"), 20000.0, 200.0, within, "steady")) == "steady"
    assert beyond_numbers(compared(Asked("t", "degC"), 91.0, 0.5, Bounds("site", low=90.0))) == ""
    other = unanswered(ASKED, "nobody asked")
    assert beyond_numbers(other) == "nobody asked"


def test_what_is_unanswered_still_shows_limit_and_source() -> None:
    result = unanswered(ASKED, "no probe", Limit(30.0, "uS/cm", "HTM 01-01"))
    assert (result.state, result.value, result.margin) == (CriterionState.NOT_EVALUATED, None, None)
    assert (result.limit, result.source, result.why) == (30.0, "HTM 01-01", "no probe")
    assert (result.stage, result.sensor) == ("disinfection", "cond")
    assert unanswered(ASKED, "no limit").source == ""


def test_a_limit_must_be_there_in_date_and_in_the_right_unit() -> None:
    limit = Limit(30.0, "uS/cm", "site", date(2026, 1, 1), date(2026, 12, 31))
    assert limit_fault(limit, "uS/cm", date(2026, 6, 1)) is None
    assert limit_fault(None, "uS/cm", date(2026, 6, 1)) == "the site states no limit"
    expected = "the limit holds from 2026-01-01 until 2026-12-31, not on 2027-01-01"
    assert limit_fault(limit, "uS/cm", date(2027, 1, 1)) == expected
    assert limit_fault(limit, "s", date(2026, 6, 1)) == "the limit is stated in uS/cm, not in s"
    started = Limit(30.0, "", "site", valid_from=date(2026, 7, 1))
    assert limit_fault(started, "s", date(2026, 6, 1)) == "the limit is stated in no unit, not in s"
    assert limit_fault(started, "", date(2026, 6, 1)) == (
        "the limit holds from 2026-07-01 until further notice, not on 2026-06-01"
    )


@pytest.mark.parametrize(
    ("states", "verdict"),
    [
        ([], CriterionState.NOT_EVALUATED),
        ([CriterionState.MET, CriterionState.MET], CriterionState.MET),
        ([CriterionState.MET, CriterionState.NOT_EVALUATED], CriterionState.NOT_EVALUATED),
        ([CriterionState.NOT_EVALUATED, CriterionState.NOT_MET, CriterionState.MET], CriterionState.NOT_MET),
    ],
)
def test_the_worst_state_decides(states: list[CriterionState], verdict: CriterionState) -> None:
    assert overall(states) is verdict


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.00012, "m3", "120.0 mL"),
        (12.04, "uS/cm", "12.0 µS/cm"),
        (300.4, "s", "300 s"),
        (6.0, "1", "6"),
        (0.004123, "1", "0.00412"),
        (2.0, "", "2.00"),
    ],
)
def test_values_are_written_as_people_read_them(value: float, unit: str, text: str) -> None:
    assert shown(value, unit) == text

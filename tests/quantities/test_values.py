"""Intervals, limits and answers."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.quantities import Answer, Interval, Limit, worst


def test_an_interval_contains_its_ends() -> None:
    interval = Interval(1.0, 2.0, 4.0)
    assert interval.contains(1.0)
    assert interval.contains(4.0)
    assert not interval.contains(4.1)


@pytest.mark.parametrize("ends", [(2.0, 1.0, 3.0), (1.0, 4.0, 3.0), (float("nan"), 1.0, 2.0), (0.0, float("nan"), 1.0)])
def test_an_interval_out_of_order_is_refused(ends: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="out of order"):
        Interval(*ends)


def test_a_limit_holds_from_its_first_to_its_last_day() -> None:
    limit = Limit(3000.0, "s", "validation report", date(2026, 1, 1), date(2026, 12, 31))
    assert [limit.holds_on(date(*day)) for day in ((2025, 12, 31), (2026, 1, 1), (2026, 12, 31), (2027, 1, 1))] == [
        False,
        True,
        True,
        False,
    ]


def test_a_limit_without_dates_always_holds() -> None:
    assert Limit(3000.0, "s", "validation report").holds_on(date(1999, 1, 1))


@given(st.lists(st.sampled_from(Answer)))
def test_the_worst_answer_decides(answers: list[Answer]) -> None:
    expected = Answer.NO if Answer.NO in answers else Answer.UNKNOWN if Answer.UNKNOWN in answers else Answer.YES
    assert worst(answers) is expected

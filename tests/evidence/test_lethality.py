"""What is credited where the record is not regular; the published values stand in tests/published."""

from __future__ import annotations

import numpy as np
import pytest

from patency.evidence import a0
from patency.evidence.lethality import integrate, lethal_rate
from patency.evidence.timing import TimeAxis, lay_out_time


def axis_of(*stamps: float) -> TimeAxis:
    axis = lay_out_time(np.array(stamps, dtype=float))
    assert axis is not None
    return axis


def test_exactly_65_degrees_counts_and_a_hair_less_does_not() -> None:
    assert lethal_rate(np.array([np.nextafter(65.0, 0.0), 65.0])).tolist() == [0.0, pytest.approx(10**-1.5)]


def test_a_missing_temperature_is_worth_nothing() -> None:
    assert lethal_rate(np.array([np.nan])).tolist() == [0.0]


def test_a_gap_is_credited_with_its_lower_neighbour() -> None:
    result = a0(np.array([0.0, 1, 2, 3, 13, 14, 15]), np.array([90.0, 90, 90, 90, 80, 80, 80]))
    assert result.a0_s == pytest.approx(3 * 10 + 10 * 1 + 2 * 1)
    assert result.in_long_gaps_s == pytest.approx(10 * 1)


def test_a_gap_beside_a_cold_sample_is_worth_nothing() -> None:
    assert a0(np.array([0.0, 1, 2, 100, 101]), np.array([90.0, 90, 90, 60, 60])).a0_s == pytest.approx(20)


def test_a_missing_value_leaves_a_gap_of_two_intervals() -> None:
    result = integrate(axis_of(0, 1, 2, 3), np.array([90.0, np.nan, 80.0, 80.0]), np.ones(4, dtype=bool))
    assert result.a0_s == pytest.approx(2 * 1 + 1)
    assert result.in_long_gaps_s == pytest.approx(2)


def test_a_tolerated_gap_is_not_called_long() -> None:
    axis, temperature = axis_of(0, 1, 2, 5, 6), np.full(5, 90.0)
    result = integrate(axis, temperature, np.ones(5, dtype=bool), tolerated_gap_s=3.0)
    assert result.in_long_gaps_s == 0.0
    assert result.a0_s == pytest.approx(60)


def test_time_across_a_clock_set_back_is_worth_nothing() -> None:
    result = integrate(axis_of(100, 101, 0, 1), np.full(4, 80.0), np.ones(4, dtype=bool))
    assert result.a0_s == pytest.approx(2)


def test_a_hole_that_spans_a_clock_set_back_is_worth_nothing() -> None:
    temperature = np.array([80.0, 80, np.nan, np.nan, 80, 80])
    assert integrate(axis_of(100, 101, 102, 0, 1, 2), temperature, np.ones(6, dtype=bool)).a0_s == pytest.approx(2)


def test_an_interval_counts_only_when_every_sample_in_it_does() -> None:
    counted = np.array([True, True, False, True, True, False])
    assert integrate(axis_of(0, 1, 2, 3, 4, 5), np.full(6, 80.0), counted).a0_s == pytest.approx(2)
    temperature = np.array([80.0, 80, np.nan, 80, 80, 80])
    assert integrate(axis_of(0, 1, 2, 3, 4, 5), temperature, counted).a0_s == pytest.approx(2)


@pytest.mark.parametrize("temperature", [[], [90.0], [90.0, np.nan]])
def test_fewer_than_two_values_are_worth_nothing(temperature: list[float]) -> None:
    assert a0(np.arange(float(len(temperature))), np.array(temperature)).a0_s == 0.0

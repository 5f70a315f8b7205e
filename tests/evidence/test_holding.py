"""Stretches of time, and what breaks them."""

from __future__ import annotations

import numpy as np
import pytest

from patency.evidence.holding import duration_s, filled, held
from patency.evidence.lethality import COUNTS
from patency.evidence.machine_code import compiled
from patency.evidence.measure_kernels import BEST_WINDOW
from patency.evidence.timing import TimeAxis, lay_out_time

NAN = np.nan


def axis_of(*stamps: float) -> TimeAxis:
    axis = lay_out_time(np.array(stamps, dtype=float))
    assert axis is not None
    return axis


def test_a_short_hole_gets_the_lower_of_its_neighbours() -> None:
    result = filled(np.array([91.0, NAN, NAN, 90.0]), np.arange(4.0), tolerated_gap_s=3.0)
    assert result.tolist() == [91.0, 90.0, 90.0, 90.0]


def test_a_long_hole_and_missing_ends_stay_missing() -> None:
    result = filled(np.array([NAN, 91.0, NAN, NAN, 90.0, NAN]), np.arange(6.0), tolerated_gap_s=2.0)
    assert np.isnan(result).tolist() == [True, False, True, True, False, True]


def test_a_stretch_ends_where_the_condition_ends() -> None:
    axis = axis_of(0, 1, 2, 3, 4)
    parts = held(np.array([True, True, False, True, True]), axis, tolerated_gap_s=1.5)
    assert parts == [(0, 1), (3, 4)]
    assert duration_s(parts, axis).tolist() == [1.0, 1.0]


def test_a_stretch_breaks_at_a_long_gap_and_at_a_clock_set_back() -> None:
    axis = axis_of(0, 1, 2, 20, 21, 22, 5, 6, 7)
    parts = held(np.ones(9, dtype=bool), axis, tolerated_gap_s=10.0)
    assert parts == [(0, 2), (3, 5), (6, 8)]


def best_window(
    lowest: np.ndarray, axis: TimeAxis, within: tuple[int, int], length_s: float, tolerated_gap_s: float
) -> tuple[int, int] | None:
    """Ask for the window of one sensor, whose readings are exact."""
    asked = (np.array([[BEST_WINDOW, 0, -1, 0]]), np.array([[length_s, 0.0]]), np.zeros((1, 1)))
    times = (axis.elapsed_s, axis.clock_step, 1.5, tolerated_gap_s)
    every = np.ones(lowest.size, dtype=bool)
    found = compiled("numbers")(asked, np.array([within]), lowest[np.newaxis], times, (every, every), COUNTS)
    return None if found[0, 0] < 0 else (int(found[0, 0]), int(found[0, 1]))


def test_the_best_window_has_the_highest_low_value() -> None:
    axis = axis_of(*range(8))
    values = np.array([89.0, 91, 92, 92, 90, 93, 93, 93])
    assert best_window(values, axis, (0, 7), 2.0, 1.5) == (5, 7)
    assert best_window(values, axis, (0, 4), 2.0, 1.5) == (1, 3)


@pytest.mark.parametrize("length_s", [7.5, 100.0])
def test_there_is_no_window_longer_than_the_stage(length_s: float) -> None:
    assert best_window(np.full(8, 90.0), axis_of(*range(8)), (0, 7), length_s, 1.5) is None


def test_a_window_does_not_reach_across_missing_values() -> None:
    values = np.array([90.0, 90, NAN, 90, 90, 90])
    assert best_window(values, axis_of(*range(6)), (0, 5), 2.0, 1.5) == (3, 5)


def test_a_window_may_be_the_whole_stage() -> None:
    axis = axis_of(0, 0.1, 0.2, 0.30000000000000004)
    assert best_window(np.full(4, 90.0), axis, (0, 3), 0.3, 0.15) == (0, 3)

"""The time axis, from stamps as loggers really write them."""

from __future__ import annotations

import numpy as np
import pytest

from patency.evidence.timing import Spacing, lay_out_time


def laid_out(*stamps: float) -> tuple[list[int], list[float], list[int]]:
    axis = lay_out_time(np.array(stamps, dtype=float))
    assert axis is not None
    return axis.kept.tolist(), axis.elapsed_s.tolist(), axis.spacing.tolist()


def test_regular_stamps_start_at_zero() -> None:
    assert laid_out(100, 101, 102) == ([0, 1, 2], [0, 1, 2], [0, 0])


def test_jitter_of_nearly_half_an_interval_is_no_gap() -> None:
    _, _, spacing = laid_out(0, 1.4, 2, 3.4, 4, 5)
    assert spacing == [Spacing.USUAL] * 5


def test_one_lost_sample_is_a_gap() -> None:
    _, _, spacing = laid_out(0, 1, 2, 4, 5)
    assert spacing == [0, 0, Spacing.GAP, 0]


def test_a_repeated_stamp_adds_no_time() -> None:
    assert laid_out(0, 1, 1, 2) == ([0, 1, 2, 3], [0, 1, 1, 2], [0, Spacing.REPEATED, 0])


def test_a_single_early_stamp_is_set_aside() -> None:
    assert laid_out(10, 11, 5, 13, 14)[:2] == ([0, 1, 3, 4], [0, 1, 3, 4])


def test_a_single_late_stamp_is_set_aside() -> None:
    kept, elapsed, spacing = laid_out(10, 11, 500, 12, 13)
    assert (kept, elapsed) == ([0, 1, 3, 4], [0, 1, 2, 3])
    assert Spacing.GAP not in spacing


def test_a_first_stamp_out_of_order_is_set_aside() -> None:
    assert laid_out(100, 0, 1, 2)[:2] == ([1, 2, 3], [0, 1, 2])


def test_a_last_stamp_out_of_order_is_set_aside() -> None:
    assert laid_out(0, 1, 2, 0)[:2] == ([0, 1, 2], [0, 1, 2])


def test_two_stray_stamps_beside_each_other_count_no_time_twice() -> None:
    kept, elapsed, spacing = laid_out(0, 1, 2, 1.5, 3, 2.5, 4)
    assert kept == [0, 1, 2, 4, 6]
    assert elapsed == [0, 1, 2, 3, 4]
    assert Spacing.CLOCK_STEP not in spacing


def test_a_clock_set_back_keeps_the_intervals_after_it_and_counts_nothing_across() -> None:
    kept, elapsed, spacing = laid_out(3598, 3599, 0, 1, 2)
    assert kept == [0, 1, 2, 3, 4]
    assert elapsed == [0, 1, 1, 2, 3]
    assert spacing == [0, Spacing.CLOCK_STEP, 0, 0]


def test_a_clock_set_forward_is_a_gap() -> None:
    assert laid_out(0, 1, 3602, 3603)[2] == [0, Spacing.GAP, 0]


@pytest.mark.parametrize("stamps", [[], [5.0], [5.0, 5.0, 5.0]])
def test_time_that_never_advances_gives_no_axis(stamps: list[float]) -> None:
    assert lay_out_time(np.array(stamps)) is None

"""Where signals leave their course within a pause, with noise, with weak signs and with none."""

from __future__ import annotations

import numpy as np
import pytest

from patency.evidence.turning_points import turning_points

TIME = np.arange(1000.0)
PAUSES = [(200, 259), (500, 559), (800, 859)]


def noisy(values: np.ndarray, spread: float, seed: int = 1) -> np.ndarray:
    return np.round(values + np.random.default_rng(seed).normal(0.0, spread, values.size), 2)


def stepped(turns: list[int], sizes: list[float]) -> np.ndarray:
    """Return a temperature that goes from one level to the next within 20 s from each turn on."""
    values = np.full(TIME.size, 50.0)
    for turn, size in zip(turns, sizes, strict=True):
        values += size * np.clip((TIME - turn) / 20.0, 0.0, 1.0)
    return values


def test_turns_are_found_where_the_temperature_bends() -> None:
    signal = noisy(stepped([230, 531, 829], [-20.0, 15.0, 30.0]), 0.05)
    assert turning_points(TIME, [signal], PAUSES) == pytest.approx([230, 531, 829], abs=2)


def test_a_pause_in_which_nothing_moves_takes_the_draining_time_of_the_others() -> None:
    signal = noisy(stepped([230, 529, 829], [-20.0, 0.0, 30.0]), 0.05)
    assert turning_points(TIME, [signal], PAUSES)[1] == pytest.approx(529, abs=3)


def test_where_nothing_moves_at_all_the_middle_is_taken() -> None:
    assert turning_points(TIME, [noisy(np.full(1000, 50.0), 0.05)], PAUSES) == pytest.approx([230, 530, 830], abs=1)
    assert turning_points(TIME, [], PAUSES) == pytest.approx([230, 530, 830], abs=1)
    assert turning_points(TIME, [np.full(1000, np.nan)], PAUSES) == pytest.approx([230, 530, 830], abs=1)


def test_missing_values_and_a_stray_reading_move_no_turn_by_much() -> None:
    signal = noisy(stepped([230, 531, 829], [-20.0, 15.0, 30.0]), 0.05)
    signal[225:228] = np.nan
    signal[510] += 3.0
    assert turning_points(TIME, [signal], PAUSES) == pytest.approx([230, 531, 829], abs=4)


def test_without_a_pause_there_is_no_turn() -> None:
    assert turning_points(TIME, [TIME], []) == []

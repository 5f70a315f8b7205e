"""When the pump ran, by pressure or by the turning of an arm."""

from __future__ import annotations

import numpy as np

from patency.evidence.running import pauses, running, stretches
from tests.evidence.cycles import good_cycle


def test_stretches_at_both_ends_and_none_at_all() -> None:
    assert stretches(np.array([True, False, True])) == [(0, 0), (2, 2)]
    assert stretches(np.zeros(3, dtype=bool)) == []


def test_rest_at_the_ends_is_no_pause() -> None:
    mask = np.array([False, True, False, True, True, False, False, True, False])
    assert pauses(mask, 0, 8) == [(2, 2), (5, 6)]
    assert pauses(mask, 3, 4) == []


def test_the_pump_runs_where_there_is_pressure() -> None:
    on = running(good_cycle().record())
    assert on is not None
    assert on[[5, 50, 405, 450, 1299, 1300]].tolist() == [False, True, False, True, True, False]


def test_an_absolute_pressure_is_taken_from_its_lowest_value() -> None:
    def lift(_: object, values: np.ndarray) -> None:
        values += 1013.0

    absolute = good_cycle().with_column("P1", lift).described("gauge", "absolute")
    on, expected = running(absolute.record()), running(good_cycle().record())
    assert on is not None
    assert expected is not None
    assert on.tolist() == expected.tolist()


def test_a_missing_pressure_repeats_the_state_before() -> None:
    def lose(_: object, values: np.ndarray) -> None:
        values[1290:1310] = np.nan

    on = running(good_cycle().with_column("P1", lose).record())
    assert on is not None
    assert on[1295]
    assert on[1309]
    assert not on[1310]


def test_without_pressure_the_arm_tells() -> None:
    on = running(good_cycle().without_column("P1").record())
    assert on is not None
    assert on[50]


def test_a_sensor_that_never_rises_tells_nothing() -> None:
    def nothing(_: object, values: np.ndarray) -> None:
        values[:] = 0.0

    def empty(_: object, values: np.ndarray) -> None:
        values[:] = np.nan

    assert running(good_cycle().with_column("P1", nothing).with_column("arm", empty).record()) is None

"""Cycles one after the other: a pump that wears is flagged, and what the sensor cannot show is said to be so."""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow import FaultKind
from patency.flow.commissioning.watching_cycles import SOON, WatchedSensor, watch_cycles
from tests.flow.commissioning.kept_cycles import FIRST_DAY, kept, planned
from tests.small_site import small_department

NOISE = 2e-3


def watched(course: np.ndarray, seed: int = 3) -> WatchedSensor:
    """What is said of cycles whose pressures follow a course, a share of what is described for each cycle."""
    department = small_department()
    own = planned(department)
    readings = own * course[:, None] * (1.0 + NOISE * np.random.default_rng(seed).normal(size=(course.size, own.size)))
    (found,) = watch_cycles(department, [kept(readings)], 1000.0)
    return found


def test_a_pressure_that_falls_slowly_is_flagged_with_its_days_and_one_that_stays_is_not() -> None:
    sound = np.full(40, 0.985)
    worn = sound * np.minimum(1.0, 1.0 - 2e-3 * (np.arange(40) - 20))
    assert watched(sound).flagged is None
    found = watched(worn)
    assert found.flagged is found.falling
    assert found.falling.flagged_at is not None
    assert found.falling.began_at is not None
    assert 20 <= found.falling.flagged_at <= 28
    assert (found.days[0] - FIRST_DAY).days == 0
    assert found.rising.flagged_at is None


def test_a_pressure_that_rises_is_flagged_to_its_own_side() -> None:
    found = watched(np.concatenate((np.ones(20), np.full(10, 1.012))))
    assert found.flagged is found.rising
    assert found.falling.flagged_at is None


def test_cycles_are_taken_in_the_order_of_their_days_whatever_the_order_of_the_file() -> None:
    department = small_department()
    own = planned(department)
    course = np.concatenate((np.ones(20), np.full(10, 0.985)))
    cycles = kept(own * course[:, None] * (1.0 + NOISE * np.random.default_rng(5).normal(size=(30, own.size))))
    turned = type(cycles)(
        cycles.load,
        type(cycles.baseline)(
            cycles.baseline.machine,
            cycles.baseline.columns,
            cycles.baseline.readings[::-1],
            cycles.baseline.records[::-1],
        ),
        cycles.days[::-1],
    )
    (forward,), (backward,) = (watch_cycles(department, [one], 1000.0) for one in (cycles, turned))
    assert backward.values == forward.values
    assert backward.falling == forward.falling
    assert forward.falling.flagged_at is not None


def test_what_one_pressure_shows_of_each_fault_is_said_and_what_it_does_not_show_too() -> None:
    faults = watched(np.full(30, 1.0)).faults
    after = {one.fault.kind: one.cycles for one in faults}
    moved = {one.fault.kind: one.moved for one in faults}
    assert after[FaultKind.PUMP_AT_80] == 1
    assert moved[FaultKind.PUMP_AT_80] == pytest.approx(-0.36, abs=0.05)  # heads go with the square of the speed
    assert after[FaultKind.BLOCKED] is None
    assert abs(moved[FaultKind.BLOCKED]) < NOISE
    assert all(cycles is None or 1 <= cycles <= SOON for cycles in after.values())


def test_a_fault_that_is_said_to_be_flagged_within_so_many_cycles_is() -> None:
    """Its share put into later readings without further scatter raises the flag after just that many."""
    department = small_department()
    own = planned(department)
    before = watched(np.full(30, 1.0))
    scatter = NOISE * np.random.default_rng(3).normal(size=(30, own.size))
    some = [one for one in before.faults if one.cycles is not None and one.cycles > 1] or [
        one for one in before.faults if one.cycles is not None
    ]
    fault = some[0]
    assert fault.cycles is not None
    quiet = own * (1.0 + scatter)
    later = np.tile(own * (1.0 + fault.moved), (fault.cycles + 2, 1))
    (found,) = watch_cycles(department, [kept(np.vstack((quiet, later)))], 1000.0)
    assert found.flagged is not None
    assert found.flagged.flagged_at is not None
    assert abs(found.flagged.flagged_at - (30 + fault.cycles - 1)) <= 2

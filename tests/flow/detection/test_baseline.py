"""A baseline of earlier cycles: its alarm goes off as often as stated, however few cycles it has."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.flow import Baseline
from patency.flow.detection.alarm import detection_probabilities, squared_distances
from patency.flow.detection.doubts import stage_means
from patency.flow.numerics import estimated_chance_above, estimated_threshold

COLUMNS = (("cleaning", "P1"), ("rinse", "P1"), ("cleaning", "Q1"), ("rinse", "Q1"))
MEAN = np.array([20_000.0, 24_000.0, 2e-3, 2.1e-3])
SCATTER = np.array([60.0, 80.0, 8e-6, 9e-6])
SHARED = 0.6  # of each reading's scatter, the same for all


def cycles(count: int, rng: np.random.Generator) -> np.ndarray:
    own = math.sqrt(1.0 - SHARED**2) * rng.standard_normal((count, MEAN.size))
    return np.asarray(MEAN + SCATTER * (SHARED * rng.standard_normal((count, 1)) + own))


def baseline(readings: np.ndarray) -> Baseline:
    return Baseline("Alder", COLUMNS, readings, tuple(f"{row:064x}" for row in range(len(readings))))


@pytest.mark.parametrize("count", [4, 8, 30])
def test_a_further_cycle_without_fault_alarms_as_often_as_stated_however_few_cycles_there_are(count: int) -> None:
    """1000 departments with their own few cycles and one cycle more each: chances are even from 0 to 1."""
    rng = np.random.default_rng(31 + count)
    chances = []
    for _ in range(1000):
        found = baseline(cycles(count, rng)).chance_of(dict(zip(COLUMNS, cycles(1, rng)[0], strict=True)))
        assert isinstance(found, float)
        chances.append(found)
    for rate in (0.01, 0.1, 0.5):
        share = float(np.mean(np.array(chances) < rate))
        assert abs(share - rate) < 4.0 * math.sqrt(rate * (1.0 - rate) / 1000)


def test_one_sensor_in_one_stage_gives_the_two_sided_test_of_student() -> None:
    """A new reading against the mean of a few, by the textbook's formula in an open library."""
    from scipy.stats import t as student

    readings = np.array([[100.0], [103.0], [99.0], [101.0], [104.0], [98.0]])
    one = Baseline("Alder", (("cleaning", "P1"),), readings, ("0" * 64,) * 6)
    for value in (101.0, 107.0, 90.0):
        statistic = (value - readings.mean()) / (readings.std(ddof=1) * math.sqrt(1.0 + 1.0 / 6.0))
        expected = 2.0 * student.sf(abs(statistic), 5)
        assert one.chance_of({("cleaning", "P1"): value}) == pytest.approx(expected, rel=1e-9)


def test_a_fault_alarms_about_as_often_as_is_said_and_more_cycles_make_the_alarm_sharper() -> None:
    """500 departments whose next cycle has the fault; of few cycles rather too little is said than too much."""
    rng = np.random.default_rng(77)
    share = np.array([0.996, 0.996, 1.008, 1.008])
    said = {}
    for count in (8, 40):
        promised, alarms = [], []
        for _ in range(500):
            known = baseline(cycles(count, rng))
            promised.append(known.probabilities(COLUMNS, MEAN, (MEAN * share)[None], 0.05)[0])
            off = cycles(1, rng)[0] + MEAN * (share - 1.0)
            chance = known.chance_of(dict(zip(COLUMNS, off, strict=True)))
            assert isinstance(chance, float)
            alarms.append(chance < 0.05)
        assert np.mean(alarms) - 0.15 < np.mean(promised) < np.mean(alarms) + 0.05
        said[count] = np.mean(alarms)
    assert said[8] < said[40] - 0.05
    assert np.mean(promised) == pytest.approx(said[40], abs=0.06)


def test_with_ever_more_cycles_it_becomes_the_alarm_of_a_known_covariance() -> None:
    rng = np.random.default_rng(5)
    many = baseline(cycles(200_000, rng))
    means = stage_means(COLUMNS, ["P1", "Q1"])
    own = np.diag(SCATTER**2 * (1.0 - SHARED**2)) + SHARED**2 * np.outer(SCATTER, SCATTER)
    moved = np.array([[-100.0, -120.0, 1e-5, 1e-5]])
    known = detection_probabilities(moved @ means.T, means @ own @ means.T, 0.01)
    assert many.probabilities(COLUMNS, MEAN, MEAN + moved, 0.01) == pytest.approx(known, abs=0.01)


def test_squared_distances_are_those_of_the_inverse_whatever_the_units() -> None:
    own = np.diag(SCATTER**2) + 0.3 * np.outer(SCATTER, SCATTER)
    off = np.array([[70.0, -20.0, 1e-5, -2e-6], [0.0, 0.0, 0.0, 0.0]])
    expected = np.einsum("ij,jk,ik->i", off, np.linalg.inv(own), off)
    assert squared_distances(off, own) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        (np.tile(MEAN, (2, 1)) + np.array([[1.0], [-1.0]]), "a baseline of 2 cycles, of 3 at least for 2 readings"),
        (np.tile(MEAN, (9, 1)), "the readings of the baseline do not scatter, so they were not measured independently"),
    ],
)
def test_too_few_cycles_and_cycles_without_scatter_show_nothing(readings: np.ndarray, why: str) -> None:
    known = baseline(readings)
    assert known.chance_of(dict(zip(COLUMNS, MEAN, strict=True))) == why
    assert known.probabilities(COLUMNS, MEAN, (MEAN * 0.5)[None], 0.01).tolist() == [0.0]


def test_what_the_record_or_the_load_does_not_have_shows_nothing() -> None:
    known = baseline(cycles(12, np.random.default_rng(1)))
    few = {column: 1.0 for column in COLUMNS if column[1] == "P1"}
    missing = "the record has no reading of Q1 in cleaning, Q1 in rinse, which the baseline has"
    assert known.chance_of(few) == missing
    assert known.probabilities(COLUMNS[:2], MEAN[:2], MEAN[None, :2] * 0.5, 0.01).tolist() == [0.0]
    assert known.probabilities(COLUMNS, MEAN, np.full((1, 4), np.nan), 0.01).tolist() == [0.0]


@pytest.mark.parametrize("freedom", [1.0, 3.0, 14.0, 40.0])
def test_what_lies_far_off_is_noticed_for_certain_however_far(freedom: float) -> None:
    limit = estimated_threshold(0.005, 2, freedom)
    chances = [estimated_chance_above(limit, 2, freedom, far) for far in np.linspace(0.0, 6000.0, 1500)]
    assert chances[0] == pytest.approx(0.005)
    assert np.isfinite(chances).all()
    assert (np.diff(chances) > -1e-9).all()
    assert chances[-1] == pytest.approx(1.0) or freedom < 3.0

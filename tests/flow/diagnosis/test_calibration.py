"""What is said with some probability is so about that often: cycles of known truth, with seeds used nowhere else.

The docs draw the same from ten times as many cycles; ``docs/make_reliability.py``.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from patency.flow.detection.alarm import detection_probabilities, squared_distances
from patency.flow.detection.chance import threshold
from patency.flow.detection.doubts import stage_means
from patency.flow.diagnosis.simulating import DiagnosisScore, calibration, readings_off
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.diagnosis.larkmere_model import OFTEN, model, signatures

SEED = 411
CYCLES = 300


@cache
def score() -> DiagnosisScore:
    return calibration(larkmere(), hand_made_load("L3"), OFTEN, CYCLES, np.random.default_rng(SEED))


@pytest.mark.slow
def test_what_is_said_with_some_probability_is_so_about_that_often() -> None:
    """Within three standard errors of chance and 0.03 for what the method leaves out, in each of five bins."""
    found = score()
    for low, high in pairwise((0.02, 0.2, 0.5, 0.8, 0.95, 1.0001)):
        inside = (found.said >= low) & (found.said < high)
        said, so = found.said[inside], found.was_so[inside]
        assert said.size > 10
        error = np.sqrt((said * (1.0 - said)).sum()) / said.size
        assert abs(said.mean() - so.mean()) < 3.0 * error + 0.03, (low, high, said.size, said.mean(), so.mean())


@pytest.mark.slow
def test_the_truth_is_mostly_first_and_nearly_always_among_the_first_three() -> None:
    found = score()
    assert found.rank.size == CYCLES
    assert (found.rank == 0).mean() > 0.85
    assert (found.rank < 3).mean() > 0.95
    assert 20 < found.showed.sum() < CYCLES / 2


@pytest.mark.slow
def test_every_cycle_belongs_to_exactly_one_explanation() -> None:
    assert score().was_so.sum() == CYCLES
    assert score().said.sum() == pytest.approx(CYCLES)


@pytest.mark.slow
def test_the_alarm_goes_off_as_often_as_is_said() -> None:
    """4000 cycles as planned and 4000 with each cause, all doubts moved at random and the water solved anew."""
    known, found, count = model(), signatures(), 4000
    rng = np.random.default_rng(412)
    means = stage_means(found.columns, ["P1"])
    covariance = means @ found.covariance @ means.T
    false_alarms = 0.02
    above = threshold(false_alarms, 1)
    names = [cause.name for cause in found.causes]
    for name in ("as planned", "cap missing, T1", "cap missing, N9", "arm lost, top arm"):
        row = names.index(name)
        moved = (found.planned * found.shares[row] - found.planned) @ means.T
        (said,) = detection_probabilities(moved[None], covariance, false_alarms)
        scores = rng.standard_normal((count, known.doubts.count))
        table = known.network.table([known.causes[row].change] * count)
        water = np.array([known.solved(stage, table, scores)[:, 0] for stage, _ in found.columns]).T
        water += readings_off(known, list(found.columns), water, rng)
        alarms = squared_distances((water - found.planned) @ means.T, covariance) > above
        assert alarms.mean() == pytest.approx(said, abs=0.02), name

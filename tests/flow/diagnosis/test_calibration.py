"""What is said with some probability is so about that often: cycles of known truth, with seeds used nowhere else.

The docs draw the same from ten times as many cycles; ``docs/make_reliability.py``.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from patency.flow import DiagnosisScore, calibration
from patency.flow.diagnosis.chance import FALSE_ALARMS, power_of
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
def test_a_cause_is_noticed_as_often_as_is_said() -> None:
    """A test for just this cap missing: 4000 cycles with it and 4000 without, all doubts moved at random."""
    known, found, count = model(), signatures(), 4000
    rng = np.random.default_rng(412)
    inverse = np.linalg.inv(np.linalg.cholesky(found.covariance))
    for name in ("cap missing, T1", "cap missing, N9"):
        row = next(k for k, cause in enumerate(found.causes) if cause.name == name)
        direction = inverse @ (found.planned * found.shares[row] - found.planned)
        distance = float(np.linalg.norm(direction))
        statistics = []
        for change in (known.causes[0].change, known.causes[row].change):
            scores = rng.standard_normal((count, known.doubts.count))
            table = known.network.table([change] * count)
            water = np.array([known.solved(stage, table, scores)[:, 0] for stage, _ in found.columns]).T
            assert known.sensors[0].deviation is not None
            water += rng.standard_normal((count, 1)) * known.sensors[0].deviation
            water += rng.standard_normal(water.shape) * known.rates.repeatability * found.planned
            statistics.append((water - found.planned) @ inverse.T @ direction / distance)
        threshold = np.quantile(statistics[0], 1.0 - FALSE_ALARMS)
        noticed = (statistics[1] > threshold).mean()
        assert noticed == pytest.approx(power_of(distance), abs=0.05)

"""Synthetic departments of known truth: the fit finds it again, and its 95 % intervals hold it as often as they say.

Truth is drawn from what the description leaves open, readings from the truth with the instruments' noise. Seeds are
fixed; of 600 trials 95 % is binomially 93.2 to 96.7 %.
"""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow.commissioning.fitting import BenchFit, fit_readings
from patency.flow.commissioning.model import BenchModel
from patency.flow.commissioning.parameters import Factors, described_parameters
from tests.flow.commissioning.bench_cases import small_bench, two_ports

TRIALS = 600


class Measured(BenchModel):
    """A bench whose readings are given as numbers."""

    readings_shown: np.ndarray

    def shown(self) -> np.ndarray:
        """What was read."""
        return self.readings_shown


def trial(
    model: Measured, before: Factors, chance: np.random.Generator, noise: float = 1.0
) -> tuple[BenchFit, np.ndarray]:
    """One department: its truth and what is fitted to its readings."""
    truth = chance.normal(size=len(before.names)) * before.spread
    exact = model.predict(before.names, truth).shown
    model.readings_shown = exact + noise * chance.normal(size=exact.size) * model.noise()
    return fit_readings(model, before), truth


@pytest.mark.slow
def test_known_truth_lies_inside_the_95_percent_interval_in_93_to_97_percent_of_600_trials() -> None:
    model = Measured(*two_ports())
    before = described_parameters(list(model.benches.values()), two_ports()[0].limits.flow)
    chance = np.random.default_rng(2026)
    inside = np.zeros(len(before.names))
    learned = np.zeros(len(before.names))
    improbable = 0
    for _ in range(TRIALS):
        fit, truth = trial(model, before, chance)
        ends = np.array([fit.interval(row) for row in range(truth.size)])
        inside += (np.log(ends[:, 0]) <= truth) & (truth <= np.log(ends[:, 2]))
        learned += fit.after.spread / before.spread / TRIALS
        improbable += fit.improbability < 0.05
    shares = dict(zip(before.names, inside / TRIALS, strict=True))
    assert all(0.93 <= share <= 0.97 for share in shares.values()), shares
    assert 0.93 <= float(np.mean(inside)) / TRIALS <= 0.97
    assert 0.03 <= improbable / TRIALS <= 0.07
    assert min(learned) < 0.5  # the intervals are not only those of what was known before


def test_readings_without_noise_are_met_within_it() -> None:
    model = Measured(*small_bench())
    before = described_parameters(list(model.benches.values()), small_bench()[0].limits.flow)
    fit, _ = trial(model, before, np.random.default_rng(4), noise=0.0)
    predicted = model.predict(before.names, fit.after.mean).shown
    assert np.all(np.abs(predicted - model.readings_shown) < model.noise())


def test_the_covariance_is_that_of_many_fits_to_readings_of_one_department() -> None:
    model = Measured(*two_ports())
    before = described_parameters(list(model.benches.values()), two_ports()[0].limits.flow)
    chance = np.random.default_rng(7)
    errors = []
    for _ in range(60):
        fit, truth = trial(model, before, chance)
        whiten = np.linalg.inv(np.linalg.cholesky(fit.after.covariance))
        errors.append(whiten @ (fit.after.mean - truth))
    squares = float(np.sum(np.array(errors) ** 2)) / len(errors) / len(before.names)
    assert squares == pytest.approx(1.0, abs=4.0 * np.sqrt(2.0 / (60 * len(before.names))))

"""An interval is as wide as the few numbers demand from which a part of it was estimated."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.flow.commissioning.cycles import CyclesModel
from patency.flow.commissioning.fitting import BenchFit, fit_readings
from patency.flow.commissioning.freedom import effective_freedom
from patency.flow.commissioning.observing import pump_elasticities
from patency.flow.numerics import coverage_factor
from patency.flow.tolerances import NORMAL_95
from tests.flow.commissioning.kept_cycles import SmallDepartments

DRAWS, CYCLES = 4000, 5


@pytest.mark.parametrize("known", [0.0, 0.3, 1.0])
def test_intervals_of_a_mean_of_five_with_and_without_a_known_error_hold_what_they_say(known: float) -> None:
    """A common error of known size and a mean of five whose scatter is taken from them: the truth is 0."""
    chance = np.random.default_rng(2029)
    drawn = chance.normal(size=(DRAWS, CYCLES))
    mean = drawn.mean(axis=1) + known * chance.normal(size=DRAWS)
    found = drawn.var(axis=1, ddof=1) / CYCLES
    whole = found + known**2
    freedom = effective_freedom(whole, [(found, CYCLES - 1)])
    half = np.array([coverage_factor(one) for one in freedom]) * np.sqrt(whole)
    assert 0.935 <= float(np.mean(np.abs(mean) <= half)) <= 0.97
    assert freedom.min() >= CYCLES - 1 - 1e-9
    if known == 0.0:
        assert float(np.mean(np.abs(mean) <= 1.96 * np.sqrt(whole))) < 0.90  # as if it had been known


def fitted(cycles: int, scatter: float) -> tuple[BenchFit, float]:
    """A fit to cycles of a pump that scatters, and the standard deviation of the pump's head after it."""
    departments = SmallDepartments(stages=("cleaning",))
    _, kept = departments.draw(cycles, np.random.default_rng(5), scatter)
    model = CyclesModel(departments.department, kept)
    fit = fit_readings(model, departments.before)
    (slope,) = pump_elasticities(model.benches.values(), fit.after.names, fit.after.mean)
    return fit, float(np.sqrt(slope @ fit.after.covariance @ slope))


def test_a_fit_to_few_cycles_that_scatter_has_students_intervals() -> None:
    (few, doubt), (many, _), (steady, certain) = fitted(5, 0.05), fitted(200, 0.05), fitted(5, 1e-4)
    row = few.after.names.index("pump head")
    assert few.freedom[row] < 40.0 < many.freedom[row]
    assert steady.freedom[row] > 1000.0
    low, factor, high = few.interval(row)
    half = coverage_factor(few.freedom[row]) * few.after.spread[row]
    assert (math.log(high / factor), math.log(factor / low)) == pytest.approx((half, half))
    assert half > 2.02 * few.after.spread[row]
    assert few.pump_head_share > 2.02 * doubt
    assert steady.pump_head_share == pytest.approx(NORMAL_95 * certain, rel=2e-3)

"""What few cycles say of their scatter, against the first supplement to the guide to uncertainty in measurement.

JCGM 101:2008, 6.4.9.4 (quoted from memory): the mean of n indications of standard deviation s is Student's with n - 1
degrees of freedom, of variance (n - 1) / (n - 3) times s²/n.
"""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow.commissioning.cycles import CyclesModel
from tests.flow.commissioning.kept_cycles import SmallDepartments, kept, planned
from tests.small_site import small_department

STAGE = ("cleaning",)


@pytest.mark.parametrize("cycles", [5, 8, 40])
def test_the_doubt_of_a_mean_is_the_standard_deviation_of_students_distribution(cycles: int) -> None:
    from scipy.stats import t as student

    department = small_department()
    own = float(planned(department)[1])
    readings = own * (1.0 + 0.02 * np.random.default_rng(4).normal(size=(cycles, 1)))
    model = CyclesModel(department, [kept(readings, stages=STAGE)])
    seen = float(model.fresh()[0, 0] - model.assumed()[0, 0] / cycles)
    scale = float(readings.std(ddof=1)) / np.sqrt(cycles)
    assert np.sqrt(seen) == pytest.approx(student(cycles - 1, scale=scale).std(), rel=1e-9)


@pytest.mark.parametrize(("cycles", "known"), [(5, 0.0), (5, 1.0), (10, 0.0), (10, 0.5)])
def test_intervals_of_a_mean_with_and_without_a_known_error_hold_what_they_say(cycles: int, known: float) -> None:
    """A common error of known size and a mean whose scatter is taken from its numbers; the truth is 0, 20,000 times."""
    chance = np.random.default_rng(2029)
    drawn = chance.normal(size=(20_000, cycles))
    mean = drawn.mean(axis=1) + known * chance.normal(size=len(drawn))
    found = drawn.var(axis=1, ddof=1) / cycles
    held = np.abs(mean) <= 1.96 * np.sqrt(found * (cycles - 1) / (cycles - 3) + known**2)
    assert 0.93 <= float(np.mean(held)) <= 0.97


def test_few_cycles_that_scatter_count_for_less() -> None:
    departments = SmallDepartments(stages=STAGE)
    _, few = departments.draw(5, np.random.default_rng(5), 0.05)
    _, many = departments.draw(200, np.random.default_rng(5), 0.05)
    doubts = [
        float(CyclesModel(departments.department, one).fresh()[0, 0]) * count for one, count in ((few, 5), (many, 200))
    ]
    plain = [float(one[0].baseline.readings.var(ddof=1)) for one in (few, many)]
    assert doubts[0] > 1.9 * plain[0]
    assert doubts[1] < 1.1 * plain[1]

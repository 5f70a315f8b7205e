"""Mean run lengths of the cumulative sum, against published tables.

D. C. Montgomery, Introduction to Statistical Quality Control, 6th ed. (2009), table 9.3: two-sided sum with k = 1/2,
h = 4 and h = 5 (values from memory, not verified in the book; computed by others with the method of Brook and Evans,
1972). The one-sided run length without shift is twice the two-sided; with a shift of one standard deviation or more the
other side hardly counts. Agreement: one in the last printed digit, 0.7 % without shift.
"""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow.commissioning.drift import limit_for, run_length, watch


@pytest.mark.parametrize(
    ("limit", "shift", "readings", "digit"),
    [
        (4.0, 1.0, 8.38, 0.01),
        (4.0, 1.5, 4.75, 0.01),
        (4.0, 2.0, 3.34, 0.01),
        (5.0, 1.0, 10.4, 0.1),
        (5.0, 1.5, 5.75, 0.01),
        (5.0, 2.0, 4.01, 0.01),
    ],
)
def test_a_shift_is_flagged_after_as_many_readings_as_published(
    limit: float, shift: float, readings: float, digit: float
) -> None:
    assert run_length(limit, shift) == pytest.approx(readings, abs=digit)


@pytest.mark.parametrize(("limit", "two_sided"), [(4.0, 168.0), (5.0, 465.0)])
def test_false_alarms_come_as_seldom_as_published(limit: float, two_sided: float) -> None:
    assert run_length(limit) / 2.0 == pytest.approx(two_sided, rel=7e-3)


def test_the_limit_for_a_rate_of_false_alarms_is_the_one_that_has_it() -> None:
    assert limit_for(930.0) == pytest.approx(5.0, abs=0.01)


def test_a_simulation_of_the_sum_itself_agrees_with_its_run_length() -> None:
    chance = np.random.default_rng(5)
    lengths = []
    for _ in range(400):
        at = watch(list(chance.normal(size=1200)), 3.0).flagged_at
        assert at is not None
        lengths.append(at + 1)
    assert np.mean(lengths) == pytest.approx(run_length(3.0), rel=3.5 / np.sqrt(400))

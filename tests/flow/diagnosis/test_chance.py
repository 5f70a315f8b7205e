"""The two tests of statistics behind a diagnosis, held against a reference library."""

from __future__ import annotations

import pytest

from patency.flow.diagnosis.chance import chi_square_above, power_of


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 25])
@pytest.mark.parametrize("value", [1e-6, 0.5, 3.0, 20.0, 90.0])
def test_the_tail_of_chi_square_is_that_of_a_reference_library(freedom: int, value: float) -> None:
    from scipy.stats import chi2

    assert chi_square_above(value, freedom) == pytest.approx(float(chi2.sf(value, freedom)), rel=1e-9)


@pytest.mark.parametrize("distance", [0.0, 0.5, 1.0, 2.3263, 4.65, 9.0])
def test_the_power_is_that_of_a_one_sided_test_at_one_false_alarm_in_a_hundred(distance: float) -> None:
    from scipy.stats import norm

    assert power_of(distance) == pytest.approx(float(norm.sf(norm.isf(0.01) - distance)), rel=1e-9)

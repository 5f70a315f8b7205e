"""How often a test for one known change notices it, held against a reference library."""

from __future__ import annotations

import pytest

from patency.flow.diagnosis.chance import power_of


@pytest.mark.parametrize("distance", [0.0, 0.5, 1.0, 2.3263, 4.65, 9.0])
def test_the_power_is_that_of_a_one_sided_test_at_one_false_alarm_in_a_hundred(distance: float) -> None:
    from scipy.stats import norm

    assert power_of(distance) == pytest.approx(float(norm.sf(norm.isf(0.01) - distance)), rel=1e-9)

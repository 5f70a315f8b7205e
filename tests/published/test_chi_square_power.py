"""How often an alarm goes off, against published tables of chi-square and of its power.

Sources: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), table 26.8, percentage points of the
chi-square distribution; G. E. Haynam, Z. Govindarajulu and F. C. Leone, Tables of the cumulative noncentral chi-square
distribution (1970), the noncentralities for a stated power as J. Cohen, Statistical Power Analysis for the Behavioral
Sciences (2nd edition, 1988), uses them; both from memory, not verified. The open-source library SciPy computes the same
distributions independently and agrees with every value quoted.

Reached: all quoted digits, and SciPy to 1e-10.
"""

from __future__ import annotations

import math

import pytest

from patency.flow.detection.chance import chance_above, threshold

POINTS = [
    (1, 0.05, 3.84146),
    (2, 0.05, 5.99146),
    (3, 0.05, 7.81473),
    (5, 0.05, 11.0705),
    (10, 0.05, 18.3070),
    (1, 0.01, 6.63490),
    (2, 0.01, 9.21034),
    (5, 0.01, 15.0863),
    (10, 0.01, 23.2093),
    (30, 0.01, 50.8922),
]
POWERS = [
    (1, 0.05, 0.80, 7.849),
    (1, 0.05, 0.90, 10.507),
    (2, 0.05, 0.80, 9.635),
    (2, 0.05, 0.90, 12.654),
    (3, 0.05, 0.80, 10.903),
    (4, 0.05, 0.80, 11.935),
    (1, 0.01, 0.80, 11.679),
    (2, 0.01, 0.80, 13.881),
]


@pytest.mark.parametrize(("freedom", "false_alarms", "value"), POINTS)
def test_thresholds_are_the_tabled_percentage_points(freedom: int, false_alarms: float, value: float) -> None:
    assert threshold(false_alarms, freedom) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(("freedom", "false_alarms", "power", "noncentrality"), POWERS)
def test_powers_are_those_of_the_tabled_noncentralities(
    freedom: int, false_alarms: float, power: float, noncentrality: float
) -> None:
    assert chance_above(threshold(false_alarms, freedom), freedom, noncentrality) == pytest.approx(power, abs=5e-5)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 12])
@pytest.mark.parametrize("noncentrality", [0.0, 0.3, 5.0, 40.0, 300.0])
def test_powers_are_those_of_an_independent_library(freedom: int, noncentrality: float) -> None:
    from scipy import stats

    for false_alarms in (0.2, 0.01, 1e-4):
        value = threshold(false_alarms, freedom)
        assert value == pytest.approx(stats.chi2.isf(false_alarms, freedom), rel=1e-10)
        law = stats.ncx2(freedom, noncentrality) if noncentrality else stats.chi2(freedom)
        assert chance_above(value, freedom, noncentrality) == pytest.approx(law.sf(value), abs=1e-10)


def test_one_reading_is_the_two_sided_normal_test_of_every_textbook() -> None:
    from scipy.stats import norm as normal

    for distance in (0.0, 1.0, 2.5, 4.65):
        limit = normal.isf(0.005)
        expected = normal.sf(limit - distance) + normal.cdf(-limit - distance)
        assert chance_above(limit**2, 1, distance**2) == pytest.approx(expected, abs=1e-12)
    assert math.isclose(chance_above(9.0, 3, 1e6), 1.0)


def test_every_sum_of_squares_exceeds_nothing() -> None:
    for freedom in (1, 2, 5):
        assert chance_above(0.0, freedom) == chance_above(0.0, freedom, 3.0) == 1.0

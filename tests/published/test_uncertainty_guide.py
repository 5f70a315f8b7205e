"""Intervals of what was estimated from few numbers, against the Guide to the expression of uncertainty in measurement.

JCGM 100:2008 (GUM 1995 with minor corrections), annexes G and H; its numbers are quoted from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.flow.commissioning.freedom import effective_freedom
from patency.flow.numerics import coverage_factor


@pytest.mark.parametrize(
    ("freedom", "factor"),
    [(1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (10, 2.23), (20, 2.09), (50, 2.01), (math.inf, 1.960)],
)
def test_the_coverage_factor_is_that_of_table_g_2(freedom: float, factor: float) -> None:
    assert coverage_factor(freedom) == pytest.approx(factor, abs=0.0051)


def test_the_effective_freedom_is_that_of_the_end_gauge_of_h_1_6() -> None:
    """Components of 25, 9.7, 2.9 and 16.6 nm with 18, 25.6, 50 and 2 degrees of freedom: 16.7 in all."""
    parts = [(np.array([size**2]), freedom) for size, freedom in ((25.0, 18), (9.7, 25.6), (2.9, 50), (16.6, 2))]
    found = effective_freedom(np.array([1002.0]), parts)  # type: ignore[arg-type] # the example's 25.6 is no whole number
    assert found[0] == pytest.approx(16.7, abs=0.05)

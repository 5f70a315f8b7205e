"""D-optimal designs of polynomials against their closed form.

P. G. Guest, Ann. Math. Statist. 29 (1958) 294-299: for a polynomial of degree k on [-1, 1] the D-optimal readings
stand, in equal numbers, at the roots of (1 - x²) P'_k(x), P_k Legendre's polynomial (from memory; the roots as the
documentation of an open design package states them, too): -1, 0, 1 for a parabola, ±1 and ±1/√5 for a cubic, ±1,
±√(3/7) and 0 for the fourth degree. Agreement: exact on a grid that holds the points.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.flow.commissioning.design import Criterion, choose

ROOTS = {
    1: [-1.0, 1.0],
    2: [-1.0, 0.0, 1.0],
    3: [-1.0, -1.0 / math.sqrt(5.0), 1.0 / math.sqrt(5.0), 1.0],
    4: [-1.0, -math.sqrt(3.0 / 7.0), 0.0, math.sqrt(3.0 / 7.0), 1.0],
}


@pytest.mark.parametrize("degree", ROOTS)
def test_the_readings_for_a_polynomial_stand_in_equal_numbers_at_the_published_points(degree: int) -> None:
    grid = np.unique(np.concatenate((np.linspace(-1.0, 1.0, 41), ROOTS[degree])))
    rows = np.vander(grid, degree + 1, increasing=True)
    nothing_known = 1e8 * np.eye(degree + 1)
    times = 3
    chosen = choose(rows, nothing_known, times * (degree + 1), range(degree + 1), Criterion.VOLUME, repeats=99)
    assert grid[chosen] == pytest.approx(np.repeat(ROOTS[degree], times))


def test_two_factors_at_two_levels_are_read_at_the_corners() -> None:
    """Box and Wilson, J. R. Statist. Soc. B 13 (1951): the factorial is best for a plane (D-optimal on the square)."""
    levels = np.linspace(-1.0, 1.0, 5)
    places = np.array([(x, y) for x in levels for y in levels])
    rows = np.column_stack((np.ones(len(places)), places))
    chosen = choose(rows, 1e8 * np.eye(3), 4, range(3), Criterion.VOLUME)
    assert {tuple(places[k]) for k in chosen} == {(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)}

"""Logarithm and power as polynomials, which the compiler can turn into vector instructions.

Near one they are polynomials; further off the eighth root is taken first, by three square roots.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

NEAR = 0.15  # how far from one they hold, to about 1e-12
LEAST, MOST = 0.28, 3.0  # between which the eighth root is near one
DEGREE = 10


def places_near_one(degree: int) -> Floats:
    """Choose where to look at a function near one to fit a polynomial to it: the roots of Chebyshev's, times ``NEAR``.

    Parameters
    ----------
    degree
        Of the polynomial.

    Returns
    -------
    NDArray
        Shape (degree + 1,): distances from one [-].
    """
    return np.asarray(NEAR * np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1)))


def fitted(values: Floats, degree: int) -> Floats:
    """Fit polynomials to values at `places_near_one`.

    Parameters
    ----------
    values
        Shape (functions, degree + 1).
    degree
        Of the polynomials.

    Returns
    -------
    NDArray
        Shape (functions, degree + 1): coefficients of the distance from one, lowest order first.
    """
    orders = np.arange(degree + 1)
    scaled = np.linalg.solve((places_near_one(degree)[:, np.newaxis] / NEAR) ** orders, values.T)
    return np.asarray((scaled / NEAR ** orders[:, np.newaxis]).T)


def _highest_first(function: Callable[[Floats], Floats]) -> list[float]:
    found = fitted(function(places_near_one(DEGREE))[np.newaxis], DEGREE)
    return [float(c) for c in found[0, ::-1]]


_L0, _L1, _L2, _L3, _L4, _L5, _L6, _L7, _L8, _L9, _L10 = _highest_first(np.log1p)
_P0, _P1, _P2, _P3, _P4, _P5, _P6, _P7, _P8, _P9, _P10 = _highest_first(lambda x: (1.0 + x) ** -0.9)


def log_near_one(x: float) -> float:
    """Work out ln(1 + x) for small x."""
    high = ((((_L0 * x + _L1) * x + _L2) * x + _L3) * x + _L4) * x + _L5
    return ((((high * x + _L6) * x + _L7) * x + _L8) * x + _L9) * x + _L10


def power_near_one(x: float) -> float:
    """Work out (1 + x)^-0.9 for small x."""
    high = ((((_P0 * x + _P1) * x + _P2) * x + _P3) * x + _P4) * x + _P5
    return ((((high * x + _P6) * x + _P7) * x + _P8) * x + _P9) * x + _P10


def log_further_off(x: float) -> float:
    """Work out ln x for x between ``LEAST`` and ``MOST``."""
    return 8.0 * log_near_one(math.sqrt(math.sqrt(math.sqrt(x))) - 1.0)


def power_further_off(x: float) -> float:
    """Work out x^-0.9 for x between ``LEAST`` and ``MOST``."""
    power = power_near_one(math.sqrt(math.sqrt(math.sqrt(x))) - 1.0)
    power *= power
    power *= power
    return power * power

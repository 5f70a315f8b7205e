"""Logarithm and power as polynomials, which the compiler can turn into vector instructions.

Near one they are polynomials; further off the eighth root is taken first, by three square roots.
"""

from __future__ import annotations

import math

import numpy as np

NEAR = 0.2  # how far from one they hold, to about 1e-13
LEAST, MOST = 0.168, 4.29  # between which the eighth root is near one
_DEGREE = 12


def _fitted(power: float) -> list[float]:
    """Fit (1 + x)^power, of power 0 the logarithm, for x up to ``NEAR``; highest order first."""
    at = NEAR * np.cos(np.pi * (np.arange(_DEGREE + 1) + 0.5) / (_DEGREE + 1))
    values = (1.0 + at) ** power if power else np.log1p(at)
    fitted = np.polynomial.Chebyshev.fit(at, values, _DEGREE, domain=[-NEAR, NEAR])
    return [float(c) for c in fitted.convert(kind=np.polynomial.Polynomial).coef[::-1]]


_L0, _L1, _L2, _L3, _L4, _L5, _L6, _L7, _L8, _L9, _L10, _L11, _L12 = _fitted(0.0)
_P0, _P1, _P2, _P3, _P4, _P5, _P6, _P7, _P8, _P9, _P10, _P11, _P12 = _fitted(-0.9)


def log_near_one(x: float) -> float:
    """Work out ln(1 + x) for small x."""
    high = (((((_L0 * x + _L1) * x + _L2) * x + _L3) * x + _L4) * x + _L5) * x + _L6
    return (((((high * x + _L7) * x + _L8) * x + _L9) * x + _L10) * x + _L11) * x + _L12


def power_near_one(x: float) -> float:
    """Work out (1 + x)^-0.9 for small x."""
    high = (((((_P0 * x + _P1) * x + _P2) * x + _P3) * x + _P4) * x + _P5) * x + _P6
    return (((((high * x + _P7) * x + _P8) * x + _P9) * x + _P10) * x + _P11) * x + _P12


def log_further_off(x: float) -> float:
    """Work out ln x for x between ``LEAST`` and ``MOST``."""
    return 8.0 * log_near_one(math.sqrt(math.sqrt(math.sqrt(x))) - 1.0)


def power_further_off(x: float) -> float:
    """Work out x^-0.9 for x between ``LEAST`` and ``MOST``."""
    power = power_near_one(math.sqrt(math.sqrt(math.sqrt(x))) - 1.0)
    power *= power
    power *= power
    return power * power

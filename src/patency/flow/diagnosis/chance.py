"""Two tests of statistics: of one known change, and of whether anything fits at all."""

from __future__ import annotations

import math
from statistics import NormalDist

# A test that is to be wrong in one of a hundred cycles as planned; the usual choice, no source.
FALSE_ALARMS = 0.01


def power_of(distance: float) -> float:
    """Tell how often a test for one known change notices it.

    Parameters
    ----------
    distance
        The change in standard deviations [-].

    Returns
    -------
    float
        Probability, where one in a hundred cycles without the change alarms [-]; no less than that.

    Examples
    --------
    >>> round(power_of(0.0), 4), round(power_of(4.65), 3)
    (0.01, 0.99)
    """
    normal = NormalDist()
    return normal.cdf(distance - normal.inv_cdf(1.0 - FALSE_ALARMS))


def chi_square_above(value: float, freedom: int) -> float:
    """Tell how often a sum of squared standard normal numbers lies above a value.

    Parameters
    ----------
    value
        The value [-].
    freedom
        How many numbers, at least one.

    Returns
    -------
    float
        Probability [-].

    Notes
    -----
    The closed forms 26.4.4 and 26.4.5 of M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964.

    Examples
    --------
    >>> round(chi_square_above(11.070, 5), 4), round(chi_square_above(9.488, 4), 4)
    (0.05, 0.05)
    """
    half = value / 2.0
    first = 0.5 if freedom % 2 else 0.0
    tail = math.erfc(math.sqrt(half)) if freedom % 2 else 0.0
    terms = (half**k / math.gamma(k + 1.0) for k in (first + i for i in range(freedom // 2)))
    return float(tail + math.exp(-half) * sum(terms))

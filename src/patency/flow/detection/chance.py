"""How often an alarm on several readings at once goes off: central and noncentral chi-square."""

from __future__ import annotations

import math

_NEGLIGIBLE = 1e-15
_CERTAIN = 9.0  # deviations along the mean alone: what is left of 1 is below the last digit


def chance_above(value: float, freedom: int, noncentrality: float = 0.0) -> float:
    """Say how likely a sum of squares of normal numbers of unit deviation exceeds a value.

    Parameters
    ----------
    value
        The value, 0 or more [-].
    freedom
        How many numbers, at least one.
    noncentrality
        Sum of the squares of their means, 0 or more [-].

    Returns
    -------
    float
        Probability, to about 1e-12.

    Examples
    --------
    >>> round(chance_above(3.841459, 1), 6), round(chance_above(3.841459, 1, 7.849), 3)
    (0.05, 0.8)

    Notes
    -----
    The central distribution by recurrence in its freedom (M. Abramowitz and I. A. Stegun, Handbook of Mathematical
    Functions, 1964, 26.4.4 and 26.4.5, in the form of 6.5.22); the noncentral one as its Poisson mixture (26.4.25).
    """
    if value == 0.0 or math.sqrt(noncentrality) - math.sqrt(value) > _CERTAIN:
        return 1.0
    half = value / 2.0
    shape = freedom / 2.0
    at = 0.5 if freedom % 2 else 1.0
    tail = math.erfc(math.sqrt(half)) if freedom % 2 else math.exp(-half)
    while at < shape:
        tail += _step(at, half)
        at += 1.0
    mean, count, total, left = noncentrality / 2.0, 0, 0.0, 1.0
    log_weight = -mean
    while True:
        weight = math.exp(log_weight)
        total += weight * tail
        left -= weight
        tail += _step(at, half)
        at += 1.0
        count += 1
        if count > mean and (left < _NEGLIGIBLE or weight < _NEGLIGIBLE):
            return min(total, 1.0)
        log_weight += math.log(mean / count) if mean > 0.0 else -math.inf


def _step(shape: float, half: float) -> float:
    """What the tail of the gamma distribution gains when its shape grows by one."""
    return math.exp(shape * math.log(half) - half - math.lgamma(shape + 1.0))


def threshold(false_alarms: float, freedom: int) -> float:
    """Find the value that a sum of squares of standard normal numbers exceeds as often as asked.

    Parameters
    ----------
    false_alarms
        How often, between 0 and 1 [-].
    freedom
        How many numbers, at least one.

    Returns
    -------
    float
        The value [-], to about 1e-12 of itself.

    Examples
    --------
    >>> round(threshold(0.01, 2), 4)
    9.2103
    """
    low, high = 1e-12, 2.0 * freedom + 10.0
    while chance_above(high, freedom) > false_alarms:
        high *= 2.0
    while high - low > 1e-13 * high:
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        low, high = (middle, high) if chance_above(middle, freedom) > false_alarms else (low, middle)
    return high

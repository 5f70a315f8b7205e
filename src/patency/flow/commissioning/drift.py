"""Whether a port clogs: the sum of its shortfalls, which grows long before a single reading would show it.

Each reading of a port is compared with what the fit and the port's own readings before let expect; z is the shortfall
of the flow's logarithm over its standard deviation. So one error of the fit does not count again and again, and the z
of a port that stays as it is are independent, whatever the fit did not know of it (as in the self-starting charts of D.
M. Hawkins, The Statistician 36, 1987). The price is that a lasting change is learned in time and must be seen before.
The cumulative sum S = max(0, S + z - k) raises its flag above h (E. S. Page, Biometrika 41, 1954).
With k = 1/2 it is quickest for a shift of one standard deviation; h follows from the rate of false alarms asked for,
by the Markov chain of D. Brook and D. A. Evans (Biometrika 59, 1972, 539-549).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

REFERENCE = 0.5
"""The k of the sum, in standard deviations."""
_STEPS = 100  # states of the chain
_WIDEST = 20.0


@dataclass(frozen=True, slots=True)
class Drift:
    """How the readings of one port went on.

    Parameters
    ----------
    shortfalls
        Each reading's shortfall over its standard deviation, in the order of time.
    sums
        The cumulative sum after each reading.
    flagged_at
        Place of the first reading after which the sum lies above its limit; None where none does.
    began_at
        Place of the first reading after the sum was last zero before the flag; None where there is no flag.
    """

    shortfalls: tuple[float, ...]
    sums: tuple[float, ...]
    flagged_at: int | None
    began_at: int | None


def innovations(shortfalls: Sequence[float], noise: float, doubt: float) -> list[float]:
    """Compare each shortfall with what those before it let expect.

    Parameters
    ----------
    shortfalls
        Predicted less measured, of the flow's logarithm, in the order of time [-].
    noise
        Standard deviation of a reading [-].
    doubt
        Standard deviation of the prediction, one error for all readings of the port [-].

    Returns
    -------
    list[float]
        Each shortfall less its expectation over its standard deviation: independent and standard normal for a port that
        stays as it is.
    """
    mean, variance = 0.0, doubt**2
    found = []
    for shortfall in shortfalls:
        whole = variance + noise**2
        found.append((shortfall - mean) / math.sqrt(whole))
        mean += variance / whole * (shortfall - mean)
        variance *= noise**2 / whole
    return found


def watch(shortfalls: Sequence[float], limit: float) -> Drift:
    """Sum up the shortfalls of one port.

    Parameters
    ----------
    shortfalls
        In standard deviations, in the order of time; above zero where less flowed than predicted.
    limit
        The h of the sum.

    Returns
    -------
    Drift
        Sums and flag.
    """
    sums: list[float] = []
    total, last_zero, flagged, began = 0.0, -1, None, None
    for place, z in enumerate(shortfalls):
        total = max(0.0, total + z - REFERENCE)
        sums.append(total)
        if total == 0.0:
            last_zero = place
        if flagged is None and total > limit:
            flagged, began = place, last_zero + 1
    return Drift(tuple(shortfalls), tuple(sums), flagged, began)


def words_of(drift: Drift, how: str, days: Sequence[date]) -> str:
    """Tell a drift.

    Parameters
    ----------
    drift
        The drift.
    how
        What the readings do, such as ``falls``.
    days
        Day of each reading.

    Returns
    -------
    str
        Since when, and when it was flagged; empty where it was not.
    """
    if drift.flagged_at is None or drift.began_at is None:
        return ""
    return f"{how} since about {days[drift.began_at]}, flagged on {days[drift.flagged_at]}"


def run_length(limit: float, shift: float = 0.0) -> float:
    """How many readings pass on the average until the flag.

    Parameters
    ----------
    limit
        The h of the sum.
    shift
        How many standard deviations less flows than predicted.

    Returns
    -------
    float
        Mean number of readings from a sum of zero on.

    Examples
    --------
    >>> round(run_length(5.0)), round(run_length(5.0, 1.0), 1)
    (930, 10.4)
    """
    width = 2.0 * limit / (2 * _STEPS - 1)
    # From one state to another only the difference of their places counts.
    below = np.array([_below((step + 0.5) * width + REFERENCE - shift) for step in range(1 - _STEPS, _STEPS)])
    places = np.arange(_STEPS)
    reached = below[places[None, :] - places[:, None] + _STEPS - 1]
    moves = np.diff(reached, axis=1, prepend=0.0)
    return float(np.linalg.solve(np.eye(_STEPS) - moves, np.ones(_STEPS))[0])


def _below(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def limit_for(readings_between_false_alarms: float) -> float:
    """Find the limit of the sum for a rate of false alarms.

    Parameters
    ----------
    readings_between_false_alarms
        Mean number of readings of one port that pass until it is flagged though nothing happened; above 2.

    Returns
    -------
    float
        The h of the sum.
    """
    low, high = 0.05, _WIDEST
    while high - low > 1e-3:
        middle = (low + high) / 2.0
        if run_length(middle) < readings_between_false_alarms:
            low = middle
        else:
            high = middle
    return high

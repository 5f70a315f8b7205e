"""How many points a control chart runs on the average until it signals, computed before it is used.

Individuals by the normal distribution; the exponentially weighted mean by its integral equation with Gauss and
Legendre's quadrature (S. V. Crowder, Technometrics 29, 1987, 401-407); the sum of counts exactly, as a Markov chain on
the lattice on which its allowance lies (J. M. Lucas, Technometrics 27, 1985, 129-144).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.statistics.distributions import normal_quantile, poisson_chances

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

COUNT_PARTS = 20
"""Parts of one count on which the sum of counts is reckoned; an allowance is rounded to them."""
_NODES = 96
_WIDEST = 6.0


def individuals_run_length(width: float, shift: float = 0.0) -> float:
    """Tell how many points a chart of individuals runs until one lies outside its limits.

    Parameters
    ----------
    width
        Distance of each limit from the centre, in standard deviations.
    shift
        How far the mean lies from the centre, in standard deviations.

    Returns
    -------
    float
        Mean number of points.

    Examples
    --------
    >>> round(individuals_run_length(3.0), 1), round(individuals_run_length(3.0, 1.0), 1)
    (370.4, 43.9)
    """
    outside = 0.5 * math.erfc((width - shift) / math.sqrt(2)) + 0.5 * math.erfc((width + shift) / math.sqrt(2))
    return 1.0 / outside


def individuals_width(run_length: float) -> float:
    """Find the limits of a chart of individuals for a run length.

    Parameters
    ----------
    run_length
        Mean number of points until a false alarm; above 1.

    Returns
    -------
    float
        Distance of each limit from the centre, in standard deviations.
    """
    return -normal_quantile(0.5 / run_length)


def ewma_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Tell how many points an exponentially weighted moving average runs until it leaves its limits.

    Parameters
    ----------
    weight
        Weight of the newest point, above 0 up to 1.
    width
        Distance of each limit from the centre, in standard deviations of the average in the long run.
    shift
        How far the mean of the points lies from the centre, in their standard deviations.

    Returns
    -------
    float
        Mean number of points from an average at the centre on.

    Examples
    --------
    >>> round(ewma_run_length(0.5, 3.071)), round(ewma_run_length(0.5, 3.071, 1.0), 1)
    (500, 17.5)
    """
    if weight == 1.0:
        return individuals_run_length(width, shift)
    half = width * math.sqrt(weight / (2.0 - weight))
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    places = half * nodes

    def moves(start: NDArray[np.float64]) -> NDArray[np.float64]:
        away = (places[None, :] - (1.0 - weight) * start[:, None]) / weight - shift
        chances: NDArray[np.float64] = half * weights * np.exp(-0.5 * away**2) / math.sqrt(2 * math.pi) / weight
        return chances

    lengths = np.linalg.solve(np.eye(_NODES) - moves(places), np.ones(_NODES))
    return float(1.0 + (moves(np.zeros(1)) @ lengths)[0])


@cache
def ewma_width(weight: float, run_length: float) -> float:
    """Find the limits of an exponentially weighted moving average for a run length.

    Parameters
    ----------
    weight
        Weight of the newest point.
    run_length
        Mean number of points until a false alarm.

    Returns
    -------
    float
        Distance of each limit from the centre, in standard deviations of the average in the long run.
    """
    low, high = 0.1, _WIDEST
    while high - low > 1e-5:
        middle = (low + high) / 2
        low, high = (middle, high) if ewma_run_length(weight, middle) < run_length else (low, middle)
    return high


@dataclass(frozen=True, slots=True)
class CountSum:
    """A sum of counts: S = max(0, S + count - allowance), signalling at its limit.

    Parameters
    ----------
    parts
        Parts of one count on which allowance and limit lie.
    allowance_parts
        What is taken off at each point, in such parts.
    limit_parts
        Where it signals, in such parts; at the limit counts as signalling.
    """

    parts: int
    allowance_parts: int
    limit_parts: int

    def run_length(self, mean: float) -> float:
        """Tell how many points the sum runs until it signals.

        Parameters
        ----------
        mean
            Mean of the counts, which are of Poisson's distribution.

        Returns
        -------
        float
            Mean number of points from a sum of zero on.

        Examples
        --------
        >>> round(CountSum(parts=4, allowance_parts=1, limit_parts=40).run_length(0.25))
        438
        """
        moves = count_moves(self, mean)
        return float(np.linalg.solve(np.eye(self.limit_parts) - moves, np.ones(self.limit_parts))[0])


def count_moves(chart: CountSum, mean: float) -> NDArray[np.float64]:
    """Return the chances with which a sum of counts goes from each place below its limit to each.

    Parameters
    ----------
    chart
        The sum.
    mean
        Mean of the count at this point.

    Returns
    -------
    numpy.ndarray
        Shape (limit_parts, limit_parts); what a row lacks to 1 is the chance to signal.
    """
    states = chart.limit_parts
    most = (states + chart.allowance_parts) // chart.parts + 1
    places = np.arange(states)
    moves = np.zeros((states, states))
    for count, chance in enumerate(poisson_chances(mean, most)):
        ends = np.maximum(places + count * chart.parts - chart.allowance_parts, 0)
        stays = ends < states
        np.add.at(moves, (places[stays], ends[stays]), chance)
    return moves


@cache
def count_sum_for(acceptable: float, unacceptable: float, run_length: float, parts: int = COUNT_PARTS) -> CountSum:
    """Lay out a sum of counts for a run length.

    Parameters
    ----------
    acceptable
        Mean count at a point that is accepted.
    unacceptable
        Mean count to be detected soon, above it.
    run_length
        Mean number of points until a false alarm, at least.
    parts
        Parts of one count on which it is reckoned.

    Returns
    -------
    CountSum
        With the allowance of J. M. Lucas (1985), (u - a) / ln(u / a), and the lowest limit that runs long enough.
    """
    allowance = max(1, round(parts * (unacceptable - acceptable) / math.log(unacceptable / acceptable)))
    low, high = 0, parts
    while CountSum(parts, allowance, high).run_length(acceptable) < run_length:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        enough = CountSum(parts, allowance, middle).run_length(acceptable) >= run_length
        low, high = (low, middle) if enough else (middle, high)
    return CountSum(parts, allowance, high)


def false_alarm_chance(chart: CountSum, means: Sequence[float], allowances: Sequence[int]) -> float:
    """Tell how likely a sum of counts has signalled by now though nothing changed, with the numbers truly inspected.

    Parameters
    ----------
    chart
        The sum; its allowance is left aside.
    means
        Mean count at each point as long as nothing changed.
    allowances
        What is taken off at each, in parts of one count.

    Returns
    -------
    float
        The chance of one signal or more.
    """
    moves = {
        pair: count_moves(CountSum(chart.parts, pair[1], chart.limit_parts), pair[0])
        for pair in set(zip(means, allowances, strict=True))
    }
    places = np.zeros(chart.limit_parts)
    places[0] = 1.0
    for pair in zip(means, allowances, strict=True):
        places = places @ moves[pair]
    return float(1.0 - places.sum())

"""The one place in this room that calls scipy: distributions."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


FARTHEST = 37.0
"""Standard deviations beyond which a normal value has no chance that a number could hold."""


def poisson_chances(mean: float, most: int) -> NDArray[np.float64]:
    """Return the chance of each count of a Poisson distribution.

    Parameters
    ----------
    mean
        Its mean, above 0.
    most
        Largest count.

    Returns
    -------
    numpy.ndarray
        Chance of 0 to ``most``, shape (most + 1,).
    """
    from scipy.stats import poisson

    return np.asarray(poisson.pmf(np.arange(most + 1), mean), dtype=np.float64)


def normal_of_t(value: float, degrees: int) -> float:
    """Return the standard normal value that is as unlikely as a value of Student's t.

    Parameters
    ----------
    value
        The value of t.
    degrees
        Degrees of freedom, at least 1.

    Returns
    -------
    float
        The normal value, no farther out than ``FARTHEST``.
    """
    from scipy.special import ndtri, stdtr

    # The chance of the lower tail is told far out, where that of the upper is not told from 1.
    away = -float(ndtri(stdtr(degrees, -abs(value))))
    return math.copysign(min(away, FARTHEST), value)


def normal_quantile(chance: float) -> float:
    """Return the value below which a standard normal value lies with a chance.

    Parameters
    ----------
    chance
        Above 0 and below 1.

    Returns
    -------
    float
        The value.
    """
    from scipy.stats import norm

    return float(norm.ppf(chance))


def found_chances(pieces: int, marked: int, drawn: int) -> NDArray[np.float64]:
    """Return the chance of each number of marked pieces among those drawn.

    Parameters
    ----------
    pieces
        How many there are.
    marked
        How many of them are marked.
    drawn
        How many are drawn, without putting back.

    Returns
    -------
    numpy.ndarray
        Chance of 0 to ``drawn``, shape (drawn + 1,), by the hypergeometric distribution.
    """
    from scipy.stats import hypergeom

    return np.asarray(hypergeom.pmf(np.arange(drawn + 1), pieces, marked, drawn), dtype=np.float64)

"""Which readings teach most: optimal design over a list of possible readings, by exchange.

A reading adds its row's outer product to the information; all that is known after it is the inverse. *D-optimal* are
the readings after which the ellipsoid of what is still possible has the least volume, *A-optimal* those after which the
variances, each over the one before, have the least sum (V. V. Fedorov, Theory of Optimal Experiments, 1972; A. C.
Atkinson, A. N. Donev and R. D. Tobias, Optimum Experimental Designs, with SAS, 2007). Parameters that matter to nobody
(how one port differs from its kind) are left free and do not count (the criteria are then called Ds and As).
Greedy choice, then exchange of single readings until none helps: not proven to be the best, compared in the tests with
trying every choice.
"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_MOST_ROUNDS = 50
_GAIN = 1e-9  # smallest gain for which a reading is exchanged


class Criterion(Enum):
    """What the best readings are best at."""

    VOLUME = "volume"  # D-optimal
    VARIANCES = "variances"  # A-optimal


def covariance_after(covariance: Floats, rows: Floats) -> Floats:
    """Compute what is known after some readings.

    Parameters
    ----------
    covariance
        Shape (parameters, parameters): before.
    rows
        Shape (readings, parameters): derivatives of the readings over their standard deviations.

    Returns
    -------
    NDArray
        Shape (parameters, parameters): after, for readings that depend linearly on the parameters.
    """
    spread = covariance @ rows.T
    inner = np.eye(rows.shape[0]) + rows @ spread
    after = covariance - spread @ np.linalg.solve(inner, spread.T)
    return np.asarray((after + after.T) / 2.0)


def choose(
    rows: Floats, covariance: Floats, count: int, of_interest: Sequence[int], criterion: Criterion, repeats: int = 1
) -> list[int]:
    """Choose readings.

    Parameters
    ----------
    rows
        Shape (possible readings, parameters): derivatives over standard deviations.
    covariance
        Shape (parameters, parameters): what is known before.
    count
        How many readings to choose.
    of_interest
        Rows of the parameters that matter.
    criterion
        What the readings shall be best at.
    repeats
        How often one reading may be chosen.

    Returns
    -------
    list[int]
        Rows of the chosen readings in rising order; fewer than asked for where there are no more.
    """
    count = min(count, repeats * rows.shape[0])
    scale = np.diag(covariance)[list(of_interest)]
    chosen: list[int] = []
    known = covariance
    for _ in range(count):
        best = int(np.argmax(_gains(rows, known, of_interest, scale, criterion, _allowed(rows, chosen, repeats))))
        chosen.append(best)
        known = covariance_after(known, rows[[best]])
    for _ in range(_MOST_ROUNDS):
        if not _exchange(rows, covariance, chosen, of_interest, scale, criterion, repeats):
            break
    return sorted(chosen)


def merit(
    rows: Floats, covariance: Floats, chosen: Sequence[int], of_interest: Sequence[int], criterion: Criterion
) -> float:
    """Say how good a choice of readings is.

    Parameters
    ----------
    rows
        Shape (possible readings, parameters): derivatives over standard deviations.
    covariance
        Shape (parameters, parameters): what is known before.
    chosen
        Rows of the readings.
    of_interest
        Rows of the parameters that matter.
    criterion
        What the readings shall be good at.

    Returns
    -------
    float
        Logarithm of volume squared, or mean of the variances over those before; the less the better.
    """
    after = covariance_after(covariance, rows[list(chosen)])[np.ix_(of_interest, of_interest)]
    if criterion is Criterion.VOLUME:
        return float(np.linalg.slogdet(after)[1])
    return float(np.mean(np.diag(after) / np.diag(covariance)[list(of_interest)]))


def _allowed(rows: Floats, chosen: Sequence[int], repeats: int) -> NDArray[np.bool_]:
    return np.asarray(np.bincount(np.array(chosen, dtype=np.int64), minlength=rows.shape[0]) < repeats)


def _gains(
    rows: Floats,
    known: Floats,
    of_interest: Sequence[int],
    scale: Floats,
    criterion: Criterion,
    allowed: NDArray[np.bool_],
) -> Floats:
    """What each reading would gain: less volume or less variance, by the update of rank one."""
    spread = rows @ known
    inner = 1.0 + np.sum(spread * rows, axis=1)
    seen = spread[:, of_interest]
    if criterion is Criterion.VOLUME:
        block = known[np.ix_(of_interest, of_interest)]
        share = np.sum(seen * np.linalg.solve(block, seen.T).T, axis=1) / inner
        gains = -np.log1p(-np.minimum(share, 1.0 - 1e-15))
    else:
        gains = np.sum(seen**2 / scale, axis=1) / inner
    return np.where(allowed, gains, -np.inf)


def _exchange(
    rows: Floats,
    covariance: Floats,
    chosen: list[int],
    of_interest: Sequence[int],
    scale: Floats,
    criterion: Criterion,
    repeats: int,
) -> bool:
    """Exchange each reading in turn for the one that gains most in its place; whether any was."""
    changed = False
    for place in range(len(chosen)):
        others = chosen[:place] + chosen[place + 1 :]
        known = covariance_after(covariance, rows[others])
        gains = _gains(rows, known, of_interest, scale, criterion, _allowed(rows, others, repeats))
        best = int(np.argmax(gains))
        if gains[best] > gains[chosen[place]] + _GAIN:
            chosen[place], changed = best, True
    return changed

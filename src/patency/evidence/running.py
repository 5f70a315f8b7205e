"""Stretches of a record, and when its circulation pump ran."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.machine_code import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.record import CycleRecord, Trace

# To tell stretches of circulation apart, the pump runs where the signal exceeds this share of its high level (95th
# percentile): low enough for the slowest pump of a programme, far above the noise of a sensor at rest. A choice of
# method: from 0.1 to 0.5 the same stages are found within seconds (tests/demo/test_cycle_truth.py).
_SHARE_OF_HIGH_LEVEL = 0.25
_HIGH_LEVEL = 0.95
# A burst of the pump shorter than this share of the longest stretch beside it is no stage. A choice of
# method: from 0.05 to 0.5 the same stages are found (tests/demo/test_cycle_truth.py).
_BURST_SHARE = 0.1

Stretch = tuple[int, int]


def stretches(mask: NDArray[np.bool_]) -> list[Stretch]:
    """Return the first and last position of each unbroken stretch of True.

    Parameters
    ----------
    mask
        One value per sample, shape (n,).

    Returns
    -------
    list
        Pairs of positions, ascending, ends included.

    Examples
    --------
    >>> stretches(np.array([True, True, False, True]))
    [(0, 1), (3, 3)]
    """
    return [(first, last) for first, last in compiled("bounds_of_stretches")(mask).tolist()]


def pauses(mask: NDArray[np.bool_], first: int, last: int) -> list[Stretch]:
    """Return the stretches of False that lie between stretches of True within a part of the record.

    Parameters
    ----------
    mask
        One value per sample, shape (n,).
    first
        First position of the part.
    last
        Last position of the part.

    Returns
    -------
    list
        Pairs of positions in the whole record, ascending, ends included.

    Examples
    --------
    >>> pauses(np.array([False, True, False, False, True, False]), 0, 5)
    [(2, 3)]
    """
    on = stretches(mask[first : last + 1])
    return [(first + before[1] + 1, first + after[0] - 1) for before, after in pairwise(on)]


def long_enough(on: NDArray[np.bool_], first: int, last: int) -> NDArray[np.bool_]:
    """Leave out short bursts of the pump within a part: running down after the word changed, priming while filling.

    Parameters
    ----------
    on
        When the pump ran, shape (n,).
    first
        First position of the part.
    last
        Last position of the part.

    Returns
    -------
    numpy.ndarray
        Shape (n,); outside the part False.
    """
    ran = np.zeros_like(on)
    for start, end in _long_bursts(on, first, last):
        ran[start : end + 1] = True
    return ran


def circulating(on: NDArray[np.bool_], first: int, last: int) -> Stretch | None:
    """Return the part from the first to the last sample of circulation within a part, short bursts left out.

    Parameters
    ----------
    on
        When the pump ran, shape (n,).
    first
        First position of the part.
    last
        Last position of the part.

    Returns
    -------
    tuple or None
        First and last position; None where the pump did not run.
    """
    bursts = _long_bursts(on, first, last)
    return (bursts[0][0], bursts[-1][1]) if bursts else None


def _long_bursts(on: NDArray[np.bool_], first: int, last: int) -> list[Stretch]:
    bursts = stretches(on[first : last + 1])
    longest = max((end - start for start, end in bursts), default=0)
    return [(first + start, first + end) for start, end in bursts if end - start >= _BURST_SHARE * longest]


def running(record: CycleRecord, share: float | None = None) -> NDArray[np.bool_] | None:
    """Tell for each sample whether the circulation pump ran.

    Parameters
    ----------
    record
        The record; the pressure at the circulation is asked first, the rotation of a spray arm second.
    share
        Share of its high level above which the signal counts; enough to tell stages apart when left out.

    Returns
    -------
    numpy.ndarray or None
        One value per sample, shape (n,); a missing value repeats the one before. None when nothing shows it.
    """
    for trace in (*record.of("pressure", "circulation"), *record.of("rotation")):
        mask = _above(trace, _SHARE_OF_HIGH_LEVEL if share is None else share)
        if mask is not None:
            return mask
    return None


def _above(trace: Trace, share: float) -> NDArray[np.bool_] | None:
    lowest, _ = compiled("lowest_and_highest")(trace.values)
    rest = 0.0 if trace.gauge else lowest
    high = compiled("quantile")(trace.values, _HIGH_LEVEL) - rest
    if not high > 0:  # nor where there is no value at all
        return None
    on: NDArray[np.bool_] = compiled("above_level")(trace.values, rest, share * high)
    return on

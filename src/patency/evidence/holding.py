"""How long temperatures were held: stretches of time that gaps and the clock break."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.machine_code import compiled
from patency.evidence.running import Stretch, stretches
from patency.evidence.timing import Spacing

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.timing import TimeAxis


def filled(values: NDArray[np.float64], time_s: NDArray[np.float64], tolerated_gap_s: float) -> NDArray[np.float64]:
    """Give missing values the lower of the values around them, where the hole is no longer than a tolerated gap.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    time_s
        Elapsed time, shape (n,) [s].
    tolerated_gap_s
        Longest hole that is filled [s].

    Returns
    -------
    numpy.ndarray
        Shape (n,); longer holes and missing ends stay missing.
    """
    whole: NDArray[np.float64] = compiled("fill_holes")(values, time_s, tolerated_gap_s)
    return whole


def held(mask: NDArray[np.bool_], axis: TimeAxis, tolerated_gap_s: float) -> list[Stretch]:
    """Return the stretches in which a condition held without a break.

    Parameters
    ----------
    mask
        Whether the condition held at each sample, shape (n,).
    axis
        The time axis of the n samples.
    tolerated_gap_s
        Longest interval between samples that does not break a stretch [s].

    Returns
    -------
    list
        First and last position of each stretch.
    """
    return [(first, last) for first, last in _held(mask, axis, tolerated_gap_s).tolist()]


def _held(mask: NDArray[np.bool_], axis: TimeAxis, tolerated_gap_s: float) -> NDArray[np.int64]:
    clock_step = axis.spacing == Spacing.CLOCK_STEP
    bounds: NDArray[np.int64] = compiled("held_within")(mask, axis.elapsed_s, clock_step, tolerated_gap_s)
    return bounds


def duration_s(parts: list[Stretch], axis: TimeAxis) -> NDArray[np.float64]:
    """Return how long each stretch lasted.

    Parameters
    ----------
    parts
        Stretches.
    axis
        The time axis.

    Returns
    -------
    numpy.ndarray
        From the first to the last sample of each [s].
    """
    return np.array([axis.elapsed_s[last] - axis.elapsed_s[first] for first, last in parts])


@dataclass(frozen=True, slots=True)
class Shown:
    """How long something lasted, as far as the record shows.

    Parameters
    ----------
    certain_s
        Time for which the record shows it [s].
    possible_s
        Time it lasted if it held through everything the record leaves open: gaps, missing values, a clock set back [s].
    parts
        How many stretches there were.
    """

    certain_s: float
    possible_s: float
    parts: int


def longest(mask: NDArray[np.bool_], unknown: NDArray[np.bool_], axis: TimeAxis, tolerated_gap_s: float) -> Shown:
    """Return how long a condition held at a stretch.

    Parameters
    ----------
    mask
        Whether the condition held at each sample, shape (n,).
    unknown
        Whether that cannot be told, shape (n,).
    axis
        The time axis of the n samples.
    tolerated_gap_s
        Longest interval between samples that does not break a stretch [s].

    Returns
    -------
    Shown
        The longest stretch.
    """
    parts = held(mask, axis, tolerated_gap_s)
    possible = duration_s(stretches(mask | unknown), axis)
    return Shown(float(duration_s(parts, axis).max(initial=0.0)), float(possible.max(initial=0.0)), len(parts))


def total(mask: NDArray[np.bool_], unknown: NDArray[np.bool_], axis: TimeAxis, tolerated_gap_s: float) -> Shown:
    """Return how long a condition held in all.

    Parameters
    ----------
    mask
        Whether the condition held at each sample, shape (n,).
    unknown
        Whether that cannot be told, shape (n,).
    axis
        The time axis of the n samples.
    tolerated_gap_s
        Longest interval between samples that does not break a stretch [s].

    Returns
    -------
    Shown
        The sum of all stretches.
    """
    parts = held(mask, axis, tolerated_gap_s)
    possible = duration_s(stretches(mask | unknown), axis)
    return Shown(float(duration_s(parts, axis).sum()), float(possible.sum()), len(parts))


def best_window(
    lowest: NDArray[np.float64], axis: TimeAxis, within: Stretch, length_s: float, tolerated_gap_s: float
) -> Stretch | None:
    """Find the stretch of a given length in which the lowest value is highest.

    Parameters
    ----------
    lowest
        Value that should be high, shape (n,), not-a-number where missing.
    axis
        The time axis of the n samples.
    within
        First and last sample to look at.
    length_s
        Length of the stretch [s].
    tolerated_gap_s
        Longest interval between samples that does not break a stretch [s].

    Returns
    -------
    tuple or None
        First and last position; None where no unbroken stretch is long enough.
    """
    usable = np.zeros(lowest.size, dtype=bool)
    usable[within[0] : within[1] + 1] = ~np.isnan(lowest[within[0] : within[1] + 1])
    parts = _held(usable, axis, tolerated_gap_s)
    first, last = compiled("window_highest")(lowest, axis.elapsed_s, parts, length_s)
    return None if first < 0 else (int(first), int(last))

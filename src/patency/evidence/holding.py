"""How long temperatures were held: stretches of time that gaps and the clock break."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.machine_code import compiled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.evidence.running import Stretch
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
    bounds = compiled("held_within")(mask, axis.elapsed_s, axis.clock_step, tolerated_gap_s)
    return [(first, last) for first, last in bounds.tolist()]


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


def longest(
    mask: NDArray[np.bool_],
    unknown: NDArray[np.bool_],
    axis: TimeAxis,
    tolerated_gap_s: float,
    within: Stretch | None = None,
) -> Shown:
    """Return how long a condition held at a stretch.

    Parameters
    ----------
    mask
        Whether the condition held at each sample of a part, shape (n,).
    unknown
        Whether that cannot be told, shape (n,).
    axis
        The time axis of all samples.
    tolerated_gap_s
        Longest interval between samples that does not break a stretch [s].
    within
        First and last sample of the part; all samples when left out.

    Returns
    -------
    Shown
        The longest stretch.
    """
    certain, possible, _, _, parts = _lasting(mask, unknown, axis, tolerated_gap_s, within)
    return Shown(certain, possible, parts)


def total(
    mask: NDArray[np.bool_],
    unknown: NDArray[np.bool_],
    axis: TimeAxis,
    tolerated_gap_s: float,
    within: Stretch | None = None,
) -> Shown:
    """Return how long a condition held in all.

    Parameters
    ----------
    mask
        Whether the condition held at each sample of a part, shape (n,).
    unknown
        Whether that cannot be told, shape (n,).
    axis
        The time axis of all samples.
    tolerated_gap_s
        Longest interval between samples that does not break a stretch [s].
    within
        First and last sample of the part; all samples when left out.

    Returns
    -------
    Shown
        The sum of all stretches.
    """
    _, _, certain, possible, parts = _lasting(mask, unknown, axis, tolerated_gap_s, within)
    return Shown(certain, possible, parts)


def _lasting(
    mask: NDArray[np.bool_],
    unknown: NDArray[np.bool_],
    axis: TimeAxis,
    tolerated_gap_s: float,
    within: Stretch | None,
) -> tuple[float, float, float, float, int]:
    first, last = within or (0, mask.size - 1)
    lasted: tuple[float, float, float, float, int] = compiled("lasting")(
        mask, unknown, axis.elapsed_s[first : last + 1], axis.clock_step[first:last], tolerated_gap_s
    )
    return lasted

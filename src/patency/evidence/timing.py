"""The time axis of a record: elapsed seconds from stamps that repeat, jump, wander and leave gaps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# An interval longer than this many usual intervals has lost at least one sample: with one sample lost it is 2 usual
# intervals long, with none lost it is 1, so the border lies half way and leaves jitter of half an interval its room.
GAP_FACTOR = 1.5


class Spacing(IntEnum):
    """What lies between a sample and the next."""

    USUAL = 0
    REPEATED = 1
    GAP = 2
    CLOCK_STEP = 3


@dataclass(frozen=True, eq=False)
class TimeAxis:
    """Elapsed time of the samples that have a place in it.

    Parameters
    ----------
    kept
        Positions of the samples with a usable stamp, ascending.
    elapsed_s
        Seconds from the first of them, never falling; a clock set back adds nothing.
    spacing
        One `Spacing` for each interval between kept samples.
    usual_s
        Usual interval: the median of the intervals that advance.
    """

    kept: NDArray[np.intp]
    elapsed_s: NDArray[np.float64]
    spacing: NDArray[np.int8]
    usual_s: float

    @cached_property
    def clock_step(self) -> NDArray[np.bool_]:
        """Whether the clock was set back between a sample and the next, shape (n - 1,)."""
        steps: NDArray[np.bool_] = self.spacing == np.int8(Spacing.CLOCK_STEP)
        return steps


def lay_out_time(stamps_s: NDArray[np.float64]) -> TimeAxis | None:
    """Lay out samples along elapsed time, from their stamps alone.

    A single stamp that stands out of order is set aside together with its sample. Where the clock was set back, the
    time in between is unknown and counts as nothing; the samples after it keep their own intervals. A clock set
    forward cannot be told from a gap and is one.

    Parameters
    ----------
    stamps_s
        Finite time stamps in the order of the record [s].

    Returns
    -------
    TimeAxis or None
        None when fewer than two samples remain or time never advances.

    Examples
    --------
    >>> axis = lay_out_time(np.array([0.0, 1.0, 2.0, 4.0, 4.0, 5.0, 2.0, 3.0]))
    >>> axis.elapsed_s.tolist(), axis.spacing.tolist()
    ([0.0, 1.0, 2.0, 4.0, 4.0, 5.0, 5.0, 6.0], [0, 0, 2, 1, 0, 3, 0])
    """
    kept = np.delete(np.arange(stamps_s.size), _stray(stamps_s))
    steps = np.diff(stamps_s[kept])
    advancing = steps[steps > 0]
    if not advancing.size:
        return None
    usual = float(np.median(advancing))
    spacing = np.full(steps.size, Spacing.USUAL, dtype=np.int8)
    spacing[steps == 0] = Spacing.REPEATED
    spacing[steps > GAP_FACTOR * usual] = Spacing.GAP
    spacing[steps < 0] = Spacing.CLOCK_STEP
    elapsed = np.concatenate(([0.0], np.cumsum(np.maximum(steps, 0.0))))
    return TimeAxis(kept, elapsed, spacing, usual)


def _stray(stamps_s: NDArray[np.float64]) -> list[int]:
    """Find single stamps out of order: with the sample left out, its neighbours are in order again."""
    stray: list[int] = []
    for before in np.flatnonzero(np.diff(stamps_s) < 0):
        after = int(before) + 1
        if after + 1 == stamps_s.size or stamps_s[after + 1] >= stamps_s[before]:
            stray.append(after)
        elif before == 0 or stamps_s[after] >= stamps_s[before - 1]:
            stray.append(int(before))
    return stray

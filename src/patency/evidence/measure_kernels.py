"""All that is to be found in the samples of one record, found in one run, written so that it can be compiled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.kernels import credit, held_within, lasting, longest_hole, longest_step, window_highest
from patency.evidence.level_kernels import ends_of_readings, in_band, lowest_and_highest

if TYPE_CHECKING:
    from numpy.typing import NDArray

# What can be asked for, and what is answered in its columns.
LONGEST_GAP = 0  # the longest time without a value of a sensor, or without a sample where none is named
EXTREMES = 1  # lowest and highest reading
TIME_WITHIN = 2  # of readings within a band, or of the samples: what `lasting` returns
CREDIT = 3  # what `credit` returns
BEST_WINDOW = 4  # first and last sample of the time in which the lowest reading is highest; -1 where there is none
TIME_RUNNING = 5  # of the pump, as `TIME_WITHIN`
ANSWERS = 5

# Where it is asked for: in a stage by its place among those found, or
WHOLE = -1
IN_WINDOW = -2  # in the window that was found last


def condition(
    kind: int,
    ends: tuple[NDArray[np.float64], NDArray[np.float64]],
    band: tuple[float, float],
    ran: NDArray[np.bool_],
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Tell at which samples of a stage what is asked held, and at which that cannot be told.

    Parameters
    ----------
    kind
        `TIME_RUNNING` or `TIME_WITHIN`.
    ends
        Lowest and highest readings, each of shape (n,); empty where the stage itself is asked for.
    band
        Lowest and highest value of the band.
    ran
        When the pump ran, shape (n,).

    Returns
    -------
    tuple
        Each of shape (n,).
    """
    if kind == TIME_RUNNING:
        return ran, np.zeros(ran.size, dtype=np.bool_)
    if ends[0].size:
        return in_band(ends[0], ends[1], band)
    return np.ones(ran.size, dtype=np.bool_), np.zeros(ran.size, dtype=np.bool_)


def numbers(
    asked: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]],
    spans: NDArray[np.int64],
    values: NDArray[np.float64],
    axis: tuple[NDArray[np.float64], NDArray[np.bool_], float, float],
    masks: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    counts: tuple[float, float, float],
) -> NDArray[np.float64]:
    """Find numbers in the samples of a record.

    Parameters
    ----------
    asked
        What, where, of which sensor and of which readings, shape (q, 4); two numbers that say more: the ends of a
        band, the length of a window, or from which temperature on a reading is none and what is taken off the others,
        shape (q, 2); by how much each sensor's readings are worsened, not-a-number where it is left out, shape (r, k).
    spans
        First and last sample of each stage found, shape (m, 2).
    values
        Readings, shape (k, n), not-a-number where missing.
    axis
        Elapsed time, shape (n,) [s]; whether the clock was set back behind a sample, shape (n - 1,); from which length
        on an interval is a gap, and up to which one is tolerated [s].
    masks
        Which samples are moist heat, and at which the pump ran, each of shape (n,).
    counts
        Reference temperature, z value and lowest temperature that counts [°C, K, °C].

    Returns
    -------
    numpy.ndarray
        Shape (q, 5), not-a-number where there is less to say.
    """
    what, more, worsened = asked
    elapsed_s, clock_step, gap_s, tolerated_s = axis
    moist, running = masks
    found = np.full((what.shape[0], ANSWERS), np.nan)
    nothing, never = np.empty(0), np.zeros(elapsed_s.size, dtype=np.bool_)
    low, high, known, window = nothing, nothing, -1, (-1, -1)
    for one in range(what.shape[0]):
        kind, place, sensor, readings = what[one, 0], what[one, 1], what[one, 2], what[one, 3]
        said = (more[one, 0], more[one, 1])
        first, last = 0, elapsed_s.size - 1
        if place >= 0:
            first, last = spans[place, 0], spans[place, 1]
        elif place == IN_WINDOW:
            first, last = window
        time_s, steps = elapsed_s[first : last + 1], clock_step[first:last]
        if readings >= 0 and readings != known:
            low, high = ends_of_readings(values, worsened[readings], elapsed_s, tolerated_s)
            known = readings
        if kind == LONGEST_GAP:
            found[one, 0] = longest_step(elapsed_s) if sensor < 0 else longest_hole(values[sensor], elapsed_s)
        elif kind == EXTREMES:
            found[one, 0], found[one, 1] = lowest_and_highest(values[sensor, first : last + 1])
        elif kind == CREDIT:
            gaps_s = (gap_s, tolerated_s)
            found[one, 0], found[one, 1] = credit(elapsed_s, clock_step, values[sensor], moist, counts, gaps_s, said)
        elif kind == BEST_WINDOW:
            part = low[first : last + 1]
            usable = held_within(~np.isnan(part), time_s, steps, tolerated_s)
            start, end = window_highest(part, time_s, usable, more[one, 0])
            window = (first + start, first + end) if start >= 0 else (-1, -1)
            found[one, 0], found[one, 1] = window
        else:
            ends = (low[first : last + 1], high[first : last + 1]) if readings >= 0 else (nothing, nothing)
            ran = running[first : last + 1] if kind == TIME_RUNNING and running.size else never[first : last + 1]
            lasted = lasting(*condition(kind, ends, said, ran), time_s, steps, tolerated_s)
            found[one, 0], found[one, 1], found[one, 2], found[one, 3], found[one, 4] = lasted
    return found

"""What is done to every sample of one signal or a few, written so that it can be compiled: levels, bands, rises.

Plain Python as it stands here; `patency.evidence.machine_code` hands it out compiled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def ends_of_readings(
    values: NDArray[np.float64], doubts: NDArray[np.float64], time_s: NDArray[np.float64], tolerated_gap_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the lowest and the highest of several sensors' readings, each worsened by its doubt, short holes filled.

    Parameters
    ----------
    values
        Readings, shape (k, n), not-a-number where missing; a short hole gets the worse of the values around it.
    doubts
        By how much each sensor's readings are worsened, shape (k,); not-a-number leaves the sensor out.
    time_s
        Elapsed time, shape (n,) [s].
    tolerated_gap_s
        Longest hole that is filled [s].

    Returns
    -------
    tuple
        Lowest and highest, each of shape (n,), not-a-number where one sensor shows none.
    """
    low, high = np.empty(time_s.size), np.empty(time_s.size)
    low[:], high[:] = np.inf, -np.inf
    for sensor in range(values.shape[0]):
        doubt, last = doubts[sensor], -1
        if np.isnan(doubt):
            continue
        missing = 0
        for now in range(time_s.size):
            missing += np.isnan(values[sensor, now])
        if missing == 0:  # nearly always, and then many samples are compared at once
            for now in range(time_s.size):
                cold, hot = values[sensor, now] - doubt, values[sensor, now] + doubt
                low[now] = min(low[now], cold)
                high[now] = max(high[now], hot)
            continue
        for now in range(time_s.size):
            value = values[sensor, now]
            if np.isnan(value):
                continue
            if now - last > 1:
                short = last >= 0 and time_s[now] - time_s[last] <= tolerated_gap_s
                cold = min(values[sensor, last], value) - doubt if short else np.nan
                hot = max(values[sensor, last], value) + doubt if short else np.nan
                for hole in range(last + 1, now):
                    low[hole] = np.minimum(low[hole], cold)  # not a number where one of them is none
                    high[hole] = np.maximum(high[hole], hot)
            low[now] = np.minimum(low[now], value - doubt)
            high[now] = np.maximum(high[now], value + doubt)
            last = now
        low[last + 1 :], high[last + 1 :] = np.nan, np.nan
    return low, high


def in_band(
    low: NDArray[np.float64], high: NDArray[np.float64], band: tuple[float, float]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Tell where readings lie within a band, and where that cannot be told.

    Parameters
    ----------
    low
        Lowest readings, shape (n,), not-a-number where missing.
    high
        Highest readings, shape (n,).
    band
        Lowest and highest value of the band.

    Returns
    -------
    tuple
        Inside, and unknown, each of shape (n,).
    """
    inside, unknown = np.zeros(low.size, dtype=np.bool_), np.zeros(low.size, dtype=np.bool_)
    for now in range(low.size):
        unknown[now] = np.isnan(low[now]) or np.isnan(high[now])
        inside[now] = low[now] >= band[0] and high[now] <= band[1]
    return inside, unknown


def lowest_and_highest(values: NDArray[np.float64]) -> tuple[float, float]:
    """Return the lowest and the highest value there is.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.

    Returns
    -------
    tuple
        Both not-a-number where there is none.
    """
    low, high = np.nan, np.nan
    for value in values:
        if not low <= value and not np.isnan(value):
            low = value
        if not high >= value and not np.isnan(value):
            high = value
    return low, high


def readings_within(
    values: NDArray[np.float64], elapsed_s: NDArray[np.float64], ends: tuple[int, int], share: tuple[float, float]
) -> NDArray[np.float64]:
    """Return the readings there are in a share of a part's time.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    elapsed_s
        Elapsed time, shape (n,), never falling [s].
    ends
        First and last position of the part.
    share
        Where to start and to end, as shares of its time.

    Returns
    -------
    numpy.ndarray
        In the order of time, shape (m,).
    """
    first, last = ends
    began = elapsed_s[first]
    lasted = elapsed_s[last] - began
    start, end = began + lasted * share[0], began + lasted * share[1]
    readings = np.empty(last + 1 - first)
    many = 0
    for now in range(first, last + 1):
        if start <= elapsed_s[now] <= end and not np.isnan(values[now]):
            readings[many] = values[now]
            many += 1
    return readings[:many]


def meter_counted(values: NDArray[np.float64]) -> tuple[int, float, bool]:
    """Tell what a meter counted from its first reading to its last.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.

    Returns
    -------
    tuple
        How many readings there are, the last less the first, and whether the meter ever ran backwards.
    """
    many, first, last, falls = 0, 0.0, 0.0, False
    for value in values:
        if np.isnan(value):
            continue
        if many == 0:
            first = value
        elif value < last:
            falls = True
        last = value
        many += 1
    return many, last - first, falls


def climb(
    values: NDArray[np.float64], elapsed_s: NDArray[np.float64], clock_step: NDArray[np.bool_], level: float
) -> tuple[bool, float, float]:
    """Tell how far and how long a signal climbed from its lowest value to a level, or to its highest below that.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    elapsed_s
        Elapsed time, shape (n,) [s].
    clock_step
        Whether the clock was set back between a sample and the next, shape (n - 1,).
    level
        The level.

    Returns
    -------
    tuple
        Whether that can be told, by how much it climbed and in which time [s].
    """
    many, top = 0, -1
    for now in range(values.size):
        if np.isnan(values[now]):
            continue
        many += 1
        if top < 0 or (values[top] < level and values[now] > values[top]):
            top = now
    if many < 2 or clock_step.any():
        return False, 0.0, 0.0
    low = -1
    for now in range(top + 1):
        if not np.isnan(values[now]) and (low < 0 or values[now] < values[low]):
            low = now
    return True, values[top] - values[low], elapsed_s[top] - elapsed_s[low]


def quantile(values: NDArray[np.float64], share: float) -> float:
    """Return the value below which a share of the values lies, between two of them by proportion.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    share
        The share, from 0 to 1.

    Returns
    -------
    float
        The same number as ``numpy.nanquantile``; not-a-number where there is no value.
    """
    present = values[~np.isnan(values)]
    if present.size == 0:
        return np.nan
    place = share * (present.size - 1)
    below = int(np.floor(place))
    above = min(below + 1, present.size - 1)
    parted = np.partition(present, below)
    low, high = float(parted[below]), float(parted[above:].min())
    part = place - below
    if part >= 0.5:
        return high - (high - low) * (1.0 - part)
    return low + (high - low) * part


def above_level(values: NDArray[np.float64], rest: float, level: float) -> NDArray[np.bool_]:
    """Tell where a signal lies above a level; a missing value repeats the state before.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    rest
        What the signal shows at rest.
    level
        The level above that.

    Returns
    -------
    numpy.ndarray
        Shape (n,).
    """
    above = np.zeros(values.size, dtype=np.bool_)
    state = level < 0.0
    for now in range(values.size):
        if not np.isnan(values[now]):
            state = values[now] - rest > level
        above[now] = state
    return above


def largest_rise(
    values: NDArray[np.float64], elapsed_s: NDArray[np.float64], clock_step: NDArray[np.bool_], within_s: float
) -> float:
    """Return by how much a signal rises at most from a sample to the last one within a time.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    elapsed_s
        Elapsed time, shape (n,) [s].
    clock_step
        Whether the clock was set back between a sample and the next, shape (n - 1,); no rise reaches over one.
    within_s
        The time [s].

    Returns
    -------
    float
        Not-a-number where there is no such pair of readings.
    """
    largest = np.nan
    last, broken = 0, -1  # the last sample within the time, and the last clock step before it
    for now in range(values.size):
        while last + 1 < values.size and elapsed_s[last + 1] <= elapsed_s[now] + within_s:
            if clock_step[last]:
                broken = last
            last += 1
        if last > now and broken < now:
            rise = values[last] - values[now]
            if not largest >= rise and not np.isnan(rise):
                largest = rise
    return largest


def about_lines(
    values: NDArray[np.float64],
    elapsed_s: NDArray[np.float64],
    stretches: NDArray[np.int64],
    settling_s: float,
    fewest: int,
) -> tuple[float, int, NDArray[np.float64]]:
    """Fit a straight line to each stretch of a signal by least squares.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    elapsed_s
        Elapsed time, shape (n,) [s].
    stretches
        First and last position of each stretch, shape (m, 2).
    settling_s
        What is left out at both ends of each [s].
    fewest
        Stretches with fewer readings are left out.

    Returns
    -------
    tuple
        Sum of the squared distances from the lines, how many readings lie about them, and these readings.
    """
    about, many = 0.0, 0
    readings, time = np.empty(values.size), np.empty(values.size)
    for stretch in range(stretches.shape[0]):
        first, last = stretches[stretch, 0], stretches[stretch, 1]
        start, end = elapsed_s[first] + settling_s, elapsed_s[last] - settling_s
        size = 0
        for now in range(first, last + 1):
            if start <= elapsed_s[now] <= end and not np.isnan(values[now]):
                readings[many + size] = values[now]
                time[many + size] = elapsed_s[now] - elapsed_s[first]
                size += 1
        if size < fewest:
            continue
        part, after = readings[many : many + size], time[many : many + size]
        off, late = part - part.mean(), after - after.mean()
        spread = (late * late).sum()
        slope = (late * off).sum() / spread if spread > 0 else 0.0
        for place in range(size):
            about += (off[place] - slope * late[place]) ** 2
        many += size
    return about, many, readings[:many].copy()

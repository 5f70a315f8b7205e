"""What is done to every sample of a record, written so that it can be compiled: lethal rates, holds, holes, stretches.

Judging one record and judging a whole archive again call the same kernels on the same numbers, so they agree to the
last bit. Plain Python as it stands here; `patency.evidence.machine_code` hands it out compiled.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def credit(
    elapsed_s: NDArray[np.float64],
    clock_step: NDArray[np.bool_],
    temperature_c: NDArray[np.float64],
    counted: NDArray[np.bool_],
    rate: tuple[float, float, float],
    gaps_s: tuple[float, float],
    doubt: tuple[float, float],
) -> tuple[float, float]:
    """Integrate a lethal rate over the samples that count.

    Parameters
    ----------
    elapsed_s
        Elapsed time, shape (n,) [s].
    clock_step
        Whether the clock was set back between a sample and the next, shape (n - 1,).
    temperature_c
        Temperatures, shape (n,), not-a-number where missing [°C].
    counted
        Which samples count, shape (n,).
    rate
        Reference temperature, z value and lowest temperature that counts [°C, K, °C].
    gaps_s
        From which length on an interval is a gap, and up to which one is tolerated [s].
    doubt
        Above which a reading counts as missing, and what is subtracted from each of the others [°C, K].

    Returns
    -------
    tuple
        The equivalent time at the reference temperature, and the part of it credited across gaps longer than tolerated
        [s].
    """
    reference_c, z_k, lowest_c = rate
    gap_s, tolerated_s = gaps_s
    highest_c, subtract_k = doubt
    whole, long = 0.0, 0.0
    before, last = 0.0, -1
    unbroken = True
    for now in range(temperature_c.size):
        if now > 0 and clock_step[now - 1]:
            unbroken = False
        if not counted[now]:
            unbroken = False
        if not temperature_c[now] <= highest_c:
            continue
        value = 0.0
        moist_c = temperature_c[now] - subtract_k
        if counted[now] and moist_c >= lowest_c:
            value = 10.0 ** ((moist_c - reference_c) / z_k)
        if last >= 0 and unbroken:
            length = elapsed_s[now] - elapsed_s[last]
            if length > gap_s:
                worth = min(before, value) * length
                if length > tolerated_s:
                    long += worth
            else:
                worth = 0.5 * (before + value) * length
            whole += worth
        before, last = value, now
        unbroken = bool(counted[now])
    return whole, long


def bounds_of_stretches(mask: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the first and last position of each unbroken stretch of True.

    Parameters
    ----------
    mask
        One value per sample, shape (n,).

    Returns
    -------
    numpy.ndarray
        Shape (m, 2), ascending, ends included.
    """
    many = 0
    for now in range(mask.size):
        if mask[now] and (now == 0 or not mask[now - 1]):
            many += 1
    bounds = np.empty((many, 2), dtype=np.int64)
    place = -1
    for now in range(mask.size):
        if mask[now]:
            if now == 0 or not mask[now - 1]:
                place += 1
                bounds[place, 0] = now
            bounds[place, 1] = now
    return bounds


def fill_holes(values: NDArray[np.float64], time_s: NDArray[np.float64], tolerated_gap_s: float) -> NDArray[np.float64]:
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
    result = values.copy()
    last = -1
    for now in range(values.size):
        if np.isnan(values[now]):
            continue
        if last >= 0 and now - last > 1 and time_s[now] - time_s[last] <= tolerated_gap_s:
            result[last + 1 : now] = min(values[last], values[now])
        last = now
    return result


def lasting(
    mask: NDArray[np.bool_],
    unknown: NDArray[np.bool_],
    elapsed_s: NDArray[np.float64],
    clock_step: NDArray[np.bool_],
    tolerated_gap_s: float,
) -> tuple[float, float, float, float, int]:
    """Tell how long a condition held, as far as a record shows.

    Parameters
    ----------
    mask
        Whether the condition held at each sample, shape (n,).
    unknown
        Whether that cannot be told, shape (n,).
    elapsed_s
        Elapsed time, shape (n,) [s].
    clock_step
        Whether the clock was set back between a sample and the next, shape (n - 1,).
    tolerated_gap_s
        Longest interval that does not break a stretch [s].

    Returns
    -------
    tuple
        Longest stretch, longest if it held through everything the record leaves open, sum of all stretches, sum
        likewise [s], and the number of stretches.
    """
    longest, whole, many = 0.0, 0.0, 0
    longest_possible, whole_possible = 0.0, 0.0
    began, possibly_began = -1, -1
    for now in range(mask.size):
        if mask[now] or unknown[now]:
            if possibly_began < 0:
                possibly_began = now
            if now + 1 == mask.size or not (mask[now + 1] or unknown[now + 1]):
                length = elapsed_s[now] - elapsed_s[possibly_began]
                longest_possible, whole_possible = max(longest_possible, length), whole_possible + length
                possibly_began = -1
        if not mask[now]:
            continue
        if began < 0:
            began, many = now, many + 1
        ends = now + 1 == mask.size or not mask[now + 1] or clock_step[now]
        if ends or elapsed_s[now + 1] - elapsed_s[now] > tolerated_gap_s:
            length = elapsed_s[now] - elapsed_s[began]
            longest, whole = max(longest, length), whole + length
            began = -1
    return longest, longest_possible, whole, whole_possible, many


def longest_hole(values: NDArray[np.float64], elapsed_s: NDArray[np.float64]) -> float:
    """Return the longest time without a value, from the value before to the value after.

    Parameters
    ----------
    values
        Shape (n,), not-a-number where missing.
    elapsed_s
        Elapsed time, shape (n,) [s].

    Returns
    -------
    float
        Negative where no value is missing [s].
    """
    longest, last = -1.0, 0
    missing = 0
    for now in range(values.size):
        missing += np.isnan(values[now])
    if missing == 0:  # nearly always, and counting takes many samples at once
        return longest
    for now in range(values.size):
        if not np.isnan(values[now]):
            if now > 0 and np.isnan(values[now - 1]):
                longest = max(longest, elapsed_s[now] - elapsed_s[last])
            last = now
    if values.size and np.isnan(values[-1]):
        longest = max(longest, elapsed_s[-1] - elapsed_s[last])
    return longest


def longest_step(elapsed_s: NDArray[np.float64]) -> float:
    """Return the longest time between a sample and the next.

    Parameters
    ----------
    elapsed_s
        Elapsed time, shape (n,) [s].

    Returns
    -------
    float
        Zero for a single sample [s].
    """
    longest = 0.0
    for now in range(1, elapsed_s.size):
        longest = max(longest, elapsed_s[now] - elapsed_s[now - 1])
    return longest


def held_within(
    mask: NDArray[np.bool_], elapsed_s: NDArray[np.float64], clock_step: NDArray[np.bool_], tolerated_gap_s: float
) -> NDArray[np.int64]:
    """Return the stretches in which a condition held, broken by long intervals and by the clock.

    Parameters
    ----------
    mask
        Whether the condition held at each sample, shape (n,).
    elapsed_s
        Elapsed time, shape (n,) [s].
    clock_step
        Whether the clock was set back between a sample and the next, shape (n - 1,).
    tolerated_gap_s
        Longest interval that does not break a stretch [s].

    Returns
    -------
    numpy.ndarray
        First and last position of each, shape (m, 2).
    """
    bounds = np.empty((mask.size, 2), dtype=np.int64)
    many = 0
    going = False
    for now in range(mask.size):
        if not mask[now]:
            going = False
            continue
        if going and not clock_step[now - 1] and elapsed_s[now] - elapsed_s[now - 1] <= tolerated_gap_s:
            bounds[many - 1, 1] = now
        else:
            bounds[many, 0] = bounds[many, 1] = now
            many += 1
        going = True
    return bounds[:many].copy()


def window_highest(
    lowest: NDArray[np.float64], time_s: NDArray[np.float64], parts: NDArray[np.int64], length_s: float
) -> tuple[int, int]:
    """Find the window of a given length in which the lowest value is highest.

    Parameters
    ----------
    lowest
        Value that should be high, shape (n,); no value is missing in the parts.
    time_s
        Elapsed time, shape (n,) [s].
    parts
        First and last position of each part in which a window may lie, shape (m, 2).
    length_s
        Length of the window [s].

    Returns
    -------
    tuple
        First and last position of the first such window; -1 twice where no part is long enough.
    """
    best, start, end = -np.inf, -1, -1
    queue = np.empty(lowest.size, dtype=np.int64)  # positions whose values rise, the lowest of the window in front
    for part in range(parts.shape[0]):
        first, last = parts[part, 0], parts[part, 1]
        head, tail, until = 0, 0, first
        for begin in range(first, last + 1):
            wanted = time_s[begin] + length_s * (1 - 1e-12)
            while until <= last and (until <= begin or time_s[until - 1] < wanted):
                while tail > head and lowest[queue[tail - 1]] >= lowest[until]:
                    tail -= 1
                queue[tail] = until
                tail += 1
                until += 1
            if time_s[until - 1] < wanted:
                break
            while queue[head] < begin:
                head += 1
            if start < 0 or lowest[queue[head]] > best:
                best, start, end = lowest[queue[head]], begin, until - 1
    return start, end

"""Where the clock of a second recorder lies against the first: offset and drift from the signals both have.

The offset is found by cross-correlation of how fast the signals change (J. S. Bendat and A. G. Piersol, Random Data,
2010, chapter 5), then offset and drift together by least squares, each pair of sensors with a difference of its own so
that a sensor's error is not taken for time. Residuals of neighbouring samples hang together, which is counted in the
uncertainty as that many fewer samples (G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc. Suppl. 8, 1946, 184-197).
A sensor that follows more slowly than its fellow looks like one whose clock is late.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.evidence.record import CycleRecord, Trace

# Choices of method. Signals alike by less than this are not taken for the same course; a second place in time nearly as
# good as the best, farther from it than two minutes, leaves it open which is meant.
_LEAST_LIKENESS = 0.6
_NEARLY = 0.95
_APART_S = 120.0
_LEAST_COMMON = 0.3  # share of the signals' change that has to lie where both record
_ROUNDS = 20
_MOST_STEPS = 2**19  # of a record: six days at one a second; one stamp far off would else take all memory
_FEWEST = 40  # samples from which a signal tells time
_HUBER = 1.5  # residuals beyond this many robust standard deviations count less (P. J. Huber, 1964)


@dataclass(frozen=True, slots=True)
class Alignment:
    """How the time of the second recorder becomes that of the first: time + offset + drift × time.

    Parameters
    ----------
    offset_s
        What to add at the second recorder's first sample [s].
    offset_u_s
        Expanded (k = 2) uncertainty [s].
    drift
        How much faster the first clock runs, as a share.
    drift_u
        Expanded (k = 2) uncertainty.
    likeness
        Correlation of the signals' rates of change at the best offset.
    """

    offset_s: float
    offset_u_s: float
    drift: float
    drift_u: float
    likeness: float

    def first_time(self, second_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return times of the second recorder on the axis of the first.

        Parameters
        ----------
        second_s
            Times since its first sample [s].

        Returns
        -------
        numpy.ndarray
            Times since the first recorder's first sample, same shape [s].
        """
        return second_s + self.offset_s + self.drift * second_s

    def uncertainty_s(self, second_s: float) -> float:
        """Return how sure a time is on the axis of the first recorder.

        Parameters
        ----------
        second_s
            Time since the second recorder's first sample [s].

        Returns
        -------
        float
            Expanded (k = 2) uncertainty, as if offset and drift went wrong together [s].
        """
        return self.offset_u_s + self.drift_u * abs(second_s)


def common_pairs(first: CycleRecord, second: CycleRecord) -> list[tuple[Trace, Trace]]:
    """Pair the sensors of two recorders that measure the same at the same place.

    Parameters
    ----------
    first
        One record.
    second
        The other.

    Returns
    -------
    list
        Pairs of equal quantity, place and, for pressures, reference.
    """
    return [
        (one, other)
        for one in first.traces.values()
        for other in second.traces.values()
        if one.quantity == other.quantity
        and one.place.casefold() == other.place.casefold()
        and one.gauge == other.gauge
        and one.quantity != "dosed volume"
    ]


def align(first: CycleRecord, second: CycleRecord) -> Alignment | str:
    """Find offset and drift of the second recorder's clock.

    Parameters
    ----------
    first
        The record whose time counts.
    second
        The other; only elapsed time is used, so a clock that stands wrong altogether does not matter.

    Returns
    -------
    Alignment or str
        The reason where it cannot be found.
    """
    pairs = common_pairs(first, second)
    if not pairs:
        return "no sensor of both measures the same at the same place"
    step = max(first.axis.usual_s, second.axis.usual_s)
    found = _coarse(first.time_s, second.time_s, pairs, step)
    if isinstance(found, str):
        return found
    return _refined(first.time_s, second.time_s, pairs, found, step)


def _known(time_s: NDArray[np.float64], trace: Trace) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    usable = ~np.isnan(trace.values)
    usable[1:] &= np.diff(time_s) > 0  # a repeated stamp has no place of its own
    return time_s[usable], trace.values[usable]


def _rates(time_s: NDArray[np.float64], trace: Trace, step: float, length: int) -> NDArray[np.float64]:
    """Return the signal's change from step to step, with mean zero and unit length, ends filled with nothing."""
    time, values = _known(time_s, trace)
    grid = np.arange(length) * step
    course = np.interp(grid, time, values)
    width = min(length, max(1, round(10.0 / step)))
    smooth = np.convolve(course, np.ones(width) / width, mode="same")
    rates = np.gradient(smooth)
    rates[(grid < time[0] + width * step) | (grid > time[-1] - width * step)] = 0.0
    return rates


def _lagged(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sums of products of two courses at each lag of the second, from all before the first on."""
    whole = a.size + b.size - 1
    size = 1 << (whole - 1).bit_length()
    product = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size)
    return np.concatenate((product[size - b.size + 1 :], product[: a.size]))


def _coarse(
    first_s: NDArray[np.float64], second_s: NDArray[np.float64], pairs: Sequence[tuple[Trace, Trace]], step: float
) -> tuple[float, float] | str:
    """Return the offset at which the signals are most alike, and how much."""
    sizes = int(first_s[-1] / step) + 1, int(second_s[-1] / step) + 1
    if max(sizes) > _MOST_STEPS:
        return f"a record lasts {max(first_s[-1], second_s[-1]) / 3600:.6g} h, which is no cycle at its usual interval"
    together = np.zeros(sum(sizes) - 1)
    used = 0
    for one, other in pairs:
        if min(_known(first_s, one)[0].size, _known(second_s, other)[0].size) < _FEWEST:
            continue
        a, b = _rates(first_s, one, step, sizes[0]), _rates(second_s, other, step, sizes[1])
        least = _LEAST_COMMON * float(np.sqrt((a @ a) * (b @ b)))
        if least == 0.0:
            continue
        # How much each changes where both record: a logger that was on for a part of the cycle is judged by that part.
        common = np.sqrt(np.maximum(_lagged(a**2, np.ones(sizes[1])) * _lagged(np.ones(sizes[0]), b**2), 0.0))
        together += _lagged(a, b) / np.maximum(common, least)
        used += 1
    if not used:
        return "no common signal changes enough to tell time by"
    together /= used
    best = int(np.argmax(together))
    apart = round(_APART_S / step)
    others = np.concatenate((together[: max(0, best - apart)], together[best + apart + 1 :]))
    if together[best] < _LEAST_LIKENESS:
        return f"the common signals do not follow the same course (likeness {together[best]:.2f})"
    if others.size and others.max() > _NEARLY * together[best]:
        return "the common signals fit at more than one place in time"
    return (best - sizes[1] + 1) * step, float(together[best])


def _refined(
    first_s: NDArray[np.float64],
    second_s: NDArray[np.float64],
    pairs: Sequence[tuple[Trace, Trace]],
    coarse: tuple[float, float],
    step: float,
) -> Alignment | str:
    offset, drift = coarse[0], 0.0
    known = [(_known(first_s, one), _known(second_s, other)) for one, other in pairs]
    for _ in range(_ROUNDS):
        parts = [part for (first, second) in known if (part := _compared(first, second, offset, drift, step))]
        if not parts:
            return "no sensor of both has enough readings at the same time"
        rows, off, weight, minute = (np.concatenate(column) for column in zip(*parts, strict=True))
        normal = rows.T @ (rows * weight[:, None])
        change = np.linalg.lstsq(normal, rows.T @ (off * weight), rcond=None)[0]
        offset, drift = offset + float(change[0]), drift + float(change[1])
        if abs(change[0]) < 1e-4 and abs(change[1]) * second_s[-1] < 1e-4:
            break
    left = (rows * (weight * (off - rows @ change))[:, None]).T
    told, place = np.unique(minute, return_inverse=True)
    sums = np.stack([np.bincount(place, weights=one) for one in left])
    inverse = np.linalg.pinv(normal)
    minutes = told.size
    covariance = inverse @ (sums @ sums.T) @ inverse * minutes / max(minutes - 2, 1)
    sure = 2.0 * np.sqrt(np.diag(covariance))
    # Between two samples nothing is known of the signal's bend: a stamp is no finer than the step in which they come,
    # and how the steps of both fall together wanders through the record as their clocks do.
    grain = step / np.sqrt(12.0)
    return Alignment(
        offset, float(np.hypot(sure[0], grain)), drift, float(np.hypot(sure[1], grain / second_s[-1])), coarse[1]
    )


def _compared(
    first: tuple[NDArray[np.float64], NDArray[np.float64]],
    second: tuple[NDArray[np.float64], NDArray[np.float64]],
    offset: float,
    drift: float,
    step: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.intp]] | None:
    """Compare one pair: how its difference goes with offset and drift, the difference, its weight, its minute."""
    (time_a, a), (time_b, b) = first, second
    if min(time_a.size, time_b.size) < _FEWEST:
        return None
    at = time_b + offset + drift * time_b
    inside = (at > time_a[0] + step) & (at < time_a[-1] - step)
    if inside.sum() < _FEWEST:
        return None
    at, own = at[inside], time_b[inside]
    off = b[inside] - np.interp(at, time_a, a)
    off -= np.median(off)
    slope = (np.interp(at + step, time_a, a) - np.interp(at - step, time_a, a)) / (2.0 * step)
    noise = max(1.4826 * float(np.median(np.abs(off))), 1e-12 + 1e-6 * float(np.ptp(a)))
    off /= noise
    weight = np.minimum(1.0, _HUBER / np.maximum(np.abs(off), 1e-12))
    # The constant difference of the two sensors is taken off by centring slope and difference alike.
    rows = np.column_stack((slope, slope * own)) / noise
    rows -= np.average(rows, axis=0, weights=weight)
    off -= np.average(off, weights=weight)
    return rows, off, weight, (at // 60.0).astype(np.intp)

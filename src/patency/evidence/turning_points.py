"""Where in a pause of the circulation one stage ends and the next begins: where the signals leave their course.

A machine drains, then fills. While it drains nothing new reaches the sensors; from the first fresh water or warm air on
they move. All pauses of a record are of one machine, so they share one draining time, give or take a little: pauses
in which nothing moves, such as between two cold rinses, take it from those in which something does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.evidence.running import Stretch

# Choices of method, held to simulated cycles: a reading that lies on the line before it costs its squared distance in
# standard deviations, halved; one that is left to the next stage costs as much as one 2.4 standard deviations off.
_COST_OF_NEXT = 3.0
_SPREAD_S = 3.0
_BEFORE_S = 10.0
_SHARP = 50.0
_SHARP_WITHIN_S = 2.0
_FEWEST = 4
_LONGEST_S = 3600.0  # no machine drains for longer; a clock set forward in a pause would else take all memory


def turning_points(
    time_s: NDArray[np.float64], signals: Sequence[NDArray[np.float64]], pauses: Sequence[Stretch]
) -> list[int]:
    """Find in each pause the first sample of the next stage.

    Parameters
    ----------
    time_s
        Elapsed time, shape (n,) [s].
    signals
        Temperatures and conductivities, each of shape (n,), not-a-number where missing.
    pauses
        First and last sample of each pause.

    Returns
    -------
    list
        One position for each pause, within it.
    """
    if not pauses:
        return []
    noises = [_noise(signal) for signal in signals]
    signals = [_without_strays(signal) for signal in signals]
    longest_s = min(_LONGEST_S, *(float(time_s[last] - time_s[first]) for first, last in pauses))
    trials = np.arange(0.0, longest_s + 1.0)
    costs = [_cost_of_each(time_s, signals, noises, first, longest_s) for first, _ in pauses]
    shared = np.sum([np.interp(trials, after, cost) for after, cost in costs], axis=0)
    drained_s = float(trials[int(np.argmin(shared))])
    if np.ptp(shared) == 0 or drained_s >= trials[-1]:  # nothing moved in any pause
        drained_s = longest_s / 2
    own = np.array([float(after[int(np.argmin(cost))]) if np.ptp(cost) > 0 else drained_s for after, cost in costs])
    # A turn that comes much later than the earliest ones began too gently to be seen; one before them is a stray one.
    sharp = np.array([_sharp(after, cost) for after, cost in costs]) & (np.abs(own - drained_s) <= 2 * _SPREAD_S)
    usual_s = float(np.median(own[sharp])) if sharp.any() else drained_s
    turns_s = np.where(sharp & (np.abs(own - usual_s) <= _SPREAD_S), own, usual_s)
    return [
        first + int(np.argmin(np.abs(after - turn_s)))
        for (first, _), (after, _), turn_s in zip(pauses, costs, turns_s, strict=True)
    ]


def _sharp(after_s: NDArray[np.float64], cost: NDArray[np.float64]) -> bool:
    """Tell whether a turn is so sharp that its moment can be trusted: leaving it out for a moment costs much."""
    own = int(np.argmin(cost))
    later = np.flatnonzero(after_s >= after_s[own] + _SHARP_WITHIN_S)
    return bool(later.size and cost[later[0]] > cost[own] + _SHARP)


def _cost_of_each(
    time_s: NDArray[np.float64],
    signals: Sequence[NDArray[np.float64]],
    noises: Sequence[float],
    first: int,
    longest_s: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the seconds after a pause began, and the cost that the next stage begins with each of these samples."""
    start = int(np.searchsorted(time_s, time_s[first] - _BEFORE_S))
    end = int(np.searchsorted(time_s, time_s[first] + longest_s + 3 * _SPREAD_S, side="right"))
    cost = np.zeros(end - start)
    for signal, noise in zip(signals, noises, strict=True):
        if noise > 0:
            cost += _cost(time_s[start:end], signal[start:end] / noise)
    return time_s[first:end] - time_s[first], cost[first - start :]


def _without_strays(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the median of each reading and its neighbours, so that a single stray one bends no course."""
    three = np.stack([np.concatenate((signal[:1], signal[:-1])), signal, np.concatenate((signal[1:], signal[-1:]))])
    whole = ~np.isnan(three).any(axis=0)
    return np.where(whole, np.median(np.where(whole, three, 0.0), axis=0), np.nan)


def _noise(signal: NDArray[np.float64]) -> float:
    """Return the standard deviation of a signal's noise from its steps, of which most are noise alone."""
    steps = np.abs(np.diff(signal))
    steps = steps[~np.isnan(steps)]
    if not steps.size:
        return 0.0
    moving = steps[steps > 1e-6 * np.nanmax(np.abs(signal))]
    smallest = float(moving.min()) if moving.size else 0.0
    return float(max(1.4826 * np.median(steps) / 2.0**0.5, smallest))


def _cost(time_s: NDArray[np.float64], scaled: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the cost that the next stage begins with each sample: distance from the line before, readings after."""
    known = ~np.isnan(scaled)
    values, time = np.where(known, scaled, 0.0), np.where(known, time_s - time_s[0], 0.0)
    values = np.where(known, values - values[np.argmax(known)], 0.0)
    n, t, v = np.cumsum(known), np.cumsum(time), np.cumsum(values)
    tt, tv, vv = np.cumsum(time * time), np.cumsum(time * values), np.cumsum(values * values)
    enough = np.maximum(n, 1)
    spread_t, spread_v, both = tt - t * t / enough, vv - v * v / enough, tv - t * v / enough
    slope = np.divide(both, spread_t, out=np.zeros_like(both), where=spread_t > 0)
    left = np.maximum(spread_v - slope * both, 0.0)
    before = np.concatenate(([0.0], np.where(n >= _FEWEST, left, 0.0)[:-1]))
    after = known.sum() - np.concatenate(([0], n[:-1]))
    cost: NDArray[np.float64] = 0.5 * before + _COST_OF_NEXT * after
    return cost

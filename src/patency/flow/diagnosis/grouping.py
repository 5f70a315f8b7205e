"""Puts together what the sensors cannot tell apart, so that no probability splits where the readings do not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.diagnosis.weighing import Weighing

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]
    Bools = NDArray[np.bool_]

# Causes nearer to each other than this many standard deviations are not told apart: at that distance a test that is
# to be wrong in one of a hundred cycles notices the change in less than one of twenty-five.
NOT_TOLD_APART = 0.5
_NONE = -1
_AS_PLANNED = 0
# Hypotheses less probable than this keep the groups of their own causes without a look at what they resemble.
_LEAST_LOOKED_AT = 1e-8


class Grouping:
    """Which named causes go together, given what was observed.

    What comes in degrees stands for this with its step that is the most probable now. Two causes are in one group when
    a chain of causes leads from one to the other, each nearer to the next than `NOT_TOLD_APART`, and the same arms
    stand. So two that cannot be told apart are never in different groups; the ends of a long chain may differ.

    Parameters
    ----------
    weighing
        The hypotheses.
    posterior
        Shape (hypotheses,): their probabilities.
    """

    def __init__(self, weighing: Weighing, posterior: Floats) -> None:
        first, second, _, points = weighing.hypotheses
        alone = np.flatnonzero(second == 0)
        chosen = _most_probable(weighing.name_of[first[alone]], posterior[alone], len(weighing.names))
        names = np.flatnonzero(chosen != _NONE)
        place = alone[chosen[names]]
        self._points, self._stands = points[place], weighing.stands[first[place]]
        self._labels = _chained(self._points, self._stands)
        self._group_of_name = np.full(len(weighing.names), _NONE, dtype=np.int64)
        self._group_of_name[names] = self._labels
        self.members = tuple(tuple(names[self._labels == label].tolist()) for label in range(self._labels.max() + 1))
        self.keys = self._of_causes(weighing.name_of[first], weighing.name_of[second])
        looked_at = np.flatnonzero((posterior > _LEAST_LOOKED_AT) & (self.keys[:, 1] != _NONE))
        stands = weighing.stands[first[looked_at]] | weighing.stands[second[looked_at]]
        self.keys[looked_at] = self._resembling(points[looked_at], stands, self.keys[looked_at])

    def sums(self, posterior: Floats) -> tuple[Integers, Floats]:
        """Sum the probabilities of what belongs to one explanation.

        Parameters
        ----------
        posterior
            Shape (hypotheses,): their probabilities [-].

        Returns
        -------
        tuple[NDArray, NDArray]
            Shape (explanations, 2): one group and -1, or two groups, the most probable first; and shape
            (explanations,): the probability of each [-].
        """
        width = len(self.members) + 1
        codes, place = np.unique(self.keys[:, 0] * width + self.keys[:, 1] + 1, return_inverse=True)
        sums: Floats = np.bincount(place.ravel(), weights=posterior).astype(np.float64)
        order = np.argsort(-sums, kind="stable")
        return np.stack([codes // width, codes % width - 1], axis=1)[order], sums[order]

    def key_of_pair(self, names: tuple[int, int], point: Floats, stands: Bools) -> tuple[int, int]:
        """Say to which explanation two causes belong.

        Parameters
        ----------
        names
            Numbers of the two names; the second as planned for one cause alone.
        point
            Shape (columns,): what both show, in standard deviations from as planned [-].
        stands
            Shape (arms,): which arms stand.

        Returns
        -------
        tuple[int, int]
            One group and -1, or two groups.
        """
        key = self._of_causes(np.array(names[:1]), np.array(names[1:]))
        if key[0, 1] != _NONE:
            key = self._resembling(point[None], stands[None], key)
        return int(key[0, 0]), int(key[0, 1])

    def _of_causes(self, first: Integers, second: Integers) -> Integers:
        """Name the groups of two causes; one that shows no more than as planned is left out."""
        one, other = self._group_of_name[first], self._group_of_name[second]
        low, high = np.minimum(one, other), np.maximum(one, other)
        single = low == _AS_PLANNED
        return np.stack([np.where(single, high, low), np.where(single, _NONE, high)], axis=1)

    def _resembling(self, points: Floats, stands: Bools, keys: Integers) -> Integers:
        """Put two causes that show together what one alone may show to the group of that one."""
        square = (points**2).sum(axis=1)[:, None] - 2.0 * points @ self._points.T + (self._points**2).sum(axis=1)
        square[_coded(stands)[:, None] != _coded(self._stands)] = np.inf
        nearest = square.argmin(axis=1)
        near = square[np.arange(points.shape[0]), nearest] < NOT_TOLD_APART**2
        alone = np.stack([self._labels[nearest], np.full(points.shape[0], _NONE)], axis=1)
        return np.asarray(np.where(near[:, None], alone, keys))


def _coded(stands: Bools) -> Integers:
    """Number each pattern of standing arms."""
    return np.asarray(stands @ (1 << np.arange(stands.shape[1], dtype=np.int64)))


def _most_probable(name: Integers, probability: Floats, count: int) -> Integers:
    """Find the most probable step of each name; -1 where none has any."""
    best = np.full(count, _NONE, dtype=np.int64)
    for place in np.argsort(probability, kind="stable"):
        best[name[place]] = place
    return best


def _chained(points: Floats, stands: Bools) -> Integers:
    """Number the chains; the first point is in the first."""
    count = points.shape[0]
    labels = np.full(count, _NONE, dtype=np.int64)
    label = 0
    for start in range(count):
        if labels[start] != _NONE:
            continue
        labels[start], waiting = label, [start]
        while waiting:
            here = waiting.pop()
            near = np.linalg.norm(points - points[here], axis=1) < NOT_TOLD_APART
            new = np.flatnonzero(near & (stands == stands[here]).all(axis=1) & (labels == _NONE))
            labels[new] = label
            waiting += new.tolist()
        label += 1
    return labels

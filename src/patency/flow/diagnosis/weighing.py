"""Weighs every single cause and every two of them against what was observed, by Bayes.

The model's doubts are taken as normal and of first order about the load as planned, with the same covariance whatever
the cause. What that leaves out shows in the calibration: docs/diagnosis.md.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from patency.flow.diagnosis.signatures import Signatures

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

_MOST_LIKELY = 0.999  # a rate of one would leave no odds


class Hypotheses(NamedTuple):
    """Every cause alone and every two together.

    Parameters
    ----------
    first, second
        Shape (hypotheses,): the causes' places among the signatures; second 0, which is as planned, for one alone.
    log_prior
        Shape (hypotheses,): logarithm of the probability before anything is observed.
    points
        Shape (hypotheses, columns): what is shown, in standard deviations from as planned.
    """

    first: Integers
    second: Integers
    log_prior: Floats
    points: Floats


class Weighing:
    """The hypotheses about one load with the sensors that were read.

    Parameters
    ----------
    signatures
        What each cause shows.
    arms
        The arms that have a sensor.
    arm_misread
        Probability that such a sensor tells the wrong thing [-].
    """

    def __init__(self, signatures: Signatures, arms: tuple[str, ...], arm_misread: float) -> None:
        self.signatures = signatures
        self.arms = arms
        self._misread = arm_misread
        self._factor = np.linalg.cholesky(signatures.covariance)
        names = [cause.name for cause in signatures.causes]
        numbers: dict[str, int] = {}
        self.name_of = np.array([numbers.setdefault(name, len(numbers)) for name in names], dtype=np.int64)
        self.names = tuple(numbers)
        self.stands = np.array([[cause.arm == arm for arm in arms] for cause in signatures.causes], dtype=bool).reshape(
            len(names), len(arms)
        )
        self.hypotheses = self._all()

    def whitened(self, shown: Floats) -> Floats:
        """Turn readings into standard deviations from as planned.

        Parameters
        ----------
        shown
            Shape (..., columns) [Pa or m³/s].

        Returns
        -------
        NDArray
            The same shape [-]; as planned is nothing but zeros.
        """
        off = np.asarray(shown) - self.signatures.planned
        return np.asarray(np.linalg.solve(self._factor, off.reshape(-1, off.shape[-1]).T).T.reshape(off.shape))

    def _all(self) -> Hypotheses:
        signatures = self.signatures
        rate = np.array([min(cause.probability, _MOST_LIKELY) for cause in signatures.causes])
        odds = np.where(np.arange(rate.size) == 0, 1.0, rate / (1.0 - rate))
        one, other = np.triu_indices(rate.size, 1)
        two = (one > 0) & (self.name_of[one] != self.name_of[other])
        single = np.arange(rate.size)
        first = np.concatenate((single, one[two]))
        second = np.concatenate((np.zeros_like(single), other[two]))
        weight = odds[first] * odds[second]
        keep = weight > 0.0
        first, second, weight = first[keep], second[keep], weight[keep]
        points = self.whitened(signatures.shown(first, second))
        return Hypotheses(first, second, np.log(weight / weight.sum()), points)

    def posterior(self, observed: Floats, standing: NDArray[np.bool_]) -> Floats:
        """Weigh every hypothesis against what was observed.

        Parameters
        ----------
        observed
            Shape (columns,): the readings in standard deviations from as planned [-].
        standing
            Shape (arms,): whether each arm stood.

        Returns
        -------
        NDArray
            Shape (hypotheses,): probabilities that sum to one.
        """
        first, second, log_prior, points = self.hypotheses
        log = log_prior + self._log_likelihood(((points - observed) ** 2).sum(axis=1))
        told_right = (self.stands[first] | self.stands[second]) == standing
        log += np.log(np.array([self._misread, 1.0 - self._misread]))[told_right.astype(np.int64)].sum(axis=1)
        weight = np.exp(log - log.max())
        return np.asarray(weight / weight.sum())

    def _log_likelihood(self, squares: Floats) -> Floats:
        """Normal where the covariance is known, Student's where it was estimated."""
        freedom = self.signatures.freedom
        if math.isinf(freedom):
            return np.asarray(-0.5 * squares)
        size = len(self.signatures.columns)
        return np.asarray(-0.5 * (freedom + size) * np.log1p(squares / freedom))

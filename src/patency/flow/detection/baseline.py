"""A baseline: what the sensors showed in earlier cycles of the same load in the same machine, without fault.

Held against it, a reading is uncertain only by what scatters from cycle to cycle, and that is measured. Few cycles make
the alarm blunt, and both its threshold and its power say so: the mean and the covariance are themselves estimates.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.detection.alarm import detection_probabilities, squared_distances
from patency.flow.detection.doubts import stage_means
from patency.flow.numerics import estimated_chance_above

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_NO_SCATTER = 1e-9  # of the mean: readings that repeat so well were not measured, or rounded until nothing was left


@dataclass(frozen=True, slots=True)
class Expected:
    """What readings of a further cycle without fault are held against.

    Parameters
    ----------
    mean
        Shape (readings,) [Pa or m³/s].
    covariance
        Shape (readings, readings): scale of the distribution of a further cycle's readings, which is Student's.
    freedom
        Its degrees of freedom [-].
    """

    mean: Floats
    covariance: Floats
    freedom: float


@dataclass(frozen=True, eq=False)
class Baseline:
    """Readings of earlier cycles of one load kind in one machine.

    Parameters
    ----------
    machine
        The machine.
    columns
        Wet stage and sensor of each reading of a cycle.
    readings
        Shape (cycles, columns) [Pa or m³/s].
    records
        The digest of each cycle's record.
    """

    machine: str
    columns: tuple[tuple[str, str], ...]
    readings: Floats
    records: tuple[str, ...]

    @property
    def name(self) -> str:
        """What is compared with what."""
        return f"against a baseline of {self.cycles} earlier cycles of the same load in {self.machine}"

    @property
    def cycles(self) -> int:
        """How many cycles."""
        return int(self.readings.shape[0])

    @property
    def sensors(self) -> tuple[str, ...]:
        """The sensors, each once."""
        return tuple(dict.fromkeys(sensor for _, sensor in self.columns))

    @property
    def mean(self) -> Floats:
        """Shape (columns,): mean of each reading [Pa or m³/s]."""
        return np.asarray(self.readings.mean(axis=0))

    @property
    def scatter(self) -> Floats:
        """Shape (columns,): standard deviation of each reading from cycle to cycle [Pa or m³/s]."""
        return np.asarray(self.readings.std(axis=0, ddof=1))

    @property
    def why_not_for_the_alarm(self) -> str:
        """Why the alarm cannot be raised against it; empty where it can."""
        return self._of_sensors[1]

    def picking(self, columns: Sequence[tuple[str, str]]) -> Floats:
        """Weigh the baseline's readings so that some of them come out.

        Parameters
        ----------
        columns
            Stage and sensor of each, all of them the baseline's.

        Returns
        -------
        NDArray
            Shape (these columns, columns) [-].
        """
        return np.array([[column == each for each in self.columns] for column in columns], dtype=np.float64)

    def why_not(self, weights: Floats | None = None) -> str:
        """Say why nothing can be held against this baseline.

        Parameters
        ----------
        weights
            As in `expected`.

        Returns
        -------
        str
            The reason; empty where it can be used.
        """
        sums = self.readings if weights is None else self.readings @ weights.T
        least = sums.shape[1] + 1
        if self.cycles < least:
            return f"a baseline of {self.cycles} cycles, of {least} at least for {sums.shape[1]} readings"
        scale = np.abs(sums.mean(axis=0)) + np.finfo(float).tiny
        singular = np.linalg.svd((sums - sums.mean(axis=0)) / scale, compute_uv=False)
        if singular.min() < _NO_SCATTER:
            return "the readings of the baseline do not scatter, so they were not measured independently"
        return ""

    def expected(self, weights: Floats | None = None) -> Expected:
        """Say what a further cycle without fault shows.

        Parameters
        ----------
        weights
            Shape (sums, columns): which weighted sums of readings are asked for; None for the readings themselves [-].

        Returns
        -------
        Expected
            Mean, scale and freedom; only where `why_not` finds no reason against it.

        Notes
        -----
        For n cycles and p readings, normal and independent from cycle to cycle, a further cycle's readings less the
        mean are Student's with n - p degrees of freedom and the scale (n - 1)(n + 1) / (n (n - p)) times the covariance
        found (A. Gelman and others, Bayesian Data Analysis, 3rd edition 2013, 3.6, from memory, not verified); that
        their squared distance over p is F of p and n - p is H. Hotelling's result (1931).
        """
        sums = self.readings if weights is None else self.readings @ weights.T
        count, size = sums.shape
        found = np.atleast_2d(np.cov(sums, rowvar=False))
        return Expected(
            mean=np.asarray(sums.mean(axis=0)),
            covariance=np.asarray(found * (count - 1.0) * (count + 1.0) / (count * (count - size))),
            freedom=float(count - size),
        )

    @cached_property
    def _of_sensors(self) -> tuple[Floats, str, Expected | None]:
        """What the alarm holds readings against: the weights of each sensor's mean, why not, and what is expected."""
        means = stage_means(self.columns, self.sensors)
        why = self.why_not(means)
        return means, why, None if why else self.expected(means)

    def chance_of(self, readings: Mapping[tuple[str, str], float]) -> float | str:
        """Say how likely a cycle without fault shows readings at least as far off: what the alarm is raised on.

        Parameters
        ----------
        readings
            Stage and sensor to the reading [Pa or m³/s].

        Returns
        -------
        float or str
            The probability [-], or why there is none.
        """
        missing = [f"{sensor} in {stage}" for stage, sensor in self.columns if (stage, sensor) not in readings]
        if missing:
            return f"the record has no reading of {', '.join(missing)}, which the baseline has"
        means, why, expected = self._of_sensors
        if expected is None:
            return why
        off = means @ np.array([readings[column] for column in self.columns]) - expected.mean
        (square,) = squared_distances(off[None, :], expected.covariance)
        return estimated_chance_above(square / off.size, off.size, expected.freedom)

    def probabilities(
        self, columns: Sequence[tuple[str, str]], planned: Floats, shown: Floats, false_alarms: float
    ) -> Floats:
        """Say how likely the alarm against this baseline goes off for each fault.

        Parameters
        ----------
        columns
            Stage and sensor of each reading that was computed.
        planned
            Shape (columns,): what is computed as planned [Pa or m³/s].
        shown
            Shape (faults, columns): the same with each fault [Pa or m³/s]; not-a-number where it is not known.
        false_alarms
            How often the alarm goes off without fault [-].

        Returns
        -------
        NDArray
            Shape (faults,) [-]; 0 for all where the baseline cannot be used, or has readings that were not computed.

        Notes
        -----
        A fault moves a reading by the share of it that is computed.
        """
        means = stage_means(self.columns, self.sensors)
        if not set(self.columns) <= set(columns) or self.why_not(means):
            return np.zeros(shown.shape[0])
        kept = [columns.index(column) for column in self.columns]
        before = np.where(planned[kept] == 0.0, np.nan, planned[kept])
        moved = (shown[:, kept] / before - 1.0) * self.mean
        expected = self.expected(means)
        return detection_probabilities(moved @ means.T, expected.covariance, false_alarms, freedom=expected.freedom)

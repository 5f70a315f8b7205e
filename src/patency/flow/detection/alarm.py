"""The alarm on all readings of the water together: when it goes off, and how likely it does for each fault.

For each sensor the mean of its readings over the wet stages is taken. The alarm goes off where these means together lie
further from what is expected than their doubts explain. Nobody has to know beforehand which fault it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.detection.chance import chance_above, threshold
from patency.flow.numerics import estimated_chance_above, estimated_threshold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.catalogue import CycleLimits

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Alarm:
    """What counts as seen.

    Parameters
    ----------
    false_alarms
        Share of cycles without fault in which the sensors may raise an alarm, all of them together [-].
    least_probability
        How likely an alarm has to be for a fault to count as seen [-].
    """

    false_alarms: float = 0.01
    least_probability: float = 0.99


def alarm_of_site(limits: CycleLimits) -> Alarm:
    """Take the share of false alarms that a site allows.

    Parameters
    ----------
    limits
        The site's limits.

    Returns
    -------
    Alarm
        With the share stated, else the usual one.
    """
    return Alarm() if limits.false_alarms is None else Alarm(false_alarms=limits.false_alarms.value)


def detection_probabilities(
    moved: Floats,
    covariance: Floats,
    false_alarms: float,
    sensors: Sequence[int] | None = None,
    freedom: float = math.inf,
) -> Floats:
    """Say how likely the alarm goes off for each fault.

    Parameters
    ----------
    moved
        Shape (faults, sensors): by how much each fault moves each reading; not-a-number where it is not known.
    covariance
        Shape (sensors, sensors): of the readings without fault. A sensor of infinite variance is left out.
    false_alarms
        How often the alarm goes off without fault [-].
    sensors
        Which of the sensors are read; None for all.
    freedom
        Degrees of freedom that the covariance was estimated with, as `Expected` has it; infinite where it is known [-].

    Returns
    -------
    NDArray
        Shape (faults,): probability [-]; 0 for a fault whose readings are not known, and where no sensor is read.

    Notes
    -----
    The sum of squares, each reading freed from the others, is chi-square of as many freedoms as there are readings,
    noncentral with a fault: exact for doubts that are normal and move the readings in proportion. With a covariance
    that was estimated its mean is F, noncentral with a fault (H. Hotelling, 1931); the noncentrality is put in without
    bias.
    """
    chosen = np.arange(moved.shape[1]) if sensors is None else np.array(sensors, dtype=np.int64)
    chosen = np.array([sensor for sensor in chosen if math.isfinite(covariance[sensor, sensor])], dtype=np.int64)
    if chosen.size == 0:
        return np.zeros(moved.shape[0])
    readings = moved[:, chosen]
    known = np.asarray(np.isfinite(readings).all(axis=1))
    distances = squared_distances(np.where(known[:, None], readings, 0.0), covariance[np.ix_(chosen, chosen)])
    if math.isinf(freedom):
        above = threshold(false_alarms, chosen.size)
        found = np.array([chance_above(above, chosen.size, float(distance)) for distance in distances])
    else:
        above = estimated_threshold(false_alarms, chosen.size, freedom)
        # The inverse of an estimated covariance is too large on the average, by freedom over freedom less 2.
        centres = distances * max(freedom - 2.0, 0.0) / freedom
        found = np.array([estimated_chance_above(above, chosen.size, freedom, float(one)) for one in centres])
    return np.where(known, found, 0.0)


def squared_distances(off: Floats, covariance: Floats) -> Floats:
    """Say how far readings lie from what is expected, in standard deviations, squared.

    Parameters
    ----------
    off
        Shape (cycles, sensors): readings less what is expected.
    covariance
        Shape (sensors, sensors).

    Returns
    -------
    NDArray
        Shape (cycles,): the sum of the squares of the readings, each freed from the others [-].
    """
    # Scaled to unit deviations first: pressures and flows differ by many powers of ten.
    scale = np.sqrt(np.diag(covariance))
    lower = np.linalg.cholesky(covariance / np.outer(scale, scale))
    freed = np.linalg.solve(lower, (off / scale).T)
    return np.asarray((freed**2).sum(axis=0))


def either(one: Floats, other: Floats) -> Floats:
    """Say how likely at least one of two independent things happens.

    Parameters
    ----------
    one
        Shape (faults,): probability of the first [-].
    other
        Shape (faults,): probability of the second [-].

    Returns
    -------
    NDArray
        Shape (faults,) [-].
    """
    return np.asarray(1.0 - (1.0 - one) * (1.0 - other))

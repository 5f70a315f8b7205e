"""How likely the sensors show each fault, at a stated rate of false alarms."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.blind_spots.chance import chance_above, threshold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def detection_probabilities(
    moved: Floats, covariance: Floats, false_alarms: float, sensors: Sequence[int] | None = None
) -> Floats:
    """Say how likely an alarm on all readings together goes off for each fault.

    The alarm goes off where the readings lie further from what is expected than their doubts explain: the sum of their
    squares, each freed from the others, above the value that it exceeds without fault as often as false alarms are
    allowed. Nobody has to know beforehand which fault it is.

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

    Returns
    -------
    NDArray
        Shape (faults,): probability [-]; 0 for a fault whose readings are not known, and where no sensor is read.

    Notes
    -----
    The sum is chi-square of as many freedoms as there are readings, noncentral with a fault: exact for doubts that are
    normal and move the readings in proportion.
    """
    chosen = np.arange(moved.shape[1]) if sensors is None else np.array(sensors, dtype=np.int64)
    chosen = np.array([sensor for sensor in chosen if math.isfinite(covariance[sensor, sensor])], dtype=np.int64)
    if chosen.size == 0:
        return np.zeros(moved.shape[0])
    above = threshold(false_alarms, chosen.size)
    readings = moved[:, chosen]
    known = np.asarray(np.isfinite(readings).all(axis=1))
    # Scaled to unit deviations first: pressures and flows differ by many powers of ten.
    scale = np.sqrt(np.diag(covariance)[chosen])
    scaled = np.where(known[:, None], readings, 0.0) / scale
    lower = np.linalg.cholesky(covariance[np.ix_(chosen, chosen)] / np.outer(scale, scale))
    freed = np.linalg.solve(lower, scaled.T)
    distances = (freed**2).sum(axis=0)
    found = np.array([chance_above(above, chosen.size, float(distance)) for distance in distances])
    return np.where(known, found, 0.0)

"""From readings to factors: least squares with what was known before, covariance, and what stays unknown.

Smallest is the sum of the squared residuals, each over its standard deviation, and of the squared distances from what
was known before, in its own covariance: the most probable factors for normal noise. The covariance is that of the
straight lines at the solution; synthetic departments of known truth show that its 95 % intervals hold what they say
(tests/flow/commissioning/test_coverage.py, python -m benchmarks.commissioning).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from patency.errors import InputError
from patency.flow.commissioning.observing import pump_elasticities
from patency.flow.commissioning.parameters import Factors
from patency.flow.commissioning.telling_apart import cannot_tell_apart
from patency.flow.detection.chance import chance_above
from patency.flow.numerics import least_squares
from patency.flow.tolerances import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import BenchReading
    from patency.flow.commissioning.bench import Bench
    from patency.flow.commissioning.model import Prediction
    from patency.flow.commissioning.telling_apart import Confounded

    Floats = NDArray[np.float64]

_STANDS_OUT = 3.0  # standard deviations of a residual, one in 370 readings by chance


class ReadModel(Protocol):
    """What can be fitted to: set-ups on the bench, or stages of cycles."""

    @property
    def readings(self) -> Sequence[BenchReading]:
        """The readings, also those that were not made."""

    @property
    def benches(self) -> Mapping[str, Bench]:
        """Set-ups or stages by their names."""

    def shown(self) -> Floats:
        """Logarithms of flows, pressures [Pa], shape (readings,); not-a-number where nothing was read."""

    def covariance(self) -> Floats:
        """How uncertain the readings are together, shape (readings, readings)."""

    def predict(self, names: tuple[str, ...], values: Floats) -> Prediction:
        """What the instruments should show with these factors."""


@dataclass(frozen=True, slots=True)
class ComparedReading:
    """A reading beside what the fitted model shows there.

    Parameters
    ----------
    reading
        The reading.
    measured, predicted
        Flow [m³/s] or gauge pressure [Pa].
    described
        What the description alone predicts.
    deviation
        Measured less predicted over the reading's standard deviation [-].
    """

    reading: BenchReading
    measured: float
    predicted: float
    described: float
    deviation: float

    @property
    def stands_out(self) -> bool:
        """Whether it deviates more than chance lets one in 370 readings."""
        return abs(self.deviation) > _STANDS_OUT


@dataclass(frozen=True, slots=True)
class BenchFit:
    """What readings on the bench say.

    Parameters
    ----------
    before
        What was known before.
    after
        What is known now.
    readings
        Every reading that was made, beside the model.
    confounded
        Parameters the readings cannot tell apart.
    improbability
        Probability of readings that deviate at least as much, if model and uncertainties are as stated [-].
    pump_head_share
        Half width of the 95 % interval of the pump's head, the widest over the set-ups [-].
    """

    before: Factors
    after: Factors
    readings: tuple[ComparedReading, ...]
    confounded: tuple[Confounded, ...]
    improbability: float
    pump_head_share: float

    def interval(self, row: int) -> tuple[float, float, float]:
        """Give one factor with its 95 % interval.

        Parameters
        ----------
        row
            Row of the parameter.

        Returns
        -------
        tuple[float, float, float]
            Lower end, factor, upper end.
        """
        value, half = self.after.mean[row], NORMAL_95 * self.after.spread[row]
        return math.exp(value - half), math.exp(value), math.exp(value + half)


def fit_readings(model: ReadModel, before: Factors) -> BenchFit:
    """Fit pump and resistances to what was read.

    Parameters
    ----------
    model
        Set-ups and readings.
    before
        What is known before: the description's doubts, or an earlier fit.

    Returns
    -------
    BenchFit
        Factors, covariance, readings beside the model, what cannot be told apart.

    Raises
    ------
    InputError
        If nothing was read.
    PhysicsError
        If no pump curve near the described one carries the set-ups.
    """
    shown, covariance = model.shown(), model.covariance()
    rows = np.flatnonzero(np.isfinite(shown))
    if rows.size == 0:
        raise InputError("readings", "nothing was read", "at least one reading with its value")
    names = before.names
    of_readings, of_factors = (
        np.linalg.inv(np.linalg.cholesky(one)) for one in (covariance[np.ix_(rows, rows)], before.covariance)
    )

    def residuals(values: Floats) -> tuple[Floats, Floats]:
        found = model.predict(names, values)
        misses = of_readings @ (found.shown[rows] - shown[rows])
        pulls = of_factors @ (values - before.mean)
        return np.concatenate((misses, pulls)), np.vstack((of_readings @ found.jacobian[rows], of_factors))

    found = least_squares(residuals, before.mean)
    after = Factors(names, found.values, found.covariance)
    described, predicted = (model.predict(names, values).shown for values in (np.zeros(len(names)), found.values))
    deviations = np.sqrt(np.diag(covariance))
    compared = tuple(
        ComparedReading(
            reading=model.readings[row],
            measured=_size(model.readings[row], shown[row]),
            predicted=_size(model.readings[row], predicted[row]),
            described=_size(model.readings[row], described[row]),
            deviation=float((shown[row] - predicted[row]) / deviations[row]),
        )
        for row in map(int, rows)
    )
    elasticity = pump_elasticities(model.benches.values(), names, after.mean)
    doubts = np.sqrt(np.sum((elasticity @ after.covariance) * elasticity, axis=1))
    return BenchFit(
        before=before,
        after=after,
        readings=compared,
        confounded=cannot_tell_apart(
            *without_single_ports(found.jacobian[: rows.size], before), [names[k] for k in before.of_interest]
        ),
        improbability=chance_above(float(np.sum(found.residuals**2)), rows.size),
        pump_head_share=float(NORMAL_95 * doubts.max()),
    )


def _size(reading: BenchReading, shown: float) -> float:
    return float(shown) if reading.instrument == "gauge" else math.exp(shown)


def without_single_ports(rows: Floats, before: Factors) -> tuple[Floats, Floats]:
    """Let what single ports may do count as noise of the readings.

    Parameters
    ----------
    rows
        Shape (readings, parameters): derivatives of the readings over their standard deviations.
    before
        What is known before.

    Returns
    -------
    tuple[NDArray, NDArray]
        The derivatives by the other parameters over all noise, and what is known of these before.
    """
    kinds = before.of_interest
    own = [row for row in range(len(before.names)) if row not in kinds]
    noise = np.eye(rows.shape[0]) + rows[:, own] @ before.covariance[np.ix_(own, own)] @ rows[:, own].T
    return np.linalg.solve(np.linalg.cholesky(noise), rows[:, kinds]), before.covariance[np.ix_(kinds, kinds)]

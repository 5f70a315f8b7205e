"""What commissioning can find out: factors on the pump's curve and on the resistance of every kind of part.

Each parameter is the natural logarithm of a factor, 0 where the description holds as it stands. Before anything is
measured it is taken as normally distributed about 0, with the standard deviation that belongs to the tolerance stated
in the department (`patency.flow.tolerances`). Missing data means the worst case: where no tolerance is stated, a factor
of about e counts as possible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.flow.commissioning.own_sensor import SENSOR
from patency.flow.fitted import PUMP_FLOW, PUMP_HEAD
from patency.flow.network import Orifice
from patency.flow.tolerances import standard_deviation

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.catalogue import CommissionedFit, FlowLimits
    from patency.flow.commissioning.bench import Bench
    from patency.flow.stretches import Stretch

    Floats = NDArray[np.float64]

_NOTHING_STATED = 0.5  # standard deviation of the logarithm: twice that is a factor of e
_LEAST = 0.01  # no description is better than this
# Turbulent loss goes with the fifth power of a bore (Darcy and Weisbach at a given flow and friction factor).
_POWER_OF_BORE = 5.0
OWN = "port "
"""How the parameters begin that belong to one very port."""


@dataclass(frozen=True)
class Factors:
    """What can be found out: names of the factors and what is known of their logarithms.

    Parameters
    ----------
    names
        Names, as stretches carry them in ``fitted_as``, and two of the pump.
    mean
        Shape (parameters,): logarithms of the factors.
    covariance
        Shape (parameters, parameters).
    """

    names: tuple[str, ...]
    mean: Floats
    covariance: Floats

    @property
    def spread(self) -> Floats:
        """Standard deviations."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def of_interest(self) -> list[int]:
        """Rows of those that hold for a kind of part; the others belong to one very port or sensor."""
        return [row for row, name in enumerate(self.names) if not name.startswith((OWN, SENSOR))]


def described_parameters(
    benches: Sequence[Bench], limits: FlowLimits, sensors: Mapping[str, float] | None = None
) -> Factors:
    """List what the readings of some set-ups depend on, with the doubts of the description.

    Parameters
    ----------
    benches
        The set-ups.
    limits
        The department's tolerances.
    sensors
        Standard deviation of each sensor's error that is a parameter; None where there is none.

    Returns
    -------
    Factors
        The pump's two, then the parts in the order of the water, then the single ports, then the sensors.
    """
    pump = (
        _NOTHING_STATED
        if limits.pump_tolerance is None
        else max(standard_deviation(limits.pump_tolerance.value), _LEAST)
    )
    spreads = {PUMP_HEAD: pump, PUMP_FLOW: pump}
    own: dict[str, float] = {}
    for bench in benches:
        counts = np.diff(bench.compiled.segment_start)
        open_chains = np.concatenate(
            (np.ones(counts.size - bench.compiled.outlets.is_open.size), bench.compiled.outlets.is_open)
        )
        for stretch, passes in zip(bench.stretches, np.repeat(open_chains, counts), strict=True):
            for name in stretch.fitted_as if passes else ():
                into, spread = (own, _single) if name.startswith(OWN) else (spreads, _kind)
                into[name] = max(into.get(name, _LEAST), spread(stretch, limits))
    both = spreads | dict(sorted(own.items())) | dict(sensors or {})
    return Factors(tuple(both), np.zeros(len(both)), np.diag(np.array(list(both.values())) ** 2))


def _bore_share(stretch: Stretch, limits: FlowLimits) -> float:
    """What the tolerance of a bore makes of its resistance, as a standard deviation."""
    diameter = getattr(stretch.segment, "diameter_m", 0.0) or getattr(stretch.segment, "outer_diameter_m", 0.0)
    if stretch.diameter_doubt_m == 0.0 and limits.bore_tolerance is None:
        return _NOTHING_STATED
    power = 4.0 if isinstance(stretch.segment, Orifice) else _POWER_OF_BORE
    return standard_deviation(power * stretch.diameter_doubt_m / diameter)


def _kind(stretch: Stretch, limits: FlowLimits) -> float:
    return math.hypot(_loss_share(stretch, limits), _bore_share(stretch, limits))


def _loss_share(stretch: Stretch, limits: FlowLimits) -> float:
    """What the tolerance of its losses makes of a stretch's resistance, as a standard deviation."""
    if limits.loss_tolerance is None:
        return _NOTHING_STATED
    if isinstance(stretch.segment, Orifice):
        return standard_deviation(stretch.loss_doubt * stretch.segment.discharge_coefficient**2)
    loss = stretch.segment.minor_loss
    return standard_deviation(max(limits.loss_tolerance.value, stretch.loss_doubt / loss if loss > 0.0 else 0.0))


def _single(stretch: Stretch, limits: FlowLimits) -> float:
    """How much single ports of a kind differ: by the tolerance of their bores."""
    return _bore_share(stretch, limits)


def updated_by(described: Factors, fit: CommissionedFit | None) -> Factors:
    """Begin where an earlier fit ended: what it knew of the same parameters takes the place of the description.

    Parameters
    ----------
    described
        As the description has them.
    fit
        The earlier fit; None where there is none.

    Returns
    -------
    Factors
        The parameters of both; of what only the fit knows, too.
    """
    if fit is None:
        return described
    earlier = list(fit.factors)
    names = (*described.names, *(name for name in earlier if name not in described.names))
    mean, covariance = np.zeros(len(names)), np.zeros((len(names), len(names)))
    covariance[: len(described.names), : len(described.names)] = described.covariance
    rows = [names.index(name) for name in earlier]
    covariance[rows, :] = 0.0
    covariance[:, rows] = 0.0
    covariance[np.ix_(rows, rows)] = np.array(fit.covariance)
    mean[rows] = np.log([one.factor for one in fit.factors.values()])
    return Factors(names, mean, covariance)

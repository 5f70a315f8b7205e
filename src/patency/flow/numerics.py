"""The one place in this room that calls scipy: nonlinear least squares, and the F distribution."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_TOLERANCE = 1e-10


class LeastSquares(NamedTuple):
    """Where a sum of squares is smallest."""

    values: Floats
    jacobian: Floats  # (residuals, parameters) there
    residuals: Floats
    evaluations: int

    @property
    def covariance(self) -> Floats:
        """Inverse of J'J: the covariance of the values for residuals of variance 1, to first order."""
        _, singular, turned = np.linalg.svd(self.jacobian, full_matrices=False)
        return np.asarray((turned.T / singular**2) @ turned)


def least_squares(residuals_and_jacobian: Callable[[Floats], tuple[Floats, Floats]], start: Floats) -> LeastSquares:
    """Find the values for which the sum of squared residuals is smallest.

    Parameters
    ----------
    residuals_and_jacobian
        Residuals, shape (residuals,), and their exact derivatives, shape (residuals, parameters).
    start
        Where to begin, shape (parameters,).

    Returns
    -------
    LeastSquares
        The minimum reached from there.

    Notes
    -----
    Levenberg's and Marquardt's method with trust regions, from scipy; it becomes that of Gauss and Newton near the
    minimum. Checked against NIST's certified data (tests/published/test_nist_strd.py).
    """
    from scipy.optimize import least_squares as minimise

    seen: dict[bytes, tuple[Floats, Floats]] = {}

    def both(values: Floats) -> tuple[Floats, Floats]:
        key = values.tobytes()
        if key not in seen:
            seen.clear()
            seen[key] = residuals_and_jacobian(values)
        return seen[key]

    found = minimise(
        lambda values: both(values)[0],
        start,
        jac=lambda values: both(values)[1],
        x_scale="jac",
        method="trf",
        ftol=_TOLERANCE,
        xtol=_TOLERANCE,
        gtol=_TOLERANCE,
    )
    return LeastSquares(found.x, found.jac, found.fun, int(found.nfev))


def estimated_chance_above(value: float, count: int, freedom: float, noncentrality: float = 0.0) -> float:
    """Say how likely the mean square of normal numbers exceeds a value where their covariance was itself estimated.

    Parameters
    ----------
    value
        The value, 0 or more [-].
    count
        How many numbers, at least one.
    freedom
        Degrees of freedom of the estimate, above 0 [-].
    noncentrality
        Sum of the squares of the numbers' means, 0 or more [-].

    Returns
    -------
    float
        Probability.

    Notes
    -----
    Central and noncentral F, from an open library.
    """
    from scipy.special import fdtrc, ncfdtr

    if noncentrality == 0.0:
        return float(fdtrc(count, freedom, value))
    below = float(ncfdtr(count, freedom, noncentrality, value))
    return 1.0 if math.isnan(below) else 1.0 - below  # no number comes where what lies below is too small for one


def estimated_threshold(false_alarms: float, count: int, freedom: float) -> float:
    """Find the value that such a mean square exceeds as often as asked.

    Parameters
    ----------
    false_alarms
        How often, between 0 and 1 [-].
    count
        How many numbers, at least one.
    freedom
        Degrees of freedom of the estimate, above 0 [-].

    Returns
    -------
    float
        The value [-].

    Examples
    --------
    >>> round(estimated_threshold(0.01, 2, 20.0), 2)  # a table of F: 5.85
    5.85
    """
    from scipy.special import fdtri

    return float(fdtri(count, freedom, 1.0 - false_alarms))

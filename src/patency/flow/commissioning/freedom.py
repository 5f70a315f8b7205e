"""How few numbers a doubt was estimated from, and what that makes of an interval: the effective degrees of freedom."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


class Estimated(NamedTuple):
    """A part of what is uncertain in readings that was itself estimated from a number of them."""

    covariance: Floats
    """Shape (readings, readings)."""
    freedom: int
    """Its degrees of freedom."""


def effective_freedom(whole: Floats, parts: Sequence[tuple[Floats, int]]) -> Floats:
    """Count the degrees of freedom of variances of which only parts were estimated.

    Parameters
    ----------
    whole
        Variances, shape (quantities,).
    parts
        Of each part that was estimated its share in these variances, shape (quantities,), and its degrees of freedom.

    Returns
    -------
    NDArray
        Shape (quantities,) [-]; infinite where nothing was estimated.

    Notes
    -----
    The formula of B. L. Welch and F. E. Satterthwaite, JCGM 100:2008, G.4.1, (G.2b), for each quantity. What a
    description, a certificate or an earlier fit states counts as known exactly, as the guide has it (G.4.3).

    Examples
    --------
    >>> round(float(effective_freedom(np.array([2.0]), [(np.array([1.0]), 4)])[0]), 6)
    16.0
    """
    uncertain = sum((part**2 / freedom for part, freedom in parts), np.zeros_like(whole))
    with np.errstate(divide="ignore"):
        return np.asarray(whole**2 / uncertain)

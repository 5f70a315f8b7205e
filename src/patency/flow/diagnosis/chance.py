"""How often a test for one known change notices it."""

from __future__ import annotations

from statistics import NormalDist

# A test that is to be wrong in one of a hundred cycles as planned; the usual choice, no source.
FALSE_ALARMS = 0.01


def power_of(distance: float) -> float:
    """Tell how often a test for one known change notices it.

    Parameters
    ----------
    distance
        The change in standard deviations [-].

    Returns
    -------
    float
        Probability, where one in a hundred cycles without the change alarms [-]; no less than that.

    Examples
    --------
    >>> round(power_of(0.0), 4), round(power_of(4.65), 3)
    (0.01, 0.99)
    """
    normal = NormalDist()
    return normal.cdf(distance - normal.inv_cdf(1.0 - FALSE_ALARMS))

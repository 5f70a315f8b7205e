"""How a stated tolerance becomes a standard deviation, and that an interval: one rule for all who need one."""

from __future__ import annotations

OF_A_TOLERANCE = 3.0**-0.5
"""Standard deviation over the half width of a tolerance of which nothing more is known than its ends: the rectangular
distribution of JCGM 100:2008 (Guide to the expression of uncertainty in measurement), 4.3.7 [-]."""
OF_ONE_SIDE = 6.0**-0.5
"""The same of what counts to its own side only. It may lie anywhere between there and the nominal value, and its twin
on the other side likewise: half of that variance each [-]."""

NORMAL_95 = 1.959963984540054
"""Half width of a 95 % interval over the standard deviation of what is normal: the 97.5 % point of the normal
distribution (1.960 in JCGM 100:2008, table G.1) [-]."""


def standard_deviation(half_width: float) -> float:
    """Turn the half width of a tolerance into a standard deviation.

    Parameters
    ----------
    half_width
        Half of what lies between the tolerance's ends, in any unit.

    Returns
    -------
    float
        Standard deviation in the same unit.

    Examples
    --------
    >>> round(standard_deviation(0.3), 4)
    0.1732
    """
    return half_width * OF_A_TOLERANCE

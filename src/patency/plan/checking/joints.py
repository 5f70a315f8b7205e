"""Whether two ends join, decided here once more."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.catalogue import Connector

_ROUNDING_M = 1e-9


def joins(end: Connector | None, other: Connector | None) -> bool:
    """Tell whether two ends join.

    Parameters
    ----------
    end
        One end; None where nothing is known of it.
    other
        The other end.

    Returns
    -------
    bool
        True for one family, two genders and sizes within both tolerances. What is not known does not join.
    """
    if end is None or other is None or end.family != other.family or end.gender == other.gender:
        return False
    if end.size_m is None or other.size_m is None:
        return end.size_m is None and other.size_m is None
    slack = (end.size_m.plus_minus or 0.0) + (other.size_m.plus_minus or 0.0)
    return abs(end.size_m.nominal - other.size_m.nominal) <= slack + _ROUNDING_M

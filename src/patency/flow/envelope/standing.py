"""Inside, outside or unknown, and each single point in which a planned load differs from a validated one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Standing(StrEnum):
    """Whether something planned is inside what was validated; ``unknown`` is never counted as inside."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    UNKNOWN = "unknown"


class PointCompared(StrEnum):
    """What is compared, in the trade's words."""

    CARRIER = "carrier"
    PROGRAMME = "programme"
    VALIDITY = "validity of the reference load"
    FEEDING = "way it is fed"
    PASSAGE = "narrowest passage"
    LENGTH = "length"
    BLIND = "deepest blind branch"
    CONNECTION = "connection"
    JET = "height of the jet"
    FLOW = "flow"
    SHEAR = "wall shear stress"
    EXCHANGES = "exchanges per minute"
    DESCRIPTION = "description of the lumen"
    CALCULATION = "calculation of the flow"


@dataclass(frozen=True, slots=True)
class Difference:
    """One point in which what is planned is not shown to be covered by what was validated.

    Parameters
    ----------
    point
        What was compared.
    standing
        Outside where the planned value is known to fall short or to be another one; unknown where a datum is missing
        or out of date.
    planned, validated
        The two values: numbers in ``unit``, or words; None where there is none.
    unit
        Unit of numbers; empty for words.
    why
        What stands in the way, where the two values do not say it alone.
    """

    point: PointCompared
    standing: Standing
    planned: float | str | None = None
    validated: float | str | None = None
    unit: str = ""
    why: str = ""


def standing_of(differences: Iterable[Difference]) -> Standing:
    """Say how something stands that has these differences.

    Parameters
    ----------
    differences
        All of them.

    Returns
    -------
    Standing
        Outside if any difference is known, else unknown if any is unknown, else inside.
    """
    found = {difference.standing for difference in differences}
    for standing in (Standing.OUTSIDE, Standing.UNKNOWN):
        if standing in found:
            return standing
    return Standing.INSIDE

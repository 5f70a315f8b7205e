"""Values that carry their doubt and limits that carry their source."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date  # noqa: TC003 - read at run time where limits are parsed

STANDARD_GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall: 3rd General Conference on Weights and Measures, 1901."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A predicted value with the range it can be expected in.

    Parameters
    ----------
    low
        Lower end, in the unit of the value.
    nominal
        The value for nominal dimensions.
    high
        Upper end.

    Raises
    ------
    ValueError
        When the three are not in order.
    """

    low: float
    nominal: float
    high: float

    def __post_init__(self) -> None:
        """Refuse an interval that is out of order or not a number."""
        if not self.low <= self.nominal <= self.high:
            message = f"interval out of order: {self.low}, {self.nominal}, {self.high}"
            raise ValueError(message)

    def contains(self, value: float) -> bool:
        """Tell whether a value lies inside, ends included.

        Parameters
        ----------
        value
            The value, in the interval's unit.

        Returns
        -------
        bool
            True from low to high.
        """
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Toleranced:
    """A dimension as drawn or measured, with its tolerance.

    Parameters
    ----------
    nominal
        The stated value in SI (or the unit its field's name ends in).
    plus_minus
        Half width of the tolerance in the same unit; None where none is stated.
    """

    nominal: float
    plus_minus: float | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit with where it comes from and how long it holds.

    Parameters
    ----------
    value
        The limit, in ``unit``.
    unit
        SI unit or the unit of the quantity's field name, such as ``s``, ``degC``, ``Pa``, ``uS/cm``.
    source
        Standard with edition and clause, validation report, instructions for use, or "common practice, no source".
    valid_from
        First day on which it holds; None where open.
    valid_until
        Last day on which it holds; None where open.
    """

    value: float
    unit: str
    source: str
    valid_from: date | None = None
    valid_until: date | None = None

    def holds_on(self, day: date) -> bool:
        """Tell whether the limit is in date on a given day.

        Parameters
        ----------
        day
            The day of the decision.

        Returns
        -------
        bool
            True when the day lies within the validity.
        """
        started = self.valid_from is None or self.valid_from <= day
        ended = self.valid_until is not None and day > self.valid_until
        return started and not ended

"""What is asked of a cycle, one criterion at a time: value, limit, source, margin, state and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from datetime import date

    from patency.quantities import Limit

NO_LIMIT = "the site states no limit"
"""Why nothing is held against a limit that is not stated."""


class CriterionState(StrEnum):
    """What became of a criterion, and of a whole cycle."""

    MET = "met"
    NOT_MET = "not met"
    NOT_EVALUATED = "not evaluated"


class Sense(StrEnum):
    """On which side of its limit a value should lie."""

    AT_LEAST = "at least"
    AT_MOST = "at most"
    BETWEEN = "between"
    NONE = "no number"


@dataclass(frozen=True, slots=True)
class Criterion:
    """One criterion and what became of it.

    Parameters
    ----------
    name
        What is asked, with the stage and the sensor where it is asked of one.
    value
        What was found; None where nothing could be found.
    unit
        Unit of value, uncertainty, limit and margin: s, degC, Pa, uS/cm, rpm, m3, or empty.
    limit
        The limit, or its two ends; None where there is none.
    source
        Where the limit comes from.
    margin
        Distance from the value, worsened by its uncertainty, to the nearest limit; negative where it is missed.
    state
        Met, not met or not evaluated.
    why
        The reason in one sentence.
    sense
        On which side of the limit the value should lie.
    uncertainty
        Uncertainty of the value that was taken into account; None where it is not known.
    stage
        Name of the stage it concerns; None where it concerns the whole cycle.
    sensor
        Column of the sensor it rests on; None where it rests on none or several.
    """

    name: str
    value: float | None
    unit: str
    limit: float | tuple[float, float] | None
    source: str
    margin: float | None
    state: CriterionState
    why: str
    sense: Sense = Sense.NONE
    uncertainty: float | None = None
    stage: str | None = None
    sensor: str | None = None


class Asked(NamedTuple):
    """What a criterion is called and concerns.

    Parameters
    ----------
    name
        What is asked.
    unit
        Unit of the value.
    stage
        Name of the stage; None for the whole cycle.
    sensor
        Column of the sensor; None for none or several.
    """

    name: str
    unit: str = ""
    stage: str | None = None
    sensor: str | None = None


class Bounds(NamedTuple):
    """Between what a value should lie, and who says so.

    Parameters
    ----------
    source
        Where the limit comes from.
    low
        Lowest value that meets it; None where open.
    high
        Highest value that meets it; None where open.
    """

    source: str
    low: float | None = None
    high: float | None = None

    @property
    def sense(self) -> Sense:
        """On which side a value should lie."""
        if self.low is None:
            return Sense.NONE if self.high is None else Sense.AT_MOST
        return Sense.AT_LEAST if self.high is None else Sense.BETWEEN

    @property
    def limit(self) -> float | tuple[float, float] | None:
        """The limit as a criterion shows it."""
        if self.low is not None and self.high is not None:
            return (self.low, self.high)
        return self.high if self.low is None else self.low

    def margin(self, value: float, uncertainty: float) -> float:
        """Return the distance from a value, worsened by its uncertainty, to the nearest limit.

        Parameters
        ----------
        value
            The value.
        uncertainty
            Its uncertainty in the same unit.

        Returns
        -------
        float
            Negative where a limit is missed.
        """
        _, low, high = self
        below = inf if high is None else high - value - uncertainty
        above = inf if low is None else value - uncertainty - low
        return min(above, below)


def limit_fault(limit: Limit | None, unit: str, on: date) -> str | None:
    """Tell why a limit cannot be used.

    Parameters
    ----------
    limit
        The limit; None where the site has none.
    unit
        The unit it should be in.
    on
        The day of the decision.

    Returns
    -------
    str or None
        The reason; None where it can be used.
    """
    if limit is None:
        return NO_LIMIT
    if limit.unit != unit:
        return f"the limit is stated in {limit.unit or 'no unit'}, not in {unit}"
    if not limit.holds_on(on):
        since, until = limit.valid_from or "the beginning", limit.valid_until or "further notice"
        return f"the limit holds from {since} until {until}, not on {on}"
    return None


def unanswered(asked: Asked, why: str, limit: Limit | None = None) -> Criterion:
    """Return a criterion that could not be evaluated.

    Parameters
    ----------
    asked
        What was asked.
    why
        The reason.
    limit
        The limit, where there is one.

    Returns
    -------
    Criterion
        Without value and margin.
    """
    end, source = (None, "") if limit is None else (limit.value, limit.source)
    state = CriterionState.NOT_EVALUATED
    return Criterion(
        asked.name, None, asked.unit, end, source, None, state, why, stage=asked.stage, sensor=asked.sensor
    )


def decided(value: float, uncertainty: float | None, bounds: Bounds) -> tuple[float, CriterionState]:
    """Hold a value against its limit, without words.

    Parameters
    ----------
    value
        The value.
    uncertainty
        Its uncertainty; None where not known.
    bounds
        The limit.

    Returns
    -------
    tuple
        The margin, and what becomes of it.
    """
    margin = bounds.margin(value, uncertainty or 0.0)
    met = CriterionState.MET if uncertainty is not None else CriterionState.NOT_EVALUATED
    if margin >= 0:
        return margin, met
    # By so much sums of floating-point numbers may miss a limit that they exactly reach.
    _, low, high = bounds
    slack = 1e-9 * max(abs(low or 0.0), abs(high or 0.0), 1e-3)
    return margin, met if margin >= -slack else CriterionState.NOT_MET


def decided_time(certain_s: float, possible_s: float, bounds: Bounds) -> CriterionState:
    """Hold a time against the least it should be, without words.

    Parameters
    ----------
    certain_s
        Time the record shows [s].
    possible_s
        Time with everything the record leaves open [s].
    bounds
        The limit.

    Returns
    -------
    CriterionState
        Not evaluated where only what is left open decides.
    """
    _, state = decided(certain_s, 0.0, bounds)
    if state is CriterionState.NOT_MET and decided(possible_s, 0.0, bounds)[1] is CriterionState.MET:
        return CriterionState.NOT_EVALUATED
    return state


def compared(asked: Asked, value: float, uncertainty: float | None, bounds: Bounds, note: str = "") -> Criterion:
    """Compare a value with its limit; the uncertainty counts against it.

    Parameters
    ----------
    asked
        What was asked.
    value
        The value.
    uncertainty
        Its uncertainty in the same unit; None where not known: a limit missed stays missed, one met is not evaluated.
    bounds
        The limit.
    note
        What else belongs to the reason.

    Returns
    -------
    Criterion
        Met, not met or not evaluated, with margin.

    Examples
    --------
    >>> compared(Asked("final rinse", "uS/cm"), 12.0, 0.5, Bounds("the site", high=30.0)).margin
    17.5
    """
    margin, state = decided(value, uncertainty, bounds)
    if state is CriterionState.NOT_EVALUATED:
        note = f"{note}; the uncertainty of the value is not known" if note else "its uncertainty is not known"
    words = _numbers(value, uncertainty, asked.unit, bounds.sense, bounds.limit or 0.0)
    return Criterion(
        name=asked.name,
        value=value,
        unit=asked.unit,
        limit=bounds.limit,
        source=bounds.source,
        margin=margin,
        state=state,
        why=f"{words}; {note}" if note else words,
        sense=bounds.sense,
        uncertainty=uncertainty,
        stage=asked.stage,
        sensor=asked.sensor,
    )


def beyond_numbers(criterion: Criterion) -> str:
    """Say why a criterion is in its state, without the value and the limit that stand beside it.

    Parameters
    ----------
    criterion
        The criterion.

    Returns
    -------
    str
        The rest of its reason; empty where that is nothing but these numbers.
    """
    value, limit = criterion.value, criterion.limit
    if value is None or limit is None:
        return criterion.why
    numbers = _numbers(value, criterion.uncertainty, criterion.unit, criterion.sense, limit)
    return "" if criterion.why == numbers else criterion.why.removeprefix(f"{numbers}; ")


def _numbers(
    value: float, uncertainty: float | None, unit: str, sense: Sense, limit: float | tuple[float, float]
) -> str:
    """Write a value, its uncertainty and its limit as the beginning of a reason."""
    doubt = f" ± {shown(uncertainty, 'K' if unit == 'degC' else unit)}" if uncertainty else ""
    ends = " and ".join([shown(end, unit) for end in limit]) if isinstance(limit, tuple) else shown(limit, unit)
    return f"{shown(value, unit)}{doubt}, {sense} {ends}"


def compared_time(asked: Asked, certain_s: float, possible_s: float, bounds: Bounds, note: str = "") -> Criterion:
    """Compare a time with the least it should be, where the record may leave some of it open.

    Parameters
    ----------
    asked
        What was asked.
    certain_s
        Time the record shows [s].
    possible_s
        Time with everything the record leaves open [s].
    bounds
        The limit.
    note
        What else belongs to the reason.

    Returns
    -------
    Criterion
        Not evaluated where only what is left open decides.
    """
    shows = compared(asked, certain_s, 0.0, bounds, note)
    state = decided_time(certain_s, possible_s, bounds)
    if state is not shows.state:
        why = f"{shows.why}; gaps in the record leave up to {shown(possible_s, asked.unit)} open"
        return replace(shows, state=state, why=why)
    return shows


# Unit inside to factor, the unit people use, and digits after the point.
_SHOWN = {
    "Pa": (0.01, "mbar", 1),
    "m3": (1e6, "mL", 1),
    "degC": (1.0, "°C", 2),
    "uS/cm": (1.0, "µS/cm", 1),
    "s": (1.0, "s", 0),
    "rpm": (1.0, "rpm", 1),
}


def shown(value: float, unit: str) -> str:
    """Write a value the way people read it.

    Parameters
    ----------
    value
        The value in the unit used inside.
    unit
        That unit.

    Returns
    -------
    str
        The value with the unit people use.

    Examples
    --------
    >>> shown(21000.0, "Pa"), shown(0.00012, "m3")
    ('210.0 mbar', '120.0 mL')
    >>> shown(7.0, "1"), shown(0.004123, "1"), shown(2.5, "s"), shown(3000.2, "s")
    ('7', '0.00412', '2.5 s', '3000 s')
    """
    if unit == "1":
        return f"{value:.3g}"  # counts as they are, shares with three digits
    if unit == "s" and abs(value) < 100:
        return f"{value:.1f}".removesuffix(".0") + " s"  # a limit of 2.5 s is not one of 2 s
    factor, name, digits = _SHOWN.get(unit, (1.0, unit, 2))
    return f"{value * factor:.{digits}f} {name}".rstrip()

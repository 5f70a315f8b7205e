"""Criteria as numbers: what was found and what became of it, put into words only when somebody asks.

Where a whole archive is judged again nearly every criterion stays in its state, and nobody reads why.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from patency.evidence.criteria import (
    Asked,
    Bounds,
    Criterion,
    CriterionState,
    compared,
    compared_time,
    decided,
    decided_time,
    unanswered,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.quantities import Limit

    Words = str | Callable[[], str]


class Weighed(NamedTuple):
    """One criterion as numbers.

    Parameters
    ----------
    asked
        What was asked.
    value
        What was found; None where nothing could be found.
    state
        What became of it.
    told
        Puts it into words, with limit, margin and reason.
    """

    asked: Asked
    value: float | None
    state: CriterionState
    told: Callable[[], Criterion]

    def but(self, state: CriterionState, more: Words = "") -> Weighed:
        """Return the same in another state, or with more reason.

        Parameters
        ----------
        state
            The state.
        more
            What the reason goes on with; nothing where empty.

        Returns
        -------
        Weighed
            The criterion.
        """
        return Weighed(self.asked, self.value, state, partial(_told_but, self.told, state, more))


def weighed(asked: Asked, value: float, uncertainty: float | None, bounds: Bounds, note: Words = "") -> Weighed:
    """Compare a value with its limit, as `compared` does.

    Parameters
    ----------
    asked
        What was asked.
    value
        The value.
    uncertainty
        Its uncertainty; None where it is not known.
    bounds
        The limit.
    note
        What else belongs to the reason, or what writes it.

    Returns
    -------
    Weighed
        The criterion.
    """
    _, state = decided(value, uncertainty, bounds)
    return Weighed(asked, value, state, partial(_told, asked, value, uncertainty, bounds, note))


def weighed_time(asked: Asked, certain_s: float, possible_s: float, bounds: Bounds, note: Words = "") -> Weighed:
    """Compare a time with the least it should be, as `compared_time` does.

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
        What else belongs to the reason, or what writes it.

    Returns
    -------
    Weighed
        The criterion.
    """
    state = decided_time(certain_s, possible_s, bounds)
    return Weighed(asked, certain_s, state, partial(_told_time, asked, certain_s, possible_s, bounds, note))


def left_open(asked: Asked, why: Words, limit: Limit | None = None) -> Weighed:
    """Return a criterion that could not be evaluated, as `unanswered` does.

    Parameters
    ----------
    asked
        What was asked.
    why
        The reason, or what writes it.
    limit
        The limit, where there is one.

    Returns
    -------
    Weighed
        The criterion.
    """
    return Weighed(asked, None, CriterionState.NOT_EVALUATED, partial(_told_open, asked, why, limit))


def as_weighed(criterion: Criterion) -> Weighed:
    """Return a criterion that has its words already.

    Parameters
    ----------
    criterion
        The criterion.

    Returns
    -------
    Weighed
        The same.
    """
    asked = Asked(criterion.name, criterion.unit, criterion.stage, criterion.sensor)
    return Weighed(asked, criterion.value, criterion.state, lambda: criterion)


def _written(words: Words) -> str:
    return words if isinstance(words, str) else words()


def _told(asked: Asked, value: float, uncertainty: float | None, bounds: Bounds, note: Words) -> Criterion:
    return compared(asked, value, uncertainty, bounds, _written(note))


def _told_time(asked: Asked, certain_s: float, possible_s: float, bounds: Bounds, note: Words) -> Criterion:
    return compared_time(asked, certain_s, possible_s, bounds, _written(note))


def _told_open(asked: Asked, why: Words, limit: Limit | None) -> Criterion:
    return unanswered(asked, _written(why), limit)


def _told_but(before: Callable[[], Criterion], state: CriterionState, more: Words) -> Criterion:
    criterion, added = before(), _written(more)
    return replace(criterion, state=state, why=f"{criterion.why}; {added}" if added else criterion.why)

"""The verdict on a cycle, from what became of each of its criteria."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.evidence.criteria import CriterionState

if TYPE_CHECKING:
    from collections.abc import Iterable


def overall(states: Iterable[CriterionState]) -> CriterionState:
    """Return the verdict on a cycle from the states of its criteria.

    Parameters
    ----------
    states
        The states; at least one.

    Returns
    -------
    CriterionState
        ``not met`` if any is, else ``not evaluated`` if any is or there is none, else ``met``.

    Examples
    --------
    >>> overall([CriterionState.MET, CriterionState.NOT_EVALUATED]).value
    'not evaluated'
    """
    seen = set(states)
    for state in (CriterionState.NOT_MET, CriterionState.NOT_EVALUATED):
        if state in seen:
            return state
    return CriterionState.MET if seen else CriterionState.NOT_EVALUATED

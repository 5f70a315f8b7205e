"""Better margins within a load: what came out weak moves nearer to the feed, as long as the weakest margin grows."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.plan.water import Verdict

STRENGTHS = (5.0, 20.0, 100.0)
"""Thirst of the weakest lumen in each trial, against ten for a step of the walk."""


def thirst_after(verdict: Verdict, strength: float) -> dict[tuple[str, str], float]:
    """Return how thirsty the pieces of a load are after its flow was computed.

    Parameters
    ----------
    verdict
        What the flow said.
    strength
        Thirst of the weakest.

    Returns
    -------
    dict[tuple[str, str], float]
        Set and piece to thirst, in proportion to the weakest margin over its own.
    """
    weakest = verdict.weakest or 0.0
    return {key: strength * weakest / margin for key, margin in verdict.margins.items() if margin > 0}


def better(one: Verdict, other: Verdict) -> bool:
    """Tell whether one verdict is better than another: fewer lumens short, then the weakest margin larger.

    Parameters
    ----------
    one
        A verdict.
    other
        The verdict it is compared with.

    Returns
    -------
    bool
        True when the first is better by more than rounding.
    """
    if len(one.short) != len(other.short):
        return len(one.short) < len(other.short)
    return (one.weakest or 0.0) > (other.weakest or 0.0) * (1 + 1e-6)

"""A datum that is not stated, before it is known on which line it would stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue.nodes import Path
    from patency.quantities import Limit

OpenQuestion = Literal["fits", "fed", "reached", "held", "suited", "together", "verdict"]
"""One of the six questions about a piece, or the verdict on a cycle."""


class Gap(NamedTuple):
    """A datum that is not stated."""

    path: Path
    what: str
    questions: tuple[OpenQuestion, ...]


def limit_fault(limit: Limit | None, day: date | None) -> str:
    """Say why a limit cannot be used.

    Parameters
    ----------
    limit
        The limit, where one is stated.
    day
        The day of the decision; None where there is none.

    Returns
    -------
    str
        The reason in words; empty where it can be used.
    """
    if limit is None:
        return "the limit is not stated"
    return "" if day is None or limit.holds_on(day) else f"the limit does not hold on {day}"

"""Yes, no or unknown: the only three answers a question about a piece can have."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Answer(StrEnum):
    """An answer to one of the six questions; ``unknown`` counts as ``no`` until a person decides."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


def worst(answers: Iterable[Answer]) -> Answer:
    """Return the answer that decides when several must all be yes.

    Parameters
    ----------
    answers
        The single answers; an empty collection has nothing that could be wrong.

    Returns
    -------
    Answer
        ``no`` if any is no, else ``unknown`` if any is unknown, else ``yes``.

    Examples
    --------
    >>> worst([Answer.YES, Answer.UNKNOWN])
    <Answer.UNKNOWN: 'unknown'>
    """
    seen = set(answers)
    for answer in (Answer.NO, Answer.UNKNOWN):
        if answer in seen:
            return answer
    return Answer.YES

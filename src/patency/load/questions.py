"""The six questions every piece is asked, and answers that carry their numbers."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.quantities import Answer, worst

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.quantities import Limit


class Question(StrEnum):
    """The six questions, in the order they are shown."""

    FITS = "fits"
    FED = "fed"
    REACHED = "reached"
    HELD = "held"
    SUITED = "suited"
    TOGETHER = "together"


@dataclass(frozen=True, slots=True)
class Figure:
    """A number behind an answer.

    Parameters
    ----------
    name
        What it is, in the trade's words.
    value
        The number, in ``unit``.
    unit
        SI unit or the one limits use.
    low, high
        Ends of its interval, where it is a prediction.
    limit
        What it was held against; None where there is nothing to hold it against.
    """

    name: str
    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    limit: Limit | None = None


@dataclass(frozen=True, slots=True)
class Reply:
    """The answer to one question about one piece.

    Parameters
    ----------
    question
        Which question.
    answer
        Yes, no or unknown.
    why
        One sentence a person understands; for ``yes`` too.
    figures
        The numbers behind it.
    """

    question: Question
    answer: Answer
    why: str
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class PieceReplies:
    """All replies about one piece of a load.

    Parameters
    ----------
    set, piece
        Which piece.
    replies
        Question to reply; a question without a reply counts as unknown.
    """

    set: str
    piece: str
    replies: Mapping[Question, Reply]

    @property
    def overall(self) -> Answer:
        """Yes only when all six are yes."""
        return worst(self.replies[q].answer if q in self.replies else Answer.UNKNOWN for q in Question)

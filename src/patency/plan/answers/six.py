"""The six answers for every piece of a load: fits, suited and together are found here, the others are handed in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.load import PieceReplies, Question
from patency.plan.answers.fitting import Fitting
from patency.plan.answers.suiting import suited
from patency.plan.answers.together import together
from patency.plan.limits_in_force import on_day

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from patency.catalogue import Department
    from patency.load import Load, Reply


def six_answers(
    department: Department,
    load: Load,
    day: date,
    *,
    fed: Mapping[tuple[str, str], Reply],
    reached: Mapping[tuple[str, str], Reply],
    held: Mapping[tuple[str, str], Reply],
) -> list[PieceReplies]:
    """Answer all six questions for every piece of a load.

    Parameters
    ----------
    department
        The department.
    load
        The load, from this search or any other hand.
    day
        Day of the decision.
    fed
        Answers of the flow: set and piece to reply.
    reached
        Answers about jets and drainage.
    held
        Answers about states and tipping.

    Returns
    -------
    list[PieceReplies]
        One for each piece, in the order of the load. A question to which nobody replied counts as unknown.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    in_force = on_day(department, day)
    fitting = Fitting(in_force, load)
    answered = []
    for placed in load.pieces:
        key = (placed.set, placed.piece)
        replies = {
            Question.FITS: fitting.reply(placed),
            Question.SUITED: suited(in_force, load, placed, day),
            Question.TOGETHER: together(in_force, load, placed),
        }
        for question, given in ((Question.FED, fed), (Question.REACHED, reached), (Question.HELD, held)):
            if key in given:
                replies[question] = given[key]
        answered.append(PieceReplies(placed.set, placed.piece, {q: replies[q] for q in Question if q in replies}))
    return answered

"""Asks every piece of a load the six questions."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from patency.flow import fed, flow_of_load
from patency.load import Question
from patency.plan import six_answers
from patency.quantities import Answer
from patency.reach import held, reached

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load, PieceReplies, Plan
    from patency.steps.reach_showing import Looks


def answers_of_load(department: Department, plan: Plan, load: Load, looks: Looks) -> list[PieceReplies]:
    """Answer all six questions about every piece of a load, with the numbers behind each answer.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    load
        One of its loads.
    looks
        Computes what the jets strike.

    Returns
    -------
    list[PieceReplies]
        One for each piece, in the order of the load.
    """
    water = flow_of_load(department, load)
    found = looks.at(load)
    return six_answers(
        department,
        load,
        plan.day,
        fed=fed(department, load, water, plan.day),
        reached=reached(department, load, found),
        held=held(department, load, found),
    )


def answers_document(plan: Plan, answers: dict[str, list[PieceReplies]]) -> dict[str, Any]:
    """Return the answers as plain values for JSON.

    Parameters
    ----------
    plan
        The plan.
    answers
        Load to the answers about its pieces.

    Returns
    -------
    dict
        Format ``patency-answers/1``.
    """
    return {
        "format": "patency-answers/1",
        "site": plan.site,
        "day": plan.day.isoformat(),
        "loads": [
            {"id": load, "count": answer_counts(replies), "pieces": [_piece(one) for one in replies]}
            for load, replies in answers.items()
        ],
    }


def answer_counts(replies: list[PieceReplies]) -> dict[str, dict[str, int]]:
    """Count the answers to each question.

    Parameters
    ----------
    replies
        The answers about each piece.

    Returns
    -------
    dict
        Question to answer to number of pieces; a question without a reply counts as unknown.
    """
    counts = {}
    for question in Question:
        answers = Counter(
            one.replies[question].answer if question in one.replies else Answer.UNKNOWN for one in replies
        )
        counts[question.value] = {answer.value: answers[answer] for answer in Answer}
    return counts


def _piece(one: PieceReplies) -> dict[str, Any]:
    return {
        "set": one.set,
        "piece": one.piece,
        "overall": one.overall.value,
        "replies": {
            question.value: {
                "answer": reply.answer.value,
                "why": reply.why,
                "figures": [_figure(asdict(figure)) for figure in reply.figures],
            }
            for question, reply in one.replies.items()
        },
    }


def _figure(figure: dict[str, Any]) -> dict[str, Any]:
    limit = figure["limit"]
    if limit is not None:
        figure["limit"] = limit | {
            end: None if limit[end] is None else limit[end].isoformat() for end in ("valid_from", "valid_until")
        }
    return figure

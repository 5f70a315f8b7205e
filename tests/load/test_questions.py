"""The six questions together."""

from __future__ import annotations

import pytest

from patency.load import PieceReplies, Question, Reply
from patency.quantities import Answer


def _replies(**answers: Answer) -> PieceReplies:
    return PieceReplies(
        "Morning", "fix5/1/whole", {Question(q): Reply(Question(q), answer, "why") for q, answer in answers.items()}
    )


def test_yes_to_all_six_is_yes() -> None:
    assert _replies(**dict.fromkeys(Question, Answer.YES)).overall is Answer.YES


@pytest.mark.parametrize("question", list(Question))
def test_a_question_nobody_answered_counts_as_unknown(question: Question) -> None:
    answers = {q: Answer.YES for q in Question if q is not question}
    assert _replies(**answers).overall is Answer.UNKNOWN


@pytest.mark.parametrize("question", list(Question))
def test_one_no_decides(question: Question) -> None:
    answers = dict.fromkeys(Question, Answer.UNKNOWN) | {question: Answer.NO}
    assert _replies(**answers).overall is Answer.NO

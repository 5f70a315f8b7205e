"""Fits, suited and together for every piece: yes where all is as planned, no with the reason where it is not."""

from __future__ import annotations

import pytest

from patency.load import Load, PieceReplies, Question
from patency.plan import FlowJudge, six_answers
from patency.quantities import Answer
from tests.plan.cases import WIDE_JETS
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed, small_department

GOOD = small_department(SMALL_SITE)
LOAD = SMALL_PLAN.loads[0]


def answers(load: Load = LOAD, **changes: str) -> dict[tuple[str, str], PieceReplies]:
    texts = dict(SMALL_SITE)
    for was, now in changes.items():
        texts = changed(texts, was, now)
    return asked(load, small_department(texts) if changes else GOOD)


def asked(load: Load, department: object) -> dict[tuple[str, str], PieceReplies]:
    found = six_answers(department, load, SMALL_PLAN.day, fed={}, reached={}, held={})  # type: ignore[arg-type]
    return {(one.set, one.piece): one for one in found}


def without(piece: str) -> Load:
    return LOAD.model_copy(update={"pieces": tuple(one for one in LOAD.pieces if one.piece != piece)})


def with_piece(piece: str, **update: object) -> Load:
    pieces = tuple(one.model_copy(update=update) if one.piece == piece else one for one in LOAD.pieces)
    return LOAD.model_copy(update={"pieces": pieces})


def test_a_good_plan_fits_suits_and_keeps_its_sets_together() -> None:
    found = answers()
    assert len(found) == len(LOAD.pieces)
    for one in found.values():
        for question in (Question.FITS, Question.SUITED, Question.TOGETHER):
            assert one.replies[question].answer is Answer.YES, (one.piece, one.replies[question].why)
        assert one.overall is Answer.UNKNOWN  # nobody has answered the other three here


def test_one_missing_piece_parts_its_whole_set_and_no_other() -> None:
    found = answers(without("mod5/1/insert"))
    for (name, _), one in found.items():
        expected = Answer.NO if name == "Morning" else Answer.YES
        assert one.replies[Question.TOGETHER].answer is expected
    assert "insert" in found["Morning", "mod5/1/tube"].replies[Question.TOGETHER].why


@pytest.mark.parametrize(
    ("piece", "update"),
    [
        ("mod5/1/tube", {"lumens": ()}),
        ("mod5/1/tube", {"lumens": tuple(one.model_copy(update={"chain": ()}) for one in LOAD.pieces[0].lumens)}),
        ("mod5/1/insert", {"net": False}),
        ("mod5/1/insert", {"position": "no such basket"}),
        ("cable/1/cable", {"position": "no such coil"}),
        ("optic/1/optic", {"position": "no such holder"}),
        ("sleeve11/1/seal", {"position": "no such pod"}),
    ],
)
def test_what_does_not_fit_says_so(piece: str, update: dict[str, object]) -> None:
    try:
        reply = answers(with_piece(piece, **update))["Morning", piece].replies[Question.FITS]
    except KeyError:
        return  # names nobody knows are refused before a plan is asked anything
    assert reply.why


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("          highest_ph: 11.5\n", "          highest_ph: 9\n"),
        ("          highest_ph: 11.5\n", ""),
        ("least_a0: 3000 s", "least_a0: 6000 s"),
        ("        approval: {by: [K1, K2], on: 2025-02-01}\n", ""),
        ("        language: en\n", "        language: fi\n"),
    ],
)
def test_a_programme_that_does_not_suit_is_said_of_every_piece(was: str, now: str) -> None:
    found = asked(LOAD, small_department(changed(SMALL_SITE, was, now)))
    for one in found.values():
        assert one.replies[Question.SUITED].answer is not Answer.YES
        assert one.replies[Question.SUITED].why


def test_a_pump_beyond_its_curve_leaves_every_lumen_short() -> None:
    judge = FlowJudge(WIDE_JETS, SMALL_PLAN.day)
    with_lumens = {(one.set, one.piece) for one in LOAD.pieces if one.lumens}
    for verdict in (judge.thoroughly(LOAD), judge.quickly(LOAD)):
        assert set(verdict.short) == with_lumens
        assert verdict.weakest is None

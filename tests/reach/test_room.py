"""Room above a port, the sweep of the arms, baskets and pods: worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import BasketArea, LoadLimits, Pod
from patency.load import Question, Reply
from patency.quantities import Answer
from patency.reach import basket_fit, clearance, pod_fit
from tests.reach.cast import LIMITS, carrier, leaning, machine, piece

NO_ARMS = machine()
TUBE = piece(("tube", 200.0, 20.0))
AREA = BasketArea.model_validate(
    {
        "level": "floor",
        "at": {"x": "0 mm", "y": "0 mm", "z": "0 mm"},
        "width": "300 mm",
        "depth": "400 mm",
        "clear_height": "60 mm",
    }
)
POD = Pod.model_validate(
    {
        "name": "pod",
        "kind": "pod",
        "stock": 1,
        "inner_width": "30 mm",
        "inner_depth": "40 mm",
        "inner_height": "20 mm",
    }
)


def figure(reply: Reply, name: str) -> float:
    """Return the number behind an answer."""
    return next(figure.value for figure in reply.figures if figure.name == name)


@pytest.mark.parametrize(
    ("foot", "answer"),
    # clear are 300 mm: an upright tube of 200 mm finds room with its foot up to 100 mm above the port
    [(0.0, Answer.YES), (100.0, Answer.YES), (100.1, Answer.NO)],
)
def test_an_upright_piece_must_end_below_the_clearance(foot: float, answer: Answer) -> None:
    reply = clearance(TUBE, leaning(90.0, foot=foot), carrier(), NO_ARMS, LIMITS)
    assert (reply.question, reply.answer) == (Question.FITS, answer)
    assert figure(reply, "height of the tip above the port") == pytest.approx(0.2 + foot / 1000)


def test_a_piece_too_high_upright_finds_room_when_it_leans() -> None:
    # 400 mm long: upright 400 > 300; at 45° 400 sin 45° + 10 cos 45° = 289.9 mm
    long = piece(("tube", 400.0, 20.0))
    assert clearance(long, leaning(90.0), carrier(), NO_ARMS, LIMITS).answer is Answer.NO
    reply = clearance(long, leaning(45.0), carrier(), NO_ARMS, LIMITS)
    assert reply.answer is Answer.YES
    assert figure(reply, "height of the tip above the port") == pytest.approx(0.28991, abs=1e-5)


@pytest.mark.parametrize(("reach", "answer"), [("200 mm", Answer.YES), ("199 mm", Answer.NO)])
def test_where_a_port_states_its_reach_that_decides_and_not_the_clearance(reach: str, answer: Answer) -> None:
    stands = leaning(90.0, reach=reach, clearance="50 mm")
    assert clearance(TUBE, stands, carrier(), NO_ARMS, LIMITS).answer is answer


def test_the_reply_says_in_words_what_is_too_high() -> None:
    reply = clearance(TUBE, leaning(90.0, clearance="150 mm"), carrier(), NO_ARMS, LIMITS)
    assert reply.why == "stands 200 mm high, clear are 150 mm"


@pytest.mark.parametrize(
    ("height", "answer"),
    # arm 40 mm thick at this height; the piece stands from 100 to 300 mm above the rails; 10 mm must stay between,
    # so the arm's middle is allowed from 300 + 10 + 20 mm up and from 100 - 10 - 20 mm down
    [(330.0, Answer.YES), (329.0, Answer.NO), (200.0, Answer.NO), (71.0, Answer.NO), (70.0, Answer.YES)],
)
def test_a_piece_keeps_out_of_the_volume_swept_by_an_arm(height: float, answer: Answer) -> None:
    stands = leaning(90.0, at=(100, 0, 100))
    reply = clearance(TUBE, stands, carrier(), machine({"height": height}), LIMITS)
    assert reply.answer is answer


def test_the_distance_to_the_arms_is_that_of_the_nearest() -> None:
    reply = clearance(TUBE, leaning(90.0, at=(0, 0, 100)), carrier(), machine({"height": 400}, {"height": 20}), LIMITS)
    # upper: 400 - 20 - 300 = 80 mm; lower: 100 - (20 + 20) = 60 mm
    assert figure(reply, "distance to the arms' sweep") == pytest.approx(0.060)


@pytest.mark.parametrize(
    ("x", "inclination", "answer"),
    # arm of radius 250 mm over the piece's middle: upright the piece is 10 mm wide to the side; leaning at 60° it can
    # come 200 cos 60° + 10 = 110 mm nearer
    [(259.0, 90.0, Answer.NO), (261.0, 90.0, Answer.YES), (359.0, 60.0, Answer.NO), (361.0, 60.0, Answer.YES)],
)
def test_an_arm_counts_where_the_piece_could_lean_under_it(x: float, inclination: float, answer: Answer) -> None:
    stands = leaning(inclination, at=(x, 0, 0))
    assert clearance(TUBE, stands, carrier(), machine({"height": 100.0}), LIMITS).answer is answer


@pytest.mark.parametrize(("plane", "answer"), [(210.0, Answer.YES), (209.0, Answer.NO)])
def test_the_swept_plane_above_a_level_counts_as_an_arm(plane: float, answer: Answer) -> None:
    assert clearance(TUBE, leaning(90.0), carrier(plane), NO_ARMS, LIMITS).answer is answer


def test_without_a_stated_clearance_to_arms_a_piece_below_them_is_unknown() -> None:
    none = LoadLimits()
    assert clearance(TUBE, leaning(90.0), carrier(300.0), NO_ARMS, none).answer is Answer.UNKNOWN
    assert clearance(TUBE, leaning(90.0), carrier(150.0), NO_ARMS, none).answer is Answer.NO
    assert clearance(TUBE, leaning(90.0), carrier(), NO_ARMS, none).answer is Answer.YES


@given(length=st.floats(10.0, 400.0), inclination=st.floats(0.0, 90.0), more=st.floats(0.0, 200.0))
def test_what_fits_a_low_clearance_fits_a_higher_one(length: float, inclination: float, more: float) -> None:
    rod = piece(("rod", length, 5.0))
    low = clearance(rod, leaning(inclination, clearance="200 mm"), carrier(), NO_ARMS, LIMITS)
    high = clearance(rod, leaning(inclination, clearance=f"{200 + more!r} mm"), carrier(), NO_ARMS, LIMITS)
    assert not (low.answer is Answer.YES and high.answer is Answer.NO)


@pytest.mark.parametrize(
    ("length", "width", "answer"),
    # floor 300 by 400 mm: diagonal 500 mm; clear height 60 mm
    [(500.0, 60.0, Answer.YES), (501.0, 60.0, Answer.NO), (500.0, 61.0, Answer.NO)],
)
def test_a_piece_lies_within_the_diagonal_and_the_height_of_its_basket(
    length: float, width: float, answer: Answer
) -> None:
    assert basket_fit(piece(("block", length, width)), AREA).answer is answer


def test_the_reply_names_all_that_does_not_fit() -> None:
    reply = pod_fit(piece(("block", 60.0, 25.0)), POD)
    assert reply.answer is Answer.NO
    assert reply.why == "length 60 mm, the pod has room for 50 mm; thickness 25 mm, the pod has room for 20 mm"


def test_a_small_part_lies_in_its_pod() -> None:
    assert pod_fit(piece(("block", 50.0, 20.0)), POD).answer is Answer.YES


def test_where_nobody_states_whether_an_arm_turns_above_a_level_a_piece_is_unknown() -> None:
    level = carrier().levels["floor"].model_copy(update={"arm_above_m": None})
    unsaid = carrier().model_copy(update={"levels": {"floor": level}})
    reply = clearance(TUBE, leaning(90.0), unsaid, NO_ARMS, LIMITS)
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "whether an arm turns above its level is not stated")
    low = clearance(TUBE, leaning(90.0, clearance="100 mm"), unsaid, NO_ARMS, LIMITS)
    assert low.answer is Answer.NO

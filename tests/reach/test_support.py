"""Pieces that lean over their support: moments worked by hand, and what must hold for every piece."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from patency.catalogue import LoadLimits
from patency.load import Question, Reply
from patency.quantities import Answer
from patency.reach import tipping
from tests.reach.cast import LIMITS, leaning, piece

ROD = piece(("rod", 300.0, 5.0), mass_g=100.0)
NO_RESERVE = LoadLimits()


def figure(reply: Reply, name: str) -> float:
    """Return the number behind an answer."""
    return next(figure.value for figure in reply.figures if figure.name == name)


def test_a_uniform_rod_holds_as_the_squares_of_its_two_parts() -> None:
    # support at 200 of 300 mm: 200² / 100² = 4
    reply = tipping(ROD, leaning(60.0, support_at=200.0), LIMITS)
    assert (reply.question, reply.answer) == (Question.HELD, Answer.YES)
    assert figure(reply, "holding over tipping moment") == pytest.approx(4.0)


def test_the_moments_are_weight_times_lever_arm_times_cosine() -> None:
    # rod of 0.1 kg at 60°: behind the support 2/3 of the mass at 100 mm, beyond it 1/3 at 50 mm
    reply = tipping(ROD, leaning(60.0, support_at=200.0), LIMITS)
    weight_n = 0.1 * 9.80665 * math.cos(math.radians(60.0))
    assert figure(reply, "least holding moment") == pytest.approx(weight_n * 2 / 3 * 0.100)
    assert figure(reply, "largest tipping moment") == pytest.approx(weight_n * 1 / 3 * 0.050)


@pytest.mark.parametrize(
    ("support_at", "answer"),
    # ratio s² / (300 - s)²: 1.5 at s = 300 √1.5 / (1 + √1.5) = 165.15 mm
    [(165.2, Answer.YES), (165.1, Answer.NO), (150.0, Answer.NO)],
)
def test_the_reserve_of_the_site_decides(support_at: float, answer: Answer) -> None:
    assert tipping(ROD, leaning(45.0, support_at=support_at), LIMITS).answer is answer


def test_without_a_reserve_a_piece_that_tips_over_is_no_and_one_that_stays_unknown() -> None:
    assert tipping(ROD, leaning(45.0, support_at=149.0), NO_RESERVE).answer is Answer.NO
    assert tipping(ROD, leaning(45.0, support_at=200.0), NO_RESERVE).answer is Answer.UNKNOWN


def test_a_piece_of_unknown_mass_is_unknown_unless_it_tips_whatever_it_weighs() -> None:
    unweighed = piece(("rod", 300.0, 5.0), mass_g=None)
    reply = tipping(unweighed, leaning(45.0, support_at=200.0), LIMITS)
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "its mass is not known")
    assert [figure.name for figure in reply.figures] == ["holding over tipping moment"]
    assert tipping(unweighed, leaning(45.0, support_at=100.0), LIMITS).answer is Answer.NO


def test_the_worse_of_solid_and_shell_decides() -> None:
    # handle 100 × 40 mm, shaft 200 × 10 mm, support at 100 mm.
    # shell: 40·100·50 = 200 000 against 10·200·100 = 200 000: ratio 1; solid: 40²·100·50 against 10²·200·100: ratio 4
    forceps = piece(("ring handle", 100.0, 40.0), ("tube", 200.0, 10.0))
    reply = tipping(forceps, leaning(45.0, support_at=100.0), LIMITS)
    assert reply.answer is Answer.NO
    ratio = next(figure for figure in reply.figures if figure.name == "holding over tipping moment")
    assert (ratio.value, ratio.low, ratio.high) == pytest.approx((1.0, 1.0, 4.0))


def test_a_heavy_handle_at_the_foot_holds_and_at_the_tip_tips() -> None:
    drawn = (("ring handle", 100.0, 60.0), ("tube", 200.0, 10.0))
    stands = leaning(45.0, support_at=180.0)
    assert tipping(piece(*drawn), stands, LIMITS).answer is Answer.YES
    assert tipping(piece(*drawn, way_up="distal down"), stands, LIMITS).answer is Answer.NO


def test_an_upright_piece_has_no_tipping_moment() -> None:
    reply = tipping(piece(("rod", 300.0, 5.0), mass_g=None), leaning(90.0, support_at=50.0), LIMITS)
    assert (reply.answer, reply.figures) == (Answer.YES, ())


def test_a_piece_that_ends_before_its_support_is_not_held() -> None:
    reply = tipping(ROD, leaning(45.0, support_at=320.0), LIMITS)
    assert (reply.answer, reply.why) == (Answer.NO, "ends 20 mm before its support")


def test_a_piece_that_ends_at_its_support_leans_over_nothing() -> None:
    assert tipping(ROD, leaning(45.0, support_at=300.0), LIMITS).answer is Answer.YES


@given(
    bodies=st.lists(st.tuples(st.floats(5, 200), st.floats(2, 80)), min_size=1, max_size=4),
    share=st.floats(0.05, 0.95),
    shift=st.floats(0.0, 0.05),
)
def test_a_support_further_up_never_makes_tipping_worse(
    bodies: list[tuple[float, float]], share: float, shift: float
) -> None:
    drawn = piece(*(("rod", length, width) for length, width in bodies))
    length = 1000 * drawn.length_m
    ratios = [
        figure(tipping(drawn, leaning(45.0, support_at=length * part), LIMITS), "holding over tipping moment")
        for part in (share, share + shift * (1 - share))
    ]
    assert ratios[0] <= ratios[1] * (1 + 1e-9)


@given(length=st.floats(50, 500), share=st.floats(0.1, 0.9), pieces=st.integers(2, 6))
def test_the_way_a_uniform_rod_is_cut_into_bodies_does_not_matter(length: float, share: float, pieces: int) -> None:
    assume(length * share > 1.0)
    whole = piece(("rod", length, 5.0))
    cut = piece(*[("rod", length / pieces, 5.0)] * pieces)
    stands = leaning(30.0, support_at=length * share)
    name = "holding over tipping moment"
    assert figure(tipping(cut, stands, LIMITS), name) == pytest.approx(figure(tipping(whole, stands, LIMITS), name))

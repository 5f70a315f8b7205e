"""Cables on the coil rack and hoses between port and piece: worked by hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import Hose, LoadLimits
from patency.quantities import Answer
from patency.reach import arc_radius_m, coil_fit, coil_turns, hose_bend
from tests.reach.cast import LIMITS, LUER, coil_place, piece, port

if TYPE_CHECKING:
    from patency.catalogue import PieceType
    from patency.load import Reply

HOSE = {"bore": "3 mm", "length": "200 mm", "outer": "5 mm", "end": LUER}
HOSE_PORT = port(kind="hose", hose=HOSE)
LOOSE = Hose.model_validate(
    {
        "name": "hose",
        "kind": "hose",
        "stock": 1,
        "near": LUER,
        "far": LUER,
        "bore": "3 mm",
        "length": "300 mm",
        "outer": "8 mm",
    }
)


def cable(length: float, *, width: float = 5.0, bend: float | None = 40.0) -> PieceType:
    """Return a cable; lengths in millimetres."""
    known = {} if bend is None else {"least_bend_radius": f"{bend} mm"}
    return piece(("coil", length, width), placing="coil rack", way_up="coiled", **known)


def figure(reply: Reply, name: str) -> float:
    """Return the number behind an answer."""
    return next(figure.value for figure in reply.figures if figure.name == name)


def test_a_turn_is_a_helix_through_the_middle_of_the_cable() -> None:
    # mandrel 120, cable 5, pitch 8 mm: sqrt((π · 125)² + 8²) = 392.780 mm; 3 m take 7.6379 turns
    assert coil_turns(3.0, 0.005, coil_place(120.0)) == pytest.approx(7.6379, abs=1e-4)


def test_three_metres_of_cable_lie_on_ten_turns() -> None:
    reply = coil_fit(cable(3000.0), coil_place(120.0))
    assert (reply.answer, reply.why) == (Answer.YES, "7.6 turns of 10 on the coil place")


@pytest.mark.parametrize(
    ("laid", "mandrel", "why"),
    [
        (cable(5000.0), 120.0, "needs 12.7 turns, room is for 10"),
        (cable(1000.0, width=9.0), 120.0, "is 9 mm thick, a turn has 8 mm"),
        (cable(1000.0), 79.0, "bends to 40 mm, least are 40 mm"),
        (cable(5000.0, bend=70.0), 120.0, "needs 12.7 turns, room is for 10; bends to 60 mm, least are 70 mm"),
    ],
)
def test_a_cable_too_long_too_thick_or_bent_too_tightly_is_refused(laid: PieceType, mandrel: float, why: str) -> None:
    reply = coil_fit(laid, coil_place(mandrel))
    assert (reply.answer, reply.why) == (Answer.NO, why)


def test_a_mandrel_of_exactly_the_least_bend_radius_will_do() -> None:
    assert coil_fit(cable(1000.0), coil_place(80.0)).answer is Answer.YES


def test_a_cable_of_unknown_bend_radius_is_unknown() -> None:
    reply = coil_fit(cable(1000.0, bend=None), coil_place(120.0))
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "its least bend radius is not known")


def test_a_hose_whose_ends_meet_lies_in_a_full_circle() -> None:
    assert arc_radius_m(0.2, 0.0) == pytest.approx(0.2 / (2 * math.pi))


def test_a_hose_over_a_semicircle_has_half_its_chord_as_radius() -> None:
    assert arc_radius_m(math.pi * 0.05, 0.10) == pytest.approx(0.05)


def test_a_straight_hose_does_not_bend() -> None:
    assert arc_radius_m(0.2, 0.2) == math.inf


@given(radius=st.floats(0.01, 1.0), angle=st.floats(0.05, 2 * math.pi))
def test_the_radius_is_that_of_the_arc_the_length_and_chord_came_from(radius: float, angle: float) -> None:
    chord = 2 * radius * math.sin(angle / 2)
    assert arc_radius_m(radius * angle, chord) == pytest.approx(radius, rel=1e-6)


def test_a_port_without_hose_has_nothing_to_bend() -> None:
    assert hose_bend(port(), [], (0.0, 0.0), LIMITS) is None


@pytest.mark.parametrize(
    ("outer", "answer"),
    # 200 mm in a full circle: radius 31.83 mm; four times 7.9 mm is 31.6 mm, four times 8 mm is 32 mm
    [("7.9 mm", Answer.YES), ("8 mm", Answer.NO)],
)
def test_a_hose_bends_no_tighter_than_four_times_its_thickness(outer: str, answer: Answer) -> None:
    reply = hose_bend(port(kind="hose", hose={**HOSE, "outer": outer}), [], (0.0, 0.0), LIMITS)
    assert reply is not None
    assert reply.answer is answer
    assert figure(reply, "bend radius of the hose") == pytest.approx(0.0318310)


def test_the_far_end_of_the_gap_decides_whether_a_hose_reaches_and_the_near_end_how_it_bends() -> None:
    # a hose longer than π/2 times the gap bends tighter the nearer its ends are
    reply = hose_bend(HOSE_PORT, [], (0.0, 0.2001), LIMITS)
    assert reply is not None
    assert (reply.answer, reply.why) == (Answer.NO, "hose of 200 mm is too short for 200 mm")
    near = hose_bend(HOSE_PORT, [], (0.05, 0.2), LIMITS)
    assert near is not None
    assert figure(near, "bend radius of the hose") == pytest.approx(arc_radius_m(0.2, 0.05))


def test_a_loose_hose_in_the_chain_lengthens_and_its_thickness_counts() -> None:
    reply = hose_bend(HOSE_PORT, [LOOSE], (0.45, 0.45), LIMITS)
    assert reply is not None
    assert reply.answer is Answer.YES
    bend = next(figure for figure in reply.figures if figure.name == "bend radius of the hose")
    assert bend.limit is not None
    assert bend.limit.value == pytest.approx(4 * 0.008)


def test_a_stretched_hose_has_no_bend_radius() -> None:
    reply = hose_bend(HOSE_PORT, [], (0.2, 0.2), LIMITS)
    assert reply is not None
    assert (reply.answer, [figure.name for figure in reply.figures]) == (Answer.YES, ["gap bridged by the hose"])


def test_without_a_limit_on_bends_a_hose_that_reaches_is_unknown() -> None:
    reply = hose_bend(HOSE_PORT, [], (0.1, 0.1), LoadLimits())
    assert reply is not None
    assert reply.answer is Answer.UNKNOWN

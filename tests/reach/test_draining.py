"""Cups, bores and the plugs in them: worked by hand, by closed forms and by adding up slices."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import Cup, LoadLimits, PieceType
from patency.load import Question, Reply
from patency.quantities import Answer
from patency.reach import LYING_DEG, cup_drain_angle_deg, drainage, hold_up_m, kept_volume_m3
from tests.reach.cast import LIMITS, bored, mm, piece

ROOM_C = 20.0


def figure(reply: Reply, name: str) -> float:
    """Return the number behind an answer."""
    return next(figure.value for figure in reply.figures if figure.name == name)


def cup(opens: str, width: float = 20.0, depth: float = 30.0) -> Cup:
    """Return a cup, lengths in millimetres."""
    facts = {"name": f"{opens} hollow", "opens": opens, "width": mm(width), "depth": mm(depth)}
    return Cup.model_validate(facts)


def cupped(*cups: Cup, way_up: str = "distal up") -> PieceType:
    """Return a piece with cups."""
    return piece(("tube", 100.0, 20.0), cups=list(cups), way_up=way_up)


@pytest.mark.parametrize(
    ("opens", "way_up", "inclination", "angle"),
    [
        ("distal", "distal up", 90.0, -90.0),
        ("distal", "distal up", 30.0, -30.0),
        ("proximal", "distal up", 30.0, 30.0),
        ("distal", "distal down", 30.0, 30.0),
        ("proximal", "distal down", 90.0, -90.0),
        ("side", "distal up", 90.0, 0.0),
        ("side", "distal up", 60.0, 30.0),
        ("side", "lying", 0.0, 90.0),
        ("distal", "lying", 0.0, 0.0),
    ],
)
def test_an_opening_looks_down_by_the_lean_of_the_axis(
    opens: str, way_up: str, inclination: float, angle: float
) -> None:
    assert cup_drain_angle_deg(cup(opens), cupped(cup(opens), way_up=way_up), inclination) == pytest.approx(angle)


@pytest.mark.parametrize(("inclination", "answer"), [(15.0, Answer.YES), (14.9, Answer.NO), (0.0, Answer.NO)])
def test_a_cup_drains_from_the_drain_angle_up(inclination: float, answer: Answer) -> None:
    reply = drainage(cupped(cup("proximal")), inclination, LIMITS, ROOM_C)
    assert (reply.question, reply.answer) == (Question.REACHED, answer)


def test_an_upright_cup_keeps_all_its_volume_and_the_reply_says_so() -> None:
    # π/4 · 20² · 30 mm³ = 9.42 mL
    reply = drainage(cupped(cup("distal")), 90.0, LIMITS, ROOM_C)
    assert reply.answer is Answer.NO
    assert figure(reply, "volume that stays in distal hollow") == pytest.approx(math.pi / 4 * 0.02**2 * 0.03)
    assert reply.why == "distal hollow opens 90° above the horizontal and keeps 9.4 mL"


def test_a_cup_that_opens_to_the_side_is_turned_down_and_the_reply_says_so() -> None:
    reply = drainage(cupped(cup("side"), way_up="lying"), LYING_DEG, LIMITS, ROOM_C)
    assert reply.answer is Answer.YES
    assert reply.why == "side hollow, turned with the opening down, opens 90° below the horizontal"


def test_a_piece_nobody_has_looked_at_for_hollows_is_unknown() -> None:
    reply = drainage(piece(("rod", 100.0, 5.0)), 90.0, LIMITS, ROOM_C)
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "nobody has looked for hollows in it")


def test_a_solid_piece_has_nothing_to_drain() -> None:
    reply = drainage(cupped(), LYING_DEG, LIMITS, ROOM_C)
    assert (reply.answer, reply.why, reply.figures) == (Answer.YES, "has neither hollows nor bores", ())


def test_without_a_drain_angle_a_slope_is_unknown_and_no_slope_is_no() -> None:
    none = LoadLimits()
    assert drainage(cupped(cup("proximal")), 60.0, none, ROOM_C).answer is Answer.UNKNOWN
    assert drainage(cupped(cup("proximal")), 0.0, none, ROOM_C).answer is Answer.NO


@pytest.mark.parametrize(
    ("inclination", "answer"), [(90.0, Answer.YES), (15.0, Answer.YES), (14.0, Answer.NO), (0.0, Answer.NO)]
)
def test_a_bore_drains_along_its_axis(inclination: float, answer: Answer) -> None:
    assert drainage(bored(("tube", 300.0, 5.0)), inclination, LIMITS, ROOM_C).answer is answer


def test_a_blind_branch_is_unknown_because_nobody_knows_which_way_it_looks() -> None:
    reply = drainage(bored(("tube", 300.0, 5.0), dead_ends=["10 mm"]), 90.0, LIMITS, ROOM_C)
    assert reply.answer is Answer.UNKNOWN
    assert "blind branches of lumen bore" in reply.why


def test_a_blind_branch_nobody_has_looked_for_is_unknown_and_a_stated_none_is_not() -> None:
    bodies = (("tube", 300.0, 5.0),)
    reply = drainage(bored(*bodies, dead_ends=None), 90.0, LIMITS, ROOM_C)
    assert (reply.answer, reply.why) == (Answer.UNKNOWN, "whether lumen bore has blind branches is not stated")
    assert drainage(bored(*bodies, dead_ends=[]), 90.0, LIMITS, ROOM_C).answer is Answer.YES


def test_the_plug_in_a_bore_is_a_figure_and_no_fault() -> None:
    reply = drainage(bored(("tube", 10.0, 2.0), bore=0.5), 90.0, LIMITS, 60.0)
    assert reply.answer is Answer.YES
    assert figure(reply, "capillary plug in lumen bore") == pytest.approx(hold_up_m(0.0005, 60.0))


def test_the_plug_in_an_annulus_is_that_between_two_walls() -> None:
    # between parallel walls a gap b holds 2 σ / (ρ g b); the annulus 3.6/2.6 has a gap of 0.5 mm
    segment = {"shape": "annulus", "outer": "3.6 mm", "inner": "2.6 mm", "length": "300 mm"}
    lumen = {"fed_by": "connection", "inlet": {"family": "luer", "gender": "female"}, "segments": [segment]}
    forceps = piece(("tube", 300.0, 5.0), placing="port", lumens={"shaft": lumen}, cups=[])
    reply = drainage(forceps, 60.0, LIMITS, 20.0)
    assert figure(reply, "capillary plug in lumen shaft") == pytest.approx(
        2 * 0.07274 / (998.2 * 9.80665 * 0.0005), rel=1e-3
    )


def test_at_the_edge_between_the_two_forms_half_the_cup_stays() -> None:
    # the level runs from the lip's lowest point to the opposite edge of the bottom
    square = cup("distal", width=20.0, depth=20.0)
    for angle in (-45.0 - 1e-6, -45.0 + 1e-6):
        assert kept_volume_m3(square, angle) == pytest.approx(math.pi / 4 * 0.02**3 / 2, rel=1e-6)


def slices_m3(width: float, depth: float, looks_up_deg: float) -> float:
    """Add up what stands on strips of the bottom, from the low edge to the high one."""
    fall, radius, count, total = math.tan(math.radians(90.0 - looks_up_deg)), width / 2, 4000, 0.0
    wet = min(width, depth / fall)
    for number in range(count):
        across = wet * (number + 0.5) / count
        strip = 2 * math.sqrt(radius**2 - (radius - across) ** 2) * wet / count
        total += strip * (depth - across * fall)
    return total


@given(width=st.floats(1.0, 60.0), depth=st.floats(1.0, 90.0), looks_up=st.floats(1.0, 90.0))
def test_what_stays_in_a_tilted_cup_is_what_slices_of_it_add_up_to(width: float, depth: float, looks_up: float) -> None:
    hollow = cup("distal", width, depth)
    assert kept_volume_m3(hollow, -looks_up) == pytest.approx(
        slices_m3(hollow.width_m, hollow.depth_m, looks_up), rel=2e-3
    )


@given(width=st.floats(1.0, 60.0), depth=st.floats(1.0, 90.0), angles=st.tuples(st.floats(-90, 90), st.floats(-90, 90)))
def test_a_cup_turned_further_down_never_keeps_more(width: float, depth: float, angles: tuple[float, float]) -> None:
    low, high = sorted(angles)
    hollow = cup("distal", width, depth)
    whole = math.pi / 4 * hollow.width_m**2 * hollow.depth_m
    assert kept_volume_m3(hollow, high) <= kept_volume_m3(hollow, low) + 1e-9 * whole
    assert kept_volume_m3(hollow, low) <= whole * (1 + 1e-9)

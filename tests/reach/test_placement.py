"""How a piece stands: worked by hand, and what must hold for every inclination."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from patency.catalogue import FlushingSleeve, Hose, InjectorNozzle
from patency.reach import heights_m, inlet_gap_m, standing
from tests.reach.cast import LUER, leaning, piece, port

NOZZLE = InjectorNozzle.model_validate(
    {
        "name": "nozzle",
        "kind": "injector nozzle",
        "stock": 1,
        "near": LUER,
        "bore": "3 mm",
        "outlet": "2 mm",
        "outer": "5 mm",
        "length": "80 mm",
        "discharge_coefficient": 0.8,
    }
)
SLEEVE = FlushingSleeve.model_validate(
    {
        "name": "sleeve",
        "kind": "flushing sleeve",
        "stock": 1,
        "near": LUER,
        "grips": {"family": "tube", "gender": "female", "size": "5 ± 0.5 mm"},
        "inner": "5 mm",
        "bore": "3 mm",
        "length": "60 mm",
        "least_overlap": "10 mm",
        "end_cap": True,
    }
)
HOSE = Hose.model_validate(
    {
        "name": "hose",
        "kind": "hose",
        "stock": 1,
        "near": LUER,
        "far": LUER,
        "bore": "3 mm",
        "length": "200 mm",
        "outer": "5 mm",
    }
)
TUBE = piece(("tube", 100.0, 20.0))


def test_an_upright_tube_reaches_from_its_foot_to_its_length() -> None:
    assert heights_m(TUBE, leaning(90.0)) == pytest.approx((0.0, 0.100))


def test_a_lying_tube_reaches_half_its_width_to_either_side() -> None:
    assert heights_m(TUBE, leaning(0.0)) == pytest.approx((-0.010, 0.010))


def test_a_tube_at_thirty_degrees_has_its_highest_corner_beside_its_end() -> None:
    # 100 mm · sin 30° = 50 mm, and half of 20 mm · cos 30° = 8.660 mm above and below the axis
    assert heights_m(TUBE, leaning(30.0)) == pytest.approx((-0.00866025, 0.05866025), abs=1e-8)


def test_a_wide_handle_below_can_be_higher_than_the_thin_tip() -> None:
    # at 10°: handle ends at 90 sin 10° + 50 cos 10° = 64.87 mm, the tip at 100 sin 10° + 1 cos 10° = 18.35 mm
    forceps = piece(("ring handle", 90.0, 100.0), ("tube", 10.0, 2.0))
    assert heights_m(forceps, leaning(10.0))[1] == pytest.approx(0.0648686, abs=1e-6)


def test_distal_down_puts_the_distal_body_at_the_port() -> None:
    mushroom = [("rod", 100.0, 4.0), ("block", 10.0, 60.0)]
    # lying low at 45°: the block's lower corner is 30 cos 45° = 21.21 mm below the axis at the foot, or 100 mm up it
    up = heights_m(piece(*mushroom), leaning(45.0))
    down = heights_m(piece(*mushroom, way_up="distal down"), leaning(45.0))
    assert up == pytest.approx((-2 * math.sqrt(0.5) / 1000, (110 + 30) * math.sqrt(0.5) / 1000))
    assert down == pytest.approx((-30 * math.sqrt(0.5) / 1000, (110 + 2) * math.sqrt(0.5) / 1000))


def test_a_piece_over_a_nozzle_stands_as_high_as_the_nozzle_less_its_depth() -> None:
    assert standing(port(), [NOZZLE], 0.025).foot_m == pytest.approx(0.055)


def test_a_nozzle_as_deep_as_it_is_long_lets_the_piece_stand_at_the_port() -> None:
    assert standing(port(), [NOZZLE], 0.080).foot_m == pytest.approx(0.0)


def test_rigid_links_lift_the_piece_by_their_whole_length() -> None:
    assert standing(port(), [SLEEVE]).foot_m == pytest.approx(0.060)


@pytest.mark.parametrize("chain", [[HOSE, SLEEVE], [SLEEVE, HOSE], [HOSE]])
def test_behind_a_hose_the_piece_stands_at_the_port(chain: list[Hose | FlushingSleeve]) -> None:
    assert standing(port(), chain).foot_m == 0.0


def test_at_a_hose_port_the_piece_stands_at_the_port() -> None:
    hose = {"bore": "3 mm", "length": "200 mm", "outer": "5 mm", "end": LUER}
    assert standing(port(kind="hose", hose=hose), [SLEEVE]).foot_m == 0.0


def test_the_inlet_of_a_piece_at_its_own_port_is_no_distance_away() -> None:
    stands = leaning(60.0)
    assert inlet_gap_m(stands.port, TUBE, stands) == (0.0, 0.0)


def test_the_inlet_at_the_upper_end_is_as_far_as_the_piece_is_long() -> None:
    stands = leaning(60.0)
    upside_down = piece(("tube", 100.0, 20.0), way_up="distal down")
    assert inlet_gap_m(stands.port, upside_down, stands) == pytest.approx((0.100, 0.100))


def test_a_lean_of_unknown_direction_gives_a_least_and_a_largest_gap() -> None:
    # ports 40 mm apart; the upper end of 100 mm at 60° is 50 mm aside and 86.60 mm up
    stands = leaning(60.0, at=(40, 0, 0))
    upside_down = piece(("tube", 100.0, 20.0), way_up="distal down")
    gap = inlet_gap_m(port(), upside_down, stands)
    assert gap == pytest.approx((math.hypot(0.010, 0.0866025), math.hypot(0.090, 0.0866025)), abs=1e-7)


@given(
    angles=st.tuples(st.floats(0.0, 90.0), st.floats(0.0, 90.0)).map(sorted),
    length=st.floats(5.0, 500.0),
    foot=st.floats(0.0, 100.0),
)
def test_a_lower_inclination_never_raises_the_tip_of_a_thin_piece(
    angles: list[float], length: float, foot: float
) -> None:
    thin = piece(("rod", length, 1e-6))
    low, high = (heights_m(thin, leaning(angle, foot=foot))[1] for angle in angles)
    assert low <= high + 1e-8


@given(
    angle=st.floats(0.0, 90.0), bodies=st.lists(st.tuples(st.floats(1, 300), st.floats(1, 90)), min_size=1, max_size=5)
)
def test_the_height_is_at_most_the_diagonal_of_the_box_around_the_piece(
    angle: float, bodies: list[tuple[float, float]]
) -> None:
    drawn = piece(*(("block", length, width) for length, width in bodies))
    low, high = heights_m(drawn, leaning(angle))
    box = math.hypot(drawn.length_m, drawn.widest_m / 2)
    assert -drawn.widest_m / 2 - 1e-12 <= low <= high <= box + 1e-12

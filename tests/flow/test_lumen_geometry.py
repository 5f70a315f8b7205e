"""Length, volume, heights and cuts of a lumen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal

import pytest

from patency.flow import Orifice
from patency.flow.lumen_geometry import cut_stretches, lumen_length_m, lumen_volume_m3, side_openings, stance_of
from patency.flow.site_defaults import SiteDefaults
from tests.flow.one_port import bore, connected, is_opening, one_load, one_port
from tests.flow.test_site_defaults import LIMITS

if TYPE_CHECKING:
    from patency.catalogue import Lumen
    from patency.flow.stretches import Stretch

ANNULUS = {"shape": "annulus", "outer": "5 mm", "inner": "3 mm", "length": "100 mm", "loss": 2}


def lumen(*segments: dict[str, Any], **more: Any) -> Lumen:  # noqa: ANN401
    return one_port(connected(*segments, **more)).instruments["thing"].pieces["tube"].lumens["bore"]


def length_and_loss(stretch: Stretch) -> tuple[float, float]:
    assert not isinstance(stretch.segment, Orifice)
    return stretch.segment.length_m, stretch.segment.minor_loss


def test_lengths_and_volumes_add_up_over_bores_and_annuli() -> None:
    both = lumen(bore("2 mm", "200 mm"), ANNULUS)
    assert lumen_length_m(both) == pytest.approx(0.3)
    assert lumen_volume_m3(both) == pytest.approx(math.pi / 4.0 * (4e-6 * 0.2 + 16e-6 * 0.1))


@pytest.mark.parametrize(
    ("way_up", "inclination", "expected"),
    [
        ("distal up", "90 °", (0.1, 0.4, 1.0)),
        ("distal up", "30 °", (0.1, 0.25, 0.5)),
        ("distal down", "30 °", (0.25, 0.1, 0.5)),
        ("lying", "30 °", (0.1, 0.1, 0.0)),
        ("coiled", "30 °", (0.1, 0.1, 0.0)),
    ],
)
def test_the_ends_lie_as_high_as_the_piece_stands(
    way_up: Literal["distal up", "distal down", "lying", "coiled"],
    inclination: str,
    expected: tuple[float, float, float],
) -> None:
    at = {"x": "0 mm", "y": "0 mm", "z": "100 mm"}
    department = one_port(
        connected(bore("2 mm")), port={"at": at, "stand": {"inclination": inclination, "support_at": "50 mm"}}
    )
    carrier = department.carriers["Wren"]
    placed = one_load().pieces[0].model_copy(update={"way_up": way_up})
    stance = stance_of(carrier, carrier.ports["P"], placed, 0.3)
    assert (stance.inlet_m, stance.outlet_m, stance.steepness) == pytest.approx(expected)


def test_a_piece_that_stands_elsewhere_is_as_high_as_the_port_that_feeds_it() -> None:
    carrier = one_port(connected(bore("2 mm"))).carriers["Wren"]
    placed = one_load().pieces[0].model_copy(update={"position": "B1"})
    assert stance_of(carrier, carrier.ports["P"], placed, 0.3).inlet_m == 0.0


def test_holes_at_one_place_are_one_opening_and_stay_inside_the_length() -> None:
    holes = [
        {"count": 2, "diameter": "1 mm", "from_inlet": "200 mm"},
        {"count": 1, "diameter": "2 mm", "from_inlet": "200 mm"},
        {"count": 1, "diameter": "1 mm", "from_inlet": "300 mm"},
        {"count": 1, "diameter": "1 mm", "from_inlet": "0 mm"},
    ]
    openings = side_openings(lumen(bore("4 mm"), side_holes=holes), SiteDefaults(LIMITS))
    assert [at for at, _ in openings] == pytest.approx([0.003, 0.2, 0.297])
    middle = openings[1][1].segment
    assert is_opening(middle, 6e-6, 0.61)


def test_without_cuts_a_lumen_is_one_row() -> None:
    (row,) = cut_stretches(lumen(bore("2 mm", "200 mm", loss=0), ANNULUS), "it", [], SiteDefaults(LIMITS))
    assert [length_and_loss(stretch) for stretch in row] == [pytest.approx((0.2, 0.0)), pytest.approx((0.1, 2.0))]


def test_cuts_divide_the_length_and_meet_a_stated_loss_once() -> None:
    rows = cut_stretches(lumen(bore("2 mm", "200 mm", loss=0), ANNULUS), "it", [0.05, 0.22, 0.28], SiteDefaults(LIMITS))
    found = [[length_and_loss(stretch) for stretch in row] for row in rows]
    assert [[length for length, _ in row] for row in found] == [
        pytest.approx([0.05]),
        pytest.approx([0.15, 0.02]),
        pytest.approx([0.06]),
        pytest.approx([0.02]),
    ]
    assert [loss for row in found for _, loss in row] == [0.0, 0.0, 2.0, 0.0, 0.0]


def test_pieces_of_one_segment_share_its_tolerance() -> None:
    rows = cut_stretches(lumen(bore("2 mm", "200 mm"), ANNULUS), "it", [0.05, 0.25], SiteDefaults(LIMITS))
    parts = [stretch.part for row in rows for stretch in row]
    assert parts[0] == parts[1]
    assert parts[2] == parts[3]
    assert parts[0] != parts[2]


def test_a_cut_between_two_segments_divides_none() -> None:
    rows = cut_stretches(lumen(bore("2 mm", "200 mm"), ANNULUS), "it", [0.2], SiteDefaults(LIMITS))
    assert [[length_and_loss(stretch)[0] for stretch in row] for row in rows] == [[0.2], [pytest.approx(0.1)]]

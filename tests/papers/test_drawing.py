"""Drawings are true to scale and survive a bad photocopy."""

from __future__ import annotations

import itertools
import math
import re
from xml.etree import ElementTree as ET

import pytest

from patency.catalogue import Form
from patency.papers.drawing.carrier import PlaceMark, draw_legend, draw_level
from patency.papers.drawing.oblique import draw_oblique
from patency.papers.drawing.piece import draw_piece
from tests.papers.cast import FULL_LOAD, LARKMERE, SMALL, SMALL_LOAD

SVG = "{http://www.w3.org/2000/svg}"
CARRIER = LARKMERE.carriers["Lapwing"]


def labels(picture: str) -> dict[str, tuple[float, float]]:
    """Words in a picture to where they stand."""
    return {
        text.text or "": (float(text.attrib["x"]), float(text.attrib["y"]))
        for text in ET.fromstring(picture).iter(f"{SVG}text")
    }


def level_of_ports() -> str:
    return draw_level(CARRIER, "ports", {"H1": PlaceMark("A"), "T1": PlaceMark(capped=True)}, 120.0)


def test_ports_stand_where_the_catalogue_says() -> None:
    at = labels(level_of_ports())
    scales = []
    for one, other in itertools.pairwise(CARRIER.ports):
        a, b = CARRIER.ports[one].at, CARRIER.ports[other].at
        on_paper = math.dist(at[one], at[other])
        scales.append(on_paper / math.dist((a.x_m, a.y_m), (b.x_m, b.y_m)))
    assert min(scales) == pytest.approx(max(scales), rel=1e-3)


def test_near_ports_are_at_the_foot_of_the_page() -> None:
    at = labels(level_of_ports())
    assert at["H1"][1] > at["N1"][1] > at["H24"][1]


def test_every_port_of_a_level_is_numbered_and_used_ones_carry_their_set() -> None:
    at = labels(level_of_ports())
    assert set(CARRIER.ports) <= set(at)
    assert "A" in at


def test_baskets_and_coils_are_drawn_on_their_own_level() -> None:
    at = labels(draw_level(CARRIER, "back", {"B5": PlaceMark("BC"), "C1": PlaceMark("A")}, 60.0))
    assert {"B5", "C1", "C7", "BC"} <= set(at)
    assert "H1" not in at


def test_a_port_left_open_says_so() -> None:
    assert "open" in labels(draw_level(CARRIER, "ports", {"T1": PlaceMark(left_open=True)}, 120.0))


@pytest.mark.parametrize("instrument", ["mod5", "veress", "optic", "shaver", "fix3", "reducer"])
def test_a_piece_is_as_long_as_its_outline_at_the_scale_of_the_sheet(instrument: str) -> None:
    for piece in LARKMERE.instruments[instrument].pieces.values():
        picture = ET.fromstring(draw_piece(piece, 120.0))
        assert float(picture.attrib["width"].removesuffix("mm")) == pytest.approx(
            piece.length_m * 120.0 + 1.0, abs=1e-2
        )


def test_every_form_can_be_drawn() -> None:
    drawn = set()
    for instrument in LARKMERE.instruments.values():
        for piece in instrument.pieces.values():
            assert len(ET.fromstring(draw_piece(piece, 120.0))) > len(piece.outline)
            drawn |= {body.form for body in piece.outline}
    assert drawn >= {Form.TUBE, Form.ROD, Form.CONE, Form.BLOCK, Form.JAW, Form.RING_HANDLE, Form.COIL}


def test_the_loaded_carrier_shows_every_port_and_more_lines_with_pieces_than_without() -> None:
    loaded = draw_oblique(LARKMERE, FULL_LOAD, 150.0)
    bare = draw_oblique(LARKMERE, FULL_LOAD.model_copy(update={"pieces": ()}), 150.0)
    assert set(CARRIER.ports) <= set(labels(loaded))
    assert loaded.count("<line") > bare.count("<line") + 60


@pytest.mark.parametrize(
    "picture",
    [level_of_ports(), draw_legend(), draw_oblique(SMALL, SMALL_LOAD, 100.0)],
    ids=["level", "legend", "view"],
)
def test_every_colour_is_a_grey(picture: str) -> None:
    colours = set(re.findall(r"#([0-9a-fA-F]{3,6})\b", picture))
    assert colours
    for colour in colours:
        third = len(colour) // 3
        assert colour[:third] == colour[third : 2 * third] == colour[2 * third :]

"""Drawings are true to scale, readable, and survive a bad photocopy."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

from patency.catalogue import Form, Leaning
from patency.load import pieces_of_set
from patency.papers.drawing.carrier import PlaceMark, draw_legend, draw_level
from patency.papers.drawing.oblique import draw_oblique
from patency.papers.drawing.piece import draw_piece
from tests.papers.cast import FULL_LOAD, LARKMERE, SMALL, SMALL_LOAD, greys_only

if TYPE_CHECKING:
    from patency.catalogue import Carrier

SVG = "{http://www.w3.org/2000/svg}"
CARRIERS = {"Lapwing": LARKMERE.carriers["Lapwing"], "Dunlin": LARKMERE.carriers["Dunlin"]}
LAPWING = CARRIERS["Lapwing"]
ROOM = (150.0, 186.0)


def labels(picture: str) -> dict[str, tuple[float, float]]:
    """Words in a picture to where they stand."""
    return {
        text.text or "": (float(text.attrib["x"]), float(text.attrib["y"]))
        for text in ET.fromstring(picture).iter(f"{SVG}text")
    }


def sizes(picture: str) -> dict[str, float]:
    """Words in a picture to the size of their type."""
    return {text.text or "": float(text.attrib["font-size"]) for text in ET.fromstring(picture).iter(f"{SVG}text")}


def lines(picture: str) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Straight lines of a picture, by their two ends."""
    return [
        (
            (float(line.attrib["x1"]), float(line.attrib["y1"])),
            (float(line.attrib["x2"]), float(line.attrib["y2"])),
        )
        for line in ET.fromstring(picture).iter(f"{SVG}line")
    ]


def level_of_ports(carrier: Carrier = LAPWING) -> str:
    return draw_level(carrier, "ports", {"H1": PlaceMark("A"), "T1": PlaceMark(capped=True)}, ROOM)


def test_the_cross_of_a_cap_leaves_the_number_of_its_port_free() -> None:
    elements = [one for one in ET.fromstring(level_of_ports()) if one.tag != f"{SVG}title"]
    number = next(place for place, one in enumerate(elements) if one.text == "T1")
    patch = elements[number - 1]
    (x, y), high = labels(level_of_ports())["T1"], sizes(level_of_ports())["T1"]
    left, top = float(patch.attrib["x"]), float(patch.attrib["y"])
    width, height = float(patch.attrib["width"]), float(patch.attrib["height"])
    assert patch.tag == f"{SVG}rect"
    assert left < x - 0.6 * high < x + 0.6 * high < left + width
    assert top < y - 0.7 * high < y < top + height
    crossing = [place for place, one in enumerate(elements) if one.tag == f"{SVG}line"]
    assert crossing == [number - 3, number - 2]
    for ends in lines(level_of_ports()):
        assert all(not (left < across < left + width and top < down < top + height) for across, down in ends)


def size_of(picture: str) -> tuple[float, float]:
    root = ET.fromstring(picture)
    return float(root.attrib["width"].removesuffix("mm")), float(root.attrib["height"].removesuffix("mm"))


@pytest.mark.parametrize("carrier", CARRIERS.values(), ids=CARRIERS)
def test_ports_stand_where_the_catalogue_says(carrier: Carrier) -> None:
    at = labels(level_of_ports(carrier))
    scales = []
    for one, other in itertools.pairwise(carrier.ports):
        a, b = carrier.ports[one].at, carrier.ports[other].at
        on_paper = math.dist(at[one], at[other])
        scales.append(on_paper / math.dist((a.x_m, a.y_m), (b.x_m, b.y_m)))
    assert min(scales) == pytest.approx(max(scales), rel=1e-3)


def test_near_ports_are_at_the_foot_of_the_page_and_left_ones_at_the_left() -> None:
    at = labels(level_of_ports())
    assert at["H1"][1] > at["N1"][1] > at["H24"][1]
    assert at["H1"][0] < at["H2"][0] < at["H6"][0]


@pytest.mark.parametrize("room", [(150.0, 186.0), (58.0, 186.0), (150.0, 70.0)])
def test_a_level_fills_its_room_one_way_and_keeps_its_shape(room: tuple[float, float]) -> None:
    width, height = size_of(draw_level(LAPWING, "ports", {}, room))
    assert width == pytest.approx(room[0]) or height == pytest.approx(room[1])
    assert width <= room[0] + 1e-3
    assert height <= room[1] + 1e-3
    assert (height - 14) / (width - 14) == pytest.approx(LAPWING.depth_m / LAPWING.width_m, rel=1e-3)


def test_every_port_of_a_level_is_numbered_and_used_ones_carry_their_set() -> None:
    at = labels(level_of_ports())
    assert set(LAPWING.ports) <= set(at)
    assert "A" in at


@pytest.mark.parametrize("carrier", CARRIERS.values(), ids=CARRIERS)
def test_no_symbol_of_a_port_touches_another(carrier: Carrier) -> None:
    root = ET.fromstring(level_of_ports(carrier))
    radii = {float(circle.attrib["r"]) for circle in root.iter(f"{SVG}circle")}
    at = labels(level_of_ports(carrier))
    closest = min(math.dist(at[a], at[b]) for a, b in itertools.combinations(carrier.ports, 2))
    assert 2 * 1.2 * max(radii) < closest


def test_long_names_of_ports_are_written_smaller_and_stay_inside_their_symbol() -> None:
    port = LAPWING.ports["H1"]
    carrier = LAPWING.model_copy(update={"ports": {"front left 12": port, "H2": LAPWING.ports["H2"]}})
    picture = draw_level(carrier, "ports", {}, ROOM)
    size = sizes(picture)
    radius = float(next(ET.fromstring(picture).iter(f"{SVG}circle")).attrib["r"])
    assert size["front left 12"] < size["H2"]
    assert size["front left 12"] * 0.64 * len("front left 12") <= 2 * radius


def test_baskets_and_coils_are_drawn_on_their_own_level_and_hide_no_name() -> None:
    picture = draw_level(LAPWING, "back", {"B5": PlaceMark("BC"), "C1": PlaceMark("A")}, (58.0, 70.0))
    at = labels(picture)
    assert {"B5", "C1", "C7", "BC"} <= set(at)
    assert "H1" not in at
    coils = [rect.attrib for rect in ET.fromstring(picture).iter(f"{SVG}rect") if rect.attrib["fill"] == "white"][1:]
    lowest = max(float(coil["y"]) + float(coil["height"]) for coil in coils)
    capital = 0.72 * sizes(picture)["B5"]
    assert lowest < at["B5"][1] - capital < at["B5"][1] < size_of(picture)[1] - 7


def test_baskets_without_coils_are_named_in_their_middle_in_large_type() -> None:
    picture = draw_level(LAPWING, "lower baskets", {"B1": PlaceMark("AB")}, (58.0, 70.0))
    assert sizes(picture)["B1"] > 4
    assert {"B1", "B2", "AB"} <= set(labels(picture))


def test_a_port_left_open_says_so() -> None:
    assert "OPEN" in labels(draw_level(LAPWING, "ports", {"T1": PlaceMark(left_open=True)}, ROOM))


@pytest.mark.parametrize("instrument", ["mod5", "veress", "optic", "shaver", "fix3", "reducer"])
def test_a_piece_is_as_long_as_its_outline_at_the_scale_of_the_sheet(instrument: str) -> None:
    for piece in LARKMERE.instruments[instrument].pieces.values():
        assert size_of(draw_piece(piece, 120.0))[0] == pytest.approx(piece.length_m * 120.0 + 1.0, abs=1e-2)


def test_the_bodies_of_a_piece_follow_one_another_without_gap() -> None:
    piece = LARKMERE.instruments["shaver"].pieces["handpiece"]
    bodies = [rect.attrib for rect in ET.fromstring(draw_piece(piece, 120.0)).iter(f"{SVG}rect")]
    assert len(bodies) == len(piece.outline)
    ends = [(float(body["x"]), float(body["x"]) + float(body["width"])) for body in bodies]
    assert all(one[1] == pytest.approx(other[0], abs=2e-3) for one, other in itertools.pairwise(ends))
    assert ends[-1][1] - ends[0][0] == pytest.approx(piece.length_m * 120.0, abs=1e-2)


def test_every_form_can_be_drawn() -> None:
    drawn = set()
    for instrument in LARKMERE.instruments.values():
        for piece in instrument.pieces.values():
            assert len(ET.fromstring(draw_piece(piece, 120.0))) > len(piece.outline)
            drawn |= {body.form for body in piece.outline}
    assert drawn >= {Form.TUBE, Form.ROD, Form.CONE, Form.BLOCK, Form.JAW, Form.RING_HANDLE, Form.COIL}


def test_the_loaded_carrier_shows_every_port_and_more_lines_with_pieces_than_without() -> None:
    loaded = draw_oblique(LARKMERE, FULL_LOAD, (184.0, 122.0))
    bare = draw_oblique(LARKMERE, FULL_LOAD.model_copy(update={"pieces": ()}), (184.0, 122.0))
    assert set(LAPWING.ports) <= set(labels(loaded))
    assert len(lines(loaded)) > len(lines(bare)) + 60


@pytest.mark.parametrize("carrier", CARRIERS)
def test_no_label_in_the_view_of_the_loaded_carrier_covers_another(carrier: str) -> None:
    load = FULL_LOAD.model_copy(update={"carrier": carrier, "pieces": ()})
    picture = draw_oblique(LARKMERE, load, (184.0, 122.0))
    at, type_mm = labels(picture), sizes(picture)
    for one, other in itertools.combinations(CARRIERS[carrier].ports, 2):
        (x1, y1), (x2, y2) = at[one], at[other]
        width = 0.64 * type_mm[one] * (len(one) + len(other)) / 2
        assert abs(x1 - x2) > width or abs(y1 - y2) > 0.75 * type_mm[one], f"{one} and {other}"


def upright_forceps(way_up: str = "distal up") -> str:
    """Draw the small carrier with nothing on it but a forceps, 490 mm long, upright at H2."""
    carrier, forceps = SMALL.carriers["Wren"], SMALL.instruments["fix5"]
    upright = carrier.ports["H2"].model_copy(update={"stand": carrier.ports["N1"].stand})
    whole = forceps.pieces["whole"].model_copy(update={"way_up": way_up})
    department = SMALL.model_copy(
        update={
            "carriers": {"Wren": carrier.model_copy(update={"ports": {**carrier.ports, "H2": upright}})},
            "instruments": {**SMALL.instruments, "fix5": forceps.model_copy(update={"pieces": {"whole": whole}})},
        }
    )
    pieces = tuple(piece for piece in SMALL_LOAD.pieces if piece.position == "H2")
    return draw_oblique(department, SMALL_LOAD.model_copy(update={"pieces": pieces}), (184.0, 184.0))


def test_an_upright_piece_is_as_tall_as_it_is_against_the_width_of_the_carrier() -> None:
    picture = upright_forceps()
    floor = next(ET.fromstring(picture).iter(f"{SVG}polygon")).attrib["points"].split()
    (left, _), (right, _) = (map(float, corner.split(",")) for corner in floor[:2])
    scale = (right - left) / SMALL.carriers["Wren"].width_m
    heights = [y for line in lines(picture) for _, y in line]
    # The lines begin at the middles of the rings of its handle, a quarter of their 80 mm above the port.
    assert max(heights) - min(heights) == pytest.approx((0.490 - 0.020) * scale, abs=0.05)


def test_a_piece_with_its_tip_down_has_its_jaws_at_the_port_and_its_handle_above() -> None:
    for picture, handle_above in ((upright_forceps(), False), (upright_forceps("distal down"), True)):
        middle = sum(y for line in lines(picture) for _, y in line) / (2 * len(lines(picture)))
        rings = [float(circle.attrib["cy"]) for circle in ET.fromstring(picture).iter(f"{SVG}circle")]
        assert all((ring < middle) is handle_above for ring in rings)


def test_a_piece_that_stands_with_its_tip_down_is_drawn_with_its_tip_left() -> None:
    whole = SMALL.instruments["fix5"].pieces["whole"]
    group = ET.fromstring(draw_piece(whole.model_copy(update={"way_up": "distal down"}), 100.0))[1]
    width = size_of(draw_piece(whole, 100.0))[0]
    assert group.attrib["transform"] == f"translate({width:g} 0) scale(-1 1)"
    assert len(group) == len(ET.fromstring(draw_piece(whole, 100.0))) - 1


def leaning(side: Leaning | None) -> dict[str, float]:
    """Where on paper the far end of the forceps on H3 comes to lie, from its port: across and up."""
    pieces = tuple(placed.model_copy(update={"leans": side}) for placed in SMALL_LOAD.pieces if placed.position == "H3")
    picture = ET.fromstring(draw_oblique(SMALL, SMALL_LOAD.model_copy(update={"pieces": pieces}), (184.0, 184.0)))
    ports = {text.text: text for text in picture.iter(f"{SVG}text")}
    lines = picture.iter(f"{SVG}line")
    ends = [(float(line.get("x2", "nan")), float(line.get("y2", "nan"))) for line in lines]
    x, y = float(ports["H3"].get("x", "nan")), float(ports["H3"].get("y", "nan"))
    width = float(picture.get("viewBox", "").split()[2])
    assert all(0 <= end[0] <= width for end in ends)
    far = min(ends, key=lambda end: end[1])
    return {"across": far[0] - x, "up": y - far[1]}


def test_a_piece_is_drawn_leaning_to_the_side_the_plan_names() -> None:
    found = {side: leaning(side) for side in Leaning}
    assert found[Leaning.LEFT]["across"] < found[Leaning.FRONT]["across"] < 0
    assert 0 < found[Leaning.BACK]["across"] < found[Leaning.RIGHT]["across"]
    assert found[Leaning.FRONT]["up"] < found[Leaning.LEFT]["up"] < found[Leaning.BACK]["up"]
    assert leaning(None) == found[Leaning.BACK]


def test_a_hose_from_another_port_is_drawn_dashed_to_the_piece() -> None:
    picture = ET.fromstring(draw_oblique(LARKMERE, FULL_LOAD, (184.0, 122.0)))
    several = sum(len(piece.lumens) - 1 for piece in FULL_LOAD.pieces if piece.lumens)
    dashed = [path for path in picture.iter(f"{SVG}path") if "stroke-dasharray" in path.attrib]
    assert len(dashed) == several > 0


@pytest.mark.parametrize(
    "picture",
    [level_of_ports(), draw_legend(), draw_oblique(SMALL, SMALL_LOAD, (100.0, 100.0))],
    ids=["level", "legend", "view"],
)
def test_every_colour_is_a_grey(picture: str) -> None:
    assert greys_only(picture)


def test_no_line_is_so_thin_that_a_copy_of_a_copy_loses_it() -> None:
    pictures = [level_of_ports(), draw_legend(), draw_oblique(LARKMERE, FULL_LOAD, (184.0, 116.0))]
    pictures += [draw_level(LAPWING, level, {}, (58.0, 66.0)) for level in LAPWING.levels]
    for name in FULL_LOAD.sets:
        pictures += [draw_piece(piece.piece_type, 100.0) for piece in pieces_of_set(LARKMERE, name)]
    for picture in pictures:
        widths = [float(one.attrib["stroke-width"]) for one in ET.fromstring(picture).iter() if "stroke" in one.attrib]
        assert widths
        assert min(widths) >= 0.4


def test_every_piece_of_the_demo_is_drawn_in_greys() -> None:
    for name in FULL_LOAD.sets:
        for piece in pieces_of_set(LARKMERE, name):
            assert greys_only(draw_piece(piece.piece_type, 120.0))

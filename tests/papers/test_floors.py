"""Where in baskets and pods pieces lie, on the load sheet: to scale, numbered as in the list, the front at the foot."""

from __future__ import annotations

from functools import cache
from xml.etree import ElementTree as ET

import pytest

from patency.catalogue import Leaning
from patency.load import Load, OnFloor
from patency.papers import LoadSheet, draw_load_floors, load_sheet, load_sheet_html, load_sheet_pdf
from patency.reach import floor_of, floor_plans, solids_of_load, stated_as_drawn
from tests.papers.cast import FULL_LOAD, LARKMERE, PRINTED, SMALL, SMALL_LOAD, greys_only, small_sheet, text_of

SVG = "{http://www.w3.org/2000/svg}"
ROOM = (100.0, 100.0)
FRONT = "front: you stand here"


@cache
def stated() -> Load:
    """State of everything in one basket, and in the pod that stands in it, where it lies."""
    return stated_as_drawn(FULL_LOAD, solids_of_load(LARKMERE, FULL_LOAD), pod())


def pod() -> str:
    return next(floor for one in FULL_LOAD.pieces if (floor := floor_of(one) or "").startswith("pod of "))


@cache
def sheet() -> LoadSheet:
    return load_sheet(LARKMERE, stated(), "Tuesday", floors=floor_plans(LARKMERE, stated()))


def numbers_in_lists() -> dict[tuple[str, str], str]:
    return {piece: line.number for step in sheet().place_steps for line in step.lines for piece in line.pieces}


def texts(picture: str) -> list[str]:
    return [one.text or "" for one in ET.fromstring(picture).iter(f"{SVG}text")]


def shapes(picture: str, stroke: str) -> list[ET.Element]:
    """Outlines of pieces in a picture: those drawn with this width of stroke."""
    return [one for one in ET.fromstring(picture).iter(f"{SVG}polygon") if one.attrib["stroke-width"] == stroke]


def test_each_floor_with_stated_places_is_drawn_once_at_the_first_step_that_lays_something_on_it() -> None:
    plans = floor_plans(LARKMERE, stated())
    assert len(plans) == 2
    shown = [(step.place, picture) for step in sheet().place_steps for picture in step.floors_svg]
    assert [place for place, _ in shown] == [plans[0].name, "pod"]
    for plan, (_, picture) in zip(plans, shown, strict=True):
        numbers = numbers_in_lists()
        assert len(shapes(picture, "0.35")) == len(plan.outlines)
        written = texts(picture)
        assert sorted(one for one in written if one.isdigit()) == sorted(numbers[key] for key in plan.outlines)
        assert FRONT in written
        assert "distal end" in written
        assert greys_only(picture)


def test_numbers_tell_kinds_of_pieces_apart_on_one_floor() -> None:
    for plan in floor_plans(LARKMERE, stated()):
        lines = [line for step in sheet().place_steps for line in step.lines if set(line.pieces) & set(plan.outlines)]
        assert [line.number for line in lines] == [f"{number}" for number in range(1, len(lines) + 1)]


def test_a_piece_without_a_stated_place_has_no_number_and_no_picture() -> None:
    where = {(one.set, one.piece): one.lies for one in stated().pieces}
    assert any(lies is None for lies in where.values())
    assert all((number == "") == (where[key] is None) for key, number in numbers_in_lists().items())
    bare = load_sheet(LARKMERE, FULL_LOAD, "Tuesday", floors=floor_plans(LARKMERE, FULL_LOAD))
    assert not any(step.floors_svg or line.number for step in bare.place_steps for line in step.lines)
    assert 'class="floor"' not in load_sheet_html(bare)


def test_paper_and_page_show_the_pictures_beside_the_list() -> None:
    assert load_sheet_html(sheet()).count('class="floor"') == 2
    words = text_of(load_sheet_pdf(sheet(), PRINTED))
    before = text_of(load_sheet_pdf(load_sheet(LARKMERE, FULL_LOAD, "Tuesday"), PRINTED))
    assert words.count(FRONT) == before.count(FRONT) + 2


def test_a_piece_is_drawn_to_scale_where_the_plan_lays_it_the_front_at_the_foot() -> None:
    (plan, *_) = floor_plans(LARKMERE, stated())
    (picture, *_) = (picture for step in sheet().place_steps for picture in step.floors_svg)
    edge = next(one for one in ET.fromstring(picture).iter(f"{SVG}rect")).attrib
    left, top, width, depth = (float(edge[one]) for one in ("x", "y", "width", "height"))
    scale = width / plan.width_m
    assert depth == pytest.approx(scale * plan.depth_m, abs=0.01)
    drawn = shapes(picture, "0.35")
    for outline, polygon in zip(plan.outlines.values(), drawn, strict=True):
        corners = [tuple(map(float, one.split(","))) for one in polygon.attrib["points"].split()]
        for (x, y), (from_left, from_front) in zip(corners, outline.corners_m, strict=True):
            assert x == pytest.approx(left + scale * from_left, abs=0.02)
            assert y == pytest.approx(top + depth - scale * from_front, abs=0.02)


def test_no_two_numbers_stand_on_each_other() -> None:
    for step in sheet().place_steps:
        for picture in step.floors_svg:
            elements = ET.fromstring(picture).iter(f"{SVG}text")
            places = [
                (float(one.attrib["x"]), float(one.attrib["y"])) for one in elements if (one.text or "").isdigit()
            ]
            assert len({(round(x), round(y)) for x, y in places}) == len(places)


def test_what_a_hand_goes_to_is_lit_by_frame_and_tag_and_not_by_colour_alone() -> None:
    plans = floor_plans(LARKMERE, stated())
    key = next(iter(plans[0].outlines))
    (picture,) = draw_load_floors(LARKMERE, stated(), plans, [key], ROOM)
    (lit,) = shapes(picture, "0.9")
    assert len(shapes(picture, "0.35")) == len(plans[0].outlines) - 1
    number = next(one for one in ET.fromstring(picture).iter(f"{SVG}text") if one.text == numbers_in_lists()[key])
    tags = [one.text for one in ET.fromstring(picture).iter(f"{SVG}text") if one.attrib["fill"] == "white"]
    assert lit.attrib["fill"] == "#ffd23f"
    assert number is not None
    assert numbers_in_lists()[key] in tags


def test_small_parts_light_their_pod_in_its_basket_and_themselves_in_the_pod() -> None:
    plans = floor_plans(LARKMERE, stated())
    inside = list(plans[1].outlines)
    basket, within = draw_load_floors(LARKMERE, stated(), plans, inside, ROOM)
    boxes = [one for one in ET.fromstring(basket).iter(f"{SVG}rect") if one.attrib.get("stroke-width") == "1.4"]
    assert len(boxes) == 1
    assert shapes(basket, "0.9") == []
    assert len(shapes(within, "0.9")) == len(inside)


def test_a_piece_whose_place_is_open_lights_nothing() -> None:
    key = next((one.set, one.piece) for one in stated().pieces if one.lies is None)
    assert draw_load_floors(LARKMERE, stated(), floor_plans(LARKMERE, stated()), [key], ROOM) == ()


def test_the_sheet_of_the_small_department_shows_a_stated_place() -> None:
    lies = OnFloor(from_left_m=0.01, from_front_m=0.02, points=Leaning.RIGHT)
    first = next(one for one in SMALL_LOAD.pieces if floor_of(one) == "B1")
    pieces = tuple(one.model_copy(update={"lies": lies}) if one == first else one for one in SMALL_LOAD.pieces)
    load = SMALL_LOAD.model_copy(update={"pieces": pieces})
    shown = load_sheet(SMALL, load, "Monday", floors=floor_plans(SMALL, load))
    (picture,) = (picture for step in shown.place_steps for picture in step.floors_svg)
    assert "basket B1, seen from above" in picture
    assert [one for one in texts(picture) if one.isdigit()] == ["1"]
    assert not any(step.floors_svg for step in small_sheet().place_steps)

"""Pictures of what jets strike: the right class at the right place, told apart without colour, small, to scale."""

from __future__ import annotations

import base64
import io
import math
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from patency.papers import (
    draw_piece_reach,
    draw_reach,
    draw_reach_legend,
    load_sheet,
    load_sheet_html,
    load_sheet_pdf,
    reach_pictures,
)
from patency.papers.reach.pictures import LOOK_WORDS, SIDES
from patency.papers.reach.raster import View, palette, png_address, sample_of, seen
from patency.reach import (
    JetSampling,
    LoadReach,
    Look,
    Role,
    Wetting,
    looks_of_bodies,
    reach_of_load,
    strikes_of_load,
)
from tests.papers.cast import FULL_LOAD, LARKMERE, PRINTED, squeezed, text_of
from tests.reach.drawn import arm, arranged, drawn_load, jet, square

FEW = ("mod5/1/tube", "sleeve11/1/obturator", "optic/1/light post adapter/1")
SVG = "{http://www.w3.org/2000/svg}"
FRONT = View(np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]), "from the front")
ABOVE = View(np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), "from above")
BELOW = View(np.array([1.0, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]), "from below")


@cache
def two_plates() -> LoadReach:
    """Return a plate over a jet and a smaller one between them, which shadows the middle of the upper one."""
    bodies = arranged(square(0.10, (0.0, 0.0, 0.40)), square(0.02, (0.0, 0.0, 0.20)))
    arms = arm(jet())
    return LoadReach(bodies, arms, strikes_of_load(bodies, arms, JetSampling(angle_steps=8, finer=1)), ())


def test_hoses_are_left_out_of_the_picture_of_a_load() -> None:
    found = two_plates()
    hose = replace(arranged(square(0.03, (0.05, 0.0, 0.10))).solids[0], role=Role.HOSE, piece=("S", "1"))
    bodies = replace(found.arranged, solids=(*found.arranged.solids, hose))
    assert draw_reach(replace(found, arranged=bodies), (100.0, 80.0)) == draw_reach(found, (100.0, 80.0))


@cache
def few_pieces() -> LoadReach:
    site, load = drawn_load()
    kept = [one for one in load.pieces if one.piece in FEW]
    small = load.model_copy(update={"pieces": tuple(kept)})
    arms = site.machine_kinds[load.machine_kind].arms
    return reach_of_load(site, small, dict.fromkeys(arms, 95 / 60000), 50.0, sampling=JetSampling(12, 1))


def classes(points: np.ndarray) -> np.ndarray:
    """Return the class drawn at each point; -1 for paper, -2 for an edge."""
    return np.where(points < 2, -1 - points.astype(int), (points.astype(int) - 2) // 6)


def test_a_shadow_is_drawn_where_it_falls_as_large_as_the_cone_of_rays_makes_it() -> None:
    bodies = looks_of_bodies(two_plates())[:1]
    box = np.array([[-0.06, -0.06], [0.06, 0.06]])
    below = classes(seen(bodies, BELOW, box, 0.0005))
    dark = (below == Look.MISSED) | (below == Look.REFLECTED)
    assert dark.any()
    # The shadow of a 20 mm plate at half the height is 40 mm wide; patches are 4 mm.
    assert np.count_nonzero(dark.any(axis=0)) * 0.5 == pytest.approx(40.0, abs=4.1)
    assert dark[120, 120]
    assert not dark[30:60, 30:60].any()
    above = classes(seen(bodies, ABOVE, box, 0.0005))
    assert set(np.unique(above)) <= {-2, -1, Look.REFLECTED, Look.MISSED}


def test_what_stands_in_front_hides_what_stands_behind_and_paper_stays_where_nothing_is() -> None:
    bodies = looks_of_bodies(two_plates())
    box = np.array([[-0.06, -0.06], [0.06, 0.06]])
    below = seen(bodies, BELOW, box, 0.0005)
    assert below[0, 0] == 0
    assert classes(below)[120, 120] in (Look.OFTEN, Look.SOMETIMES, Look.SELDOM)
    edges = below == 1
    assert edges[120, 98:102].any()
    assert edges[120, 138:143].any()


def test_a_piece_is_drawn_to_scale() -> None:
    bodies = looks_of_bodies(two_plates())[:1]
    points = seen(bodies, BELOW, np.array([[-0.06, -0.06], [0.06, 0.06]]), 0.0005)
    assert np.count_nonzero((points > 0).any(axis=0)) * 0.5 == pytest.approx(100.0, abs=0.6)


def test_classes_follow_the_hits_and_what_is_not_known_is_drawn_as_that() -> None:
    found = two_plates()
    assert found.strikes is not None
    strikes = found.strikes.pieces["S", "0"]
    (body, looks), _ = looks_of_bodies(found)
    hits = body.hits_per_min
    struck = body.wetting == Wetting.STRUCK
    assert (looks[struck & (hits < 30)] == Look.SELDOM).all()
    assert (looks[struck & (hits >= 30) & (hits < 120)] == Look.SOMETIMES).all()
    assert (looks[~struck] >= Look.REFLECTED).all()
    assert struck.sum() == (strikes.wetting == Wetting.STRUCK).sum() > 0
    away = replace(found, strikes=None)
    assert {int(one) for _, looks in looks_of_bodies(away) for one in np.unique(looks)} == {Look.UNKNOWN}
    gap = replace(found, arranged=replace(found.arranged, gaps={("S", "0"): ("its jaw is not stated",)}))
    (_, first), (_, second) = looks_of_bodies(gap)
    assert set(first) == {Look.UNKNOWN}
    assert Look.UNKNOWN not in second


def test_fields_differ_in_grey_and_in_pattern_so_that_print_without_colour_tells_them_apart() -> None:
    grey = palette().astype(float) @ np.array([0.299, 0.587, 0.114])
    inks = {}
    for look in Look:
        field = grey[sample_of(look, 64, 64)[1:-1, 1:-1]]
        inks[look] = (field.mean(), field.std())
    struck = [inks[look][0] for look in (Look.OFTEN, Look.SOMETIMES, Look.SELDOM)]
    assert struck == sorted(struck, reverse=True)
    assert inks[Look.MISSED][0] < min(inks[look][0] for look in Look if look is not Look.MISSED) - 20
    for look, (mean, spread) in inks.items():
        for other, (mean_of_other, spread_of_other) in inks.items():
            assert look == other or math.hypot(mean - mean_of_other, spread - spread_of_other) > 12, (look, other)


def test_the_file_of_a_raster_reads_back_as_the_colours_it_was_made_of() -> None:
    import matplotlib.image

    points = sample_of(Look.REFLECTED, 31, 17)
    file = base64.b64decode(png_address(points).partition(",")[2])
    read = matplotlib.image.imread(io.BytesIO(file), format="png")
    assert np.round(255 * read[..., :3]).astype(np.uint8).tolist() == palette()[points].tolist()


def test_a_load_is_drawn_from_four_sides_in_its_room_the_same_each_time() -> None:
    found = few_pieces()
    picture = draw_reach(found, (120.0, 110.0))
    assert draw_reach(found, (120.0, 110.0)) == picture
    root = ET.fromstring(picture)
    words = [one.text for one in root.iter(f"{SVG}text")]
    assert words[:4] == ["from the front", "from the right", "from the back", "from the left"]
    assert str(words[4]).endswith(" mm")
    assert root.attrib["width"] == "120mm"
    assert float(root.attrib["height"].removesuffix("mm")) <= 110.0
    images = list(root.iter(f"{SVG}image"))
    assert len(images) == 4
    for one in images:
        assert float(one.attrib["x"]) + float(one.attrib["width"]) <= 120.0
    assert len(picture) < 60_000


def test_one_side_alone_is_larger_and_a_side_there_is_not_is_refused() -> None:
    found = few_pieces()
    one = draw_reach(found, (120.0, 110.0), ("left",))
    assert one.count("<image") == 1
    assert "from the left" in one
    with pytest.raises(ValueError, match="not in"):
        draw_reach(found, (120.0, 110.0), ("above",))


def test_a_piece_is_drawn_from_four_sides_of_its_own_axis_with_its_name() -> None:
    found = few_pieces()
    for key in found.arranged.number_of:
        picture = draw_piece_reach(found, key, (184.0, 60.0))
        root = ET.fromstring(picture)
        *names, scale = [one.text or "" for one in root.iter(f"{SVG}text")]
        assert len({*names[:4]}) == len(SIDES)
        assert all(name.startswith("from ") for name in names[:4])
        assert found.strikes is not None
        hollow = any("inside" in zone.name for zone in found.strikes.pieces[key].zones)
        assert names[4:] == ["cut lengthwise"] * hollow
        assert scale.endswith(" mm")
        title = root.find(f"{SVG}title")
        assert title is not None
        assert found.arranged.solids[found.arranged.number_of[key]].words in (title.text or "")
        assert float(root.attrib["height"].removesuffix("mm")) <= 60.0
        assert len(picture) < 30_000
    with pytest.raises(KeyError):
        draw_piece_reach(found, ("S", "no such piece"), (184.0, 60.0))


def test_a_piece_that_is_cut_shows_what_lies_inside_and_black_where_it_is_cut() -> None:
    tube = next(body for body, _ in looks_of_bodies(few_pieces()) if "adapter" in body.words)
    plain = tube._replace(patch_of=np.zeros_like(tube.patch_of))
    view = View(np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]), "cut lengthwise")
    low, high = plain.vertices_m.min(axis=0), plain.vertices_m.max(axis=0)
    box = np.array([[low[2], low[1]], [high[2], high[1]]])
    middle = float((low[0] + high[0]) / 2) * float(view.ahead[0])
    whole = seen([(plain, np.full(1, Look.MISSED))], view, box, 0.0005)
    cut = seen([(plain, np.full(1, Look.MISSED))], view._replace(cut_m=middle), box, 0.0005)
    assert np.count_nonzero(cut == 1) > 2 * np.count_nonzero(whole == 1)
    assert 0 < np.count_nonzero(cut > 1) < np.count_nonzero(whole > 1)


def test_the_legend_names_every_class_once_and_speaks_another_language() -> None:
    words = [one.text for one in ET.fromstring(draw_reach_legend(184.0)).iter(f"{SVG}text")]
    assert words == list(LOOK_WORDS.values())
    assert "NOT KNOWN" in draw_reach_legend(184.0, str.upper)
    heights = [float(ET.fromstring(draw_reach_legend(90.0, str, each)).attrib["height"][:-2]) for each in (1, 2)]
    assert heights[0] == 2 * heights[1]


def test_a_body_gets_a_frame_as_large_as_it_is_drawn() -> None:
    pictures = [draw_reach(two_plates(), (120.0, 110.0), ("front",), str, framed) for framed in (None, 0, 1)]
    frames = [[one for one in ET.fromstring(text).iter(f"{SVG}rect") if one.get("fill") == "none"] for text in pictures]
    assert [len(each) for each in frames] == [0, 1, 1]
    wide, narrow = (float(frames[number][0].attrib["width"]) for number in (1, 2))
    assert wide / narrow == pytest.approx(5.0, rel=0.02)  # as the plates themselves


def test_a_sheet_shows_the_load_its_weakest_pieces_and_says_what_struck_does_not_say() -> None:
    found = few_pieces()
    weakest = dict.fromkeys(found.arranged.number_of, "inside the tube (35 %, no jet points there)")
    pictures = reach_pictures(found, {**weakest, ("Gallbladder One", "what could not be drawn"): "nowhere"})
    assert [name.split(",")[0] for name, *_ in pictures.pieces] == [
        found.arranged.solids[number].words.split(",")[0] for number in found.arranged.number_of.values()
    ]
    shadows = ["set A: light cable, under the block (5 %, no jet points there)", "set A: shaver: not known"]
    sheet = load_sheet(LARKMERE, FULL_LOAD, "Tuesday", reach=pictures, shadows=shadows)
    page, paper = load_sheet_html(sheet), text_of(load_sheet_pdf(sheet, PRINTED))
    for text in (page, paper):
        flat = squeezed(text)
        assert squeezed("Where jets strike directly") in flat
        assert squeezed("nothing of what is left on a surface") in flat
        assert squeezed("wetted only by reflection, not struck") in flat
        assert all(squeezed(name) in flat for name, *_ in pictures.pieces)
        assert flat.count(squeezed("inside the tube (35 %, no jet points there)")) == len(pictures.pieces)
        assert all(squeezed(line) in flat for line in shadows)
        assert flat.index(squeezed("Struck least by the jets")) < flat.index(squeezed(shadows[0]))
    cut = sum("cut lengthwise" in svg for *_, svg in pictures.pieces)
    assert 0 < cut < len(pictures.pieces)
    assert page.count("data:image/png") == 4 + 4 * len(pictures.pieces) + cut + len(LOOK_WORDS)
    assert "Where jets strike" not in load_sheet_html(load_sheet(LARKMERE, FULL_LOAD, "Tuesday"))

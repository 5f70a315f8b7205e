"""Every piece of the demo department can be drawn, weighed, connected and placed."""

from __future__ import annotations

import math
from itertools import chain

import pytest
import yaml

from patency.catalogue import FedBy, Form, Gender, Part, Placing, Pod
from patency.demo import larkmere_texts
from patency.load import PieceToPlace, pieces_of_set
from patency.quantities import Answer, Limit
from patency.reach import basket_fit, coil_fit, pod_fit
from patency.reach.solids.pieces import piece_solid
from tests.demo.larkmere import TEN_SETS, larkmere

PIECES = {
    f"{instrument} {key}": PieceToPlace("", f"{instrument}/1/{key}", instrument, 1, key, each, piece)
    for instrument, each in larkmere().instruments.items()
    for key, piece in each.pieces.items()
}
KNOWN = {name: piece for name, piece in PIECES.items() if piece.instrument != "wrist"}


def lumen_length_m(piece: PieceToPlace, key: str) -> float:
    return sum(segment.length_m.nominal for segment in piece.lumens[key].segments)


def test_every_file_says_that_it_is_invented_before_anything_else() -> None:
    for name, text in larkmere_texts().items():
        comment = [line for line in text.splitlines() if line.strip()][:6]
        head = " ".join(line for line in comment if line.startswith("#"))
        assert text.startswith("#"), name
        assert "invented for demonstration" in head, name


def test_no_key_of_the_department_stands_in_two_files() -> None:
    places = [
        (group, key)
        for text in larkmere_texts().values()
        for group, entries in yaml.safe_load(text).items()
        if isinstance(entries, dict)
        for key in entries
    ]
    assert len(places) == len(set(places))


@pytest.mark.parametrize("name", KNOWN)
def test_a_piece_has_a_mass_and_somebody_looked_for_hollows(name: str) -> None:
    piece = KNOWN[name].piece_type
    assert piece.mass_kg is not None
    assert 0.0005 < piece.mass_kg < 1.0
    assert piece.cups is not None


@pytest.mark.parametrize("name", KNOWN)
def test_a_piece_is_not_denser_than_steel(name: str) -> None:
    piece = KNOWN[name].piece_type
    solid_m3 = sum(math.pi / 4 * body.width_m**2 * body.length_m for body in piece.outline)
    assert piece.mass_kg is not None
    assert piece.mass_kg < 8000 * solid_m3


def test_of_the_visiting_instrument_mass_and_hollows_are_not_known() -> None:
    visiting = PIECES["wrist instrument"].piece_type
    assert visiting.mass_kg is None
    assert visiting.cups is None


@pytest.mark.parametrize("name", PIECES)
def test_a_piece_is_drawn_in_true_size(name: str) -> None:
    piece = PIECES[name].piece_type
    assert piece.widest_m < 0.1
    longest = 3.2 if any(body.form is Form.COIL for body in piece.outline) else 0.7
    assert 0.005 < piece.length_m < longest


@pytest.mark.parametrize(("name", "lumen"), [(name, key) for name, piece in PIECES.items() for key in piece.lumens])
def test_a_passage_is_no_longer_than_its_piece_and_narrower_than_the_widest_place(name: str, lumen: str) -> None:
    piece = PIECES[name]
    assert lumen_length_m(piece, lumen) <= piece.piece_type.length_m + 1e-9
    widest = max(
        segment.bore_m.nominal if segment.shape == "bore" else segment.outer_m.nominal
        for segment in piece.lumens[lumen].segments
    )
    assert widest < piece.piece_type.widest_m


@pytest.mark.parametrize(("name", "lumen"), [(name, key) for name, piece in PIECES.items() for key in piece.lumens])
def test_side_holes_lie_within_the_passage(name: str, lumen: str) -> None:
    piece = PIECES[name]
    for holes in piece.lumens[lumen].side_holes or ():
        assert 0.0 < holes.from_inlet_m < lumen_length_m(piece, lumen)


@pytest.mark.parametrize("name", [name for name, piece in PIECES.items() if piece.lumens])
def test_a_connected_passage_states_its_connector_and_an_open_one_has_none(name: str) -> None:
    for lumen in PIECES[name].lumens.values():
        assert (lumen.inlet is None) == (lumen.fed_by is FedBy.INJECTOR_NOZZLE)


@pytest.mark.parametrize("name", ["mod5 tube", "mod5long tube"])
def test_the_drawn_tube_end_is_as_thick_as_the_connector_says_over_the_length_of_the_grip(name: str) -> None:
    piece = PIECES[name].piece_type
    lumen = piece.lumens["bore"]
    assert lumen.inlet is not None
    assert lumen.inlet.size_m is not None
    assert piece.outline[0].width_m == pytest.approx(lumen.inlet.size_m.nominal)
    assert piece.outline[0].length_m == lumen.grip_m


def test_the_blunt_inner_needle_goes_through_the_outer_one() -> None:
    inner, outer = PIECES["veress inner"].piece_type, PIECES["veress outer"].piece_type
    bore = outer.lumens["bore"].segments[-1]
    assert bore.shape == "bore"
    assert inner.outline[-1].width_m < bore.bore_m.nominal < outer.outline[1].width_m


@pytest.mark.parametrize("size", ["13", "11", "6", "4"])
def test_an_obturator_goes_through_its_sleeve_and_out_of_it(size: str) -> None:
    sleeve, obturator = PIECES[f"sleeve{size} sleeve"].piece_type, PIECES[f"sleeve{size} obturator"].piece_type
    bore = sleeve.lumens["bore"].segments[0]
    assert bore.shape == "bore"
    assert obturator.outline[1].width_m < bore.bore_m.nominal
    assert sum(body.length_m for body in obturator.outline[1:]) > sleeve.length_m
    assert obturator.placing is Placing.BASKET


@pytest.mark.parametrize("name", ["mod5", "mod5long"])
def test_an_insert_goes_through_its_tube_and_out_of_it(name: str) -> None:
    tube, insert = PIECES[f"{name} tube"].piece_type, PIECES[f"{name} insert"].piece_type
    bore = tube.lumens["bore"].segments[0]
    assert bore.shape == "bore"
    assert insert.outline[0].width_m < bore.bore_m.nominal
    assert insert.length_m > tube.length_m


def test_only_the_punch_and_the_passer_end_in_a_male_luer() -> None:
    male = {
        piece.instrument
        for piece in PIECES.values()
        for lumen in piece.lumens.values()
        if lumen.inlet and lumen.inlet.family == "luer" and lumen.inlet.gender is Gender.MALE
    }
    assert male == {"suctionpunch", "passer"}


@pytest.mark.parametrize(
    "name", [name for name, piece in PIECES.items() if Part.CAP in (piece.piece_type.states or {})]
)
def test_a_cap_taken_off_a_flush_port_is_a_piece_of_its_own(name: str) -> None:
    instrument = PIECES[name].instrument
    if instrument != "shaver":
        assert f"{instrument} port cap" in PIECES


def test_every_stretch_that_is_no_plain_tube_or_rod_has_a_name_of_its_own() -> None:
    nameless = {
        (name, body.form)
        for name, piece in PIECES.items()
        for body in piece.piece_type.outline
        if body.form not in (Form.TUBE, Form.ROD) and body.name is None
    }
    assert nameless == set()


def test_what_joins_the_rings_of_a_handle_is_the_ratchet_where_the_piece_has_one() -> None:
    for name, piece in PIECES.items():
        if any(body.form is Form.RING_HANDLE for body in piece.piece_type.outline):
            mesh = piece_solid(piece.piece_type).mesh
            assert mesh is not None
            words = {zone.word for zone in mesh.zones}
            bridge = "ratchet" if Part.RATCHET in (piece.piece_type.states or {}) else "yoke of the handle"
            assert words & {"ratchet", "yoke of the handle"} == {bridge}, name


def test_jaws_and_blades_are_to_be_open_wherever_any_are_drawn() -> None:
    for name, piece in PIECES.items():
        forms = {body.form for body in piece.piece_type.outline}
        stated = {Part.JAWS, Part.BLADES} & set(piece.piece_type.states or {})
        assert bool(stated) == (Form.JAW in forms), name


@pytest.mark.parametrize("name", [name for name, piece in KNOWN.items() if piece.piece_type.placing is Placing.BASKET])
def test_a_loose_piece_lies_within_every_basket_area(name: str) -> None:
    areas = chain.from_iterable(carrier.basket_areas.values() for carrier in larkmere().carriers.values())
    assert {basket_fit(KNOWN[name].piece_type, area).answer for area in areas} == {Answer.YES}


@pytest.mark.parametrize("name", [name for name, piece in KNOWN.items() if piece.piece_type.placing is Placing.POD])
def test_a_small_part_lies_within_the_lidded_fine_basket(name: str) -> None:
    pod = larkmere().accessories["lidded_fine_basket"]
    assert isinstance(pod, Pod)
    assert pod_fit(KNOWN[name].piece_type, pod).answer is Answer.YES


@pytest.mark.parametrize("name", TEN_SETS)
def test_the_small_parts_of_a_set_lie_side_by_side_in_one_pod(name: str) -> None:
    pod = larkmere().accessories["lidded_fine_basket"]
    assert isinstance(pod, Pod)
    small = [piece.piece_type for piece in pieces_of_set(larkmere(), name) if piece.piece_type.placing is Placing.POD]
    assert small
    assert sum(part.length_m * part.widest_m for part in small) < 0.7 * pod.inner_width_m * pod.inner_depth_m


@pytest.mark.parametrize("name", TEN_SETS)
def test_the_loose_pieces_of_a_set_lie_side_by_side_on_its_basket_areas(name: str) -> None:
    site = larkmere()
    area = site.carriers["Lapwing"].basket_areas["B1"]
    pod = site.accessories["lidded_fine_basket"]
    assert isinstance(pod, Pod)
    pieces = [piece.piece_type for piece in pieces_of_set(site, name)]
    lying = [part for part in pieces if part.placing in {Placing.BASKET, Placing.OPTIC_HOLDER}]
    needed = sum(part.length_m * part.widest_m for part in lying) + pod.inner_width_m * pod.inner_depth_m
    assert needed < site.sets[name].basket_areas * area.width_m * area.depth_m


@pytest.mark.parametrize("name", ["lightcable cable", "hfcable cable"])
def test_a_cable_coils_on_every_place_of_both_racks(name: str) -> None:
    places = chain.from_iterable(carrier.coil_places.values() for carrier in larkmere().carriers.values())
    assert {coil_fit(PIECES[name].piece_type, place).answer for place in places} == {Answer.YES}


def test_cables_are_about_three_metres_long_and_their_drums_twice_the_bend_radius() -> None:
    cables = [PIECES["lightcable cable"].piece_type, PIECES["hfcable cable"].piece_type]
    assert [cable.length_m for cable in cables] == pytest.approx([2.5, 3.0])
    widest = max(cable.least_bend_radius_m or math.inf for cable in cables)
    for carrier in larkmere().carriers.values():
        assert all(place.mandrel_diameter_m >= 2 * widest for place in carrier.coil_places.values())
        assert all(math.pi * place.mandrel_diameter_m * place.turns >= 3.0 for place in carrier.coil_places.values())


def test_an_optic_lies_in_the_cushioned_holder() -> None:
    holder = larkmere().accessories["optic_holder"]
    optic = PIECES["optic optic"].piece_type
    assert holder.kind == "optic holder"
    assert optic.length_m <= holder.holds_length_m
    assert optic.widest_m <= holder.holds_width_m


def test_the_lightest_loose_pieces_need_a_net_and_no_others() -> None:
    loose = {name: piece.piece_type for name, piece in KNOWN.items() if piece.piece_type.placing is Placing.BASKET}
    light = {name for name, piece in loose.items() if piece.mass_kg is not None and piece.mass_kg <= 0.02}
    assert {name for name, piece in PIECES.items() if piece.piece_type.needs_net} == light
    assert light == {"sleeve4 obturator", "mod5 insert", "mod5long insert"}


def test_no_need_of_a_passage_is_stated_except_where_it_is_called_invented() -> None:
    stated = {}
    for piece in PIECES.values():
        for lumen in piece.lumens.values():
            for limit in lumen.need.__dict__.values():
                if isinstance(limit, Limit):
                    stated[piece.instrument] = limit.source
    assert set(stated) == {"manipulator", "shaver", "wrist"}
    assert all("invented for the demo" in source for source in stated.values())

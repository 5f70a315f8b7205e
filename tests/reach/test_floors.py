"""Floors of baskets and pods in a load: what is stated lies where it was drawn, and full baskets are laid closer."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from patency.catalogue import Leaning, Placing
from patency.load import Load, OnFloor
from patency.reach import (
    floor_of,
    free_places,
    laid_closer,
    pose_there,
    posed_reach,
    solids_of_load,
    stated_as_drawn,
    without_room,
)
from patency.reach.arms import arms_of_load
from patency.reach.faults import Rule
from patency.reach.load_reach import LoadReach
from patency.reach.touching import intersections
from tests.demo.larkmere import hand_made_load, larkmere

AREA = "B3"  # Appendix: 12 pieces and its pod take 97 % of this basket


@cache
def appendix() -> Load:
    """Return the load of Appendix alone, without what stands on ports."""
    whole = hand_made_load("L2")
    pieces = tuple(
        one.model_copy(update={"position": AREA} if one.placing is Placing.BASKET else {"stands_in": AREA})
        for one in whole.pieces
        if one.set == "Appendix" and one.placing in {Placing.BASKET, Placing.POD, Placing.OPTIC_HOLDER}
    )
    return whole.model_copy(update={"pieces": pieces, "sets": ("Appendix",)})


def test_what_finds_no_room_side_by_side_finds_some_where_all_are_laid_closer() -> None:
    before = solids_of_load(larkmere(), appendix())
    lost = without_room(before)
    assert {piece.split("/")[-1] for _, piece in lost} == {"handle"}
    closer = laid_closer(larkmere(), appendix(), AREA)
    assert closer is not None
    after = solids_of_load(larkmere(), closer)
    assert without_room(after) == []
    assert intersections(after) == []
    assert set(after.number_of) == set(before.number_of) | set(lost)
    in_pod = {(one.set, one.piece) for one in closer.pieces if one.placing is Placing.POD}
    assert set(after.assumed) == in_pod


def test_a_basket_too_small_even_so_is_left_as_it_is() -> None:
    site, carrier = larkmere(), larkmere().carriers["Lapwing"]
    small = carrier.basket_areas[AREA].model_copy(update={"depth_m": 0.4})
    areas = carrier.model_copy(update={"basket_areas": {**carrier.basket_areas, AREA: small}})
    site = site.model_copy(update={"carriers": {**site.carriers, "Lapwing": areas}})
    assert laid_closer(site, appendix(), AREA) is None


@pytest.mark.parametrize("floor", ["B3", "pod of Appendix"])
def test_stating_where_things_lie_moves_none_of_them(floor: str) -> None:
    drawn = solids_of_load(larkmere(), appendix())
    stated = stated_as_drawn(appendix(), drawn, floor)
    on_floor = [one for one in stated.pieces if floor_of(one) == floor and (one.set, one.piece) in drawn.number_of]
    assert on_floor
    assert all(one.lies is not None for one in on_floor)
    assert set(stated.pods) == {"Appendix"}
    again = solids_of_load(larkmere(), stated)
    both = zip(drawn.solids, again.solids, strict=True)
    assert all(np.array_equal(a, b) for one, other in both for a, b in zip(one.pose, other.pose, strict=True))
    assert stated_as_drawn(appendix(), drawn, "B9") == appendix()


def test_free_places_keep_clear_of_everything_on_the_floor() -> None:
    closer = laid_closer(larkmere(), appendix(), AREA)
    assert closer is not None
    drawn = solids_of_load(larkmere(), closer)
    kind = larkmere().machine_kinds[closer.machine_kind]
    found = LoadReach(drawn, arms_of_load(kind, {}, 40.0), None, ())
    seal = next(one for one in closer.pieces if one.piece == "sleeve11/1/seal")
    places = free_places(drawn, seal, 6)
    assert len(places) == 6
    for lies in places:
        pose = pose_there(drawn, seal, lies)
        seen = posed_reach(larkmere(), closer, found, (seal.set, seal.piece), pose)
        assert [one for one in seen.faults if one.rule in {Rule.INTERSECTS, Rule.POKES, Rule.SWEEP}] == []
    cable = seal.model_copy(update={"placing": Placing.COIL_RACK, "position": "C1"})
    assert free_places(drawn, cable, 6) == []
    with pytest.raises(KeyError):
        pose_there(drawn, cable, places[0])


def test_a_piece_lies_where_the_plan_states_it_and_the_others_beside_it() -> None:
    lies = OnFloor(from_left_m=0.100, from_front_m=0.200, points=Leaning.LEFT)
    key = ("Appendix", "sleeve11/1/obturator")
    load = appendix()
    pieces = tuple(
        one.model_copy(update={"lies": lies}) if (one.set, one.piece) == key else one
        for one in load.pieces
        if one.piece in {"sleeve11/1/obturator", "sleeve6/1/obturator"}
    )
    drawn = solids_of_load(larkmere(), load.model_copy(update={"pieces": pieces}))
    corner = larkmere().carriers["Lapwing"].basket_areas[AREA].at
    solid = drawn.solids[drawn.number_of[key]]
    low = solid.in_carrier.bounds_m[0]
    assert low[:2] == pytest.approx([corner.x_m + 0.100, corner.y_m + 0.200])
    assert solid.pose.turn[:, 2] == pytest.approx([-1.0, 0.0, 0.0], abs=1e-12)
    assert intersections(drawn) == []
    assert drawn.assumed == {("Appendix", "sleeve6/1/obturator"): ("where it lies: side by side in one layer",)}

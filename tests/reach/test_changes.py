"""Which changes of one piece's place are tried: what stays turned, free places of its floor, other baskets."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from patency.load import Load
from patency.reach import PlacedSolid, Role, Rule, lying_pose, solids_of_load
from patency.reach.changes import _rolled, _stays, _tries
from patency.reach.checks import faults_of_piece
from patency.reach.solids.pieces import piece_solid
from tests.demo.larkmere import hand_made_load, larkmere
from tests.reach.drawn import part, shape

SET = "Gallbladder One"
SEAL, OBTURATOR, HANDLE = "sleeve11/1/seal", "sleeve11/1/obturator", "mod5/1/handle"
RINGS = part("ring handle", 90, 70, thickness="7 mm")


@cache
def load() -> Load:
    """Return a load of one set of which only what lies is there."""
    whole = hand_made_load("L1")
    pieces = tuple(one for one in whole.pieces if one.set == SET and one.placing in ("basket", "pod", "optic holder"))
    return whole.model_copy(update={"pieces": pieces, "sets": (SET,)})


def words_of(piece: str, of: Load | None = None) -> list[str]:
    """Return what is tried of a piece."""
    arranged = solids_of_load(larkmere(), of or load())
    placed = next(one for one in (of or load()).pieces if one.piece == piece)
    return [words for words, _, _ in _tries(larkmere(), of or load(), arranged, placed)]


@pytest.mark.parametrize(
    ("body", "stays"),
    [
        (part("rod", 100, 10), set()),
        (part("block", 100, 40, thickness="8 mm"), {180}),
        (part("block", 100, 20, thickness="16 mm"), {90, -90, 180}),
        (RINGS, {180}),
    ],
)
def test_what_lies_is_turned_only_to_where_leaning_it_lifts_it(body: dict[str, object], stays: set[int]) -> None:
    mesh = piece_solid(shape(body)).mesh
    assert mesh is not None
    solid = PlacedSolid(Role.PIECE, "piece", mesh, lying_pose(mesh, np.zeros(3), 0.0), (SET, "piece"), "B1")
    placed = load().pieces[0]
    turns = (15, -15, 30, -30, 45, -45, 90, -90, 180)
    assert {degrees for degrees in turns if _stays(solid, _rolled(solid, degrees, placed))} == stays


@pytest.mark.parametrize("piece", [SEAL, OBTURATOR])
def test_free_places_of_its_floor_are_tried_near_ones_first_and_it_meets_nothing_there(piece: str) -> None:
    arranged = solids_of_load(larkmere(), load())
    placed = next(one for one in load().pieces if one.piece == piece)
    number = arranged.number_of[SET, piece]
    here = arranged.solids[number].in_carrier.bounds_m.mean(axis=0)
    rules = (larkmere().machine_kinds[load().machine_kind], larkmere().limits.load)
    ways, straight = [], []
    for words, pose, there in _tries(larkmere(), load(), arranged, placed):
        if "mm to the" in words:
            moved = there.with_pose((SET, piece), pose)
            way = 1000 * (moved.solids[number].in_carrier.bounds_m.mean(axis=0) - here)
            sides = {"right": way[0], "left": -way[0], "back": way[1], "front": -way[1]}
            told = words.split(", distal")[0].removeprefix("move it ").split(" and ")
            for step in told:
                far, side = step.split(" mm to the ")
                assert float(far) == pytest.approx(sides[side], abs=0.51)
            ways.append(float(np.linalg.norm(way[:2])))
            straight.append("distal" not in words)
            faults = faults_of_piece(moved, number, *rules)
            assert not [one for one in faults if one.rule in (Rule.INTERSECTS, Rule.POKES)]
    assert 3 < len(ways) <= 16
    as_it_points = [way for way, same in zip(ways, straight, strict=True) if same]
    assert as_it_points == sorted(as_it_points)
    assert min(ways) < max(ways) / 2


def test_baskets_of_its_set_come_before_empty_ones_and_none_of_another_set() -> None:
    pieces = [one.model_copy(update={"position": "B4"}) if one.piece == HANDLE else one for one in load().pieces]
    lies = load().model_copy(update={"pieces": tuple(pieces)})
    baskets = [words.split()[4].rstrip(",") for words in words_of(OBTURATOR, lies) if "to basket" in words]
    assert list(dict.fromkeys(baskets)) == ["B4", "B2", "B3", "B5"]
    assert max(baskets.count(name) for name in baskets) == 2
    assert any(words.startswith("move it to basket B4, level upper baskets, ") for words in words_of(OBTURATOR, lies))
    own = next(one for one in pieces if one.piece == OBTURATOR)
    other = own.model_copy(update={"set": "Gallbladder Two", "position": "B2"})
    mixed = load().model_copy(update={"pieces": (*pieces, other), "sets": (SET, "Gallbladder Two")})
    assert not any("basket B2" in words for words in words_of(OBTURATOR, mixed))
    netted = [one.model_copy(update={"net": True}) if one.piece == HANDLE else one for one in pieces]
    under_net = load().model_copy(update={"pieces": tuple(netted)})
    assert not any("basket B4" in words for words in words_of(OBTURATOR, under_net))
    assert not any("to basket" in words for words in words_of(HANDLE, under_net))


def test_small_parts_stay_in_their_pod_and_what_a_basket_is_too_small_for_stays_out() -> None:
    assert not any("to basket" in words for words in words_of(SEAL))
    carrier = larkmere().carriers[load().carrier]
    low = {name: one.model_copy(update={"clear_height_m": 0.003}) for name, one in carrier.basket_areas.items()}
    carriers = {load().carrier: carrier.model_copy(update={"basket_areas": low})}
    site = larkmere().model_copy(update={"carriers": {**larkmere().carriers, **carriers}})
    arranged = solids_of_load(larkmere(), load())
    placed = next(one for one in load().pieces if one.piece == OBTURATOR)
    assert not any("to basket" in words for words, _, _ in _tries(site, load(), arranged, placed))

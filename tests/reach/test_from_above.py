"""Floors seen from above: outlines are those of the drawn solids, and only what a plan states is shown."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from patency.catalogue import Form, Leaning, MeshFile, Placing
from patency.load import Load, OnFloor
from patency.reach import FloorPlan, floor_of, floor_plans, solids_of_load, stated_as_drawn
from tests.demo.larkmere import hand_made_load, larkmere

AREA, POD = "B3", "pod of Appendix"
TRUE_M = 0.002


def appendix() -> Load:
    whole = hand_made_load("L2")
    pieces = tuple(one for one in whole.pieces if one.set == "Appendix" and one.placing is not Placing.PORT)
    return whole.model_copy(update={"pieces": pieces, "sets": ("Appendix",)})


@cache
def stated() -> Load:
    drawn = solids_of_load(larkmere(), appendix())
    return stated_as_drawn(appendix(), drawn, POD)


@cache
def plans() -> dict[str, FloorPlan]:
    return {one.name: one for one in floor_plans(larkmere(), stated())}


def test_a_load_that_states_no_place_shows_no_floor() -> None:
    assert floor_plans(larkmere(), hand_made_load("L2")) == ()


def test_every_stated_piece_and_the_pod_are_shown_within_their_floor() -> None:
    assert list(plans()) == [AREA, POD]
    for name, plan in plans().items():
        lie = {(one.set, one.piece) for one in stated().pieces if floor_of(one) == name and one.lies is not None}
        assert lie
        assert set(plan.outlines) == lie
        for outline in plan.outlines.values():
            assert (outline.corners_m >= -1e-9).all()
            assert (outline.corners_m <= np.array([plan.width_m, plan.depth_m]) + 1e-9).all()
    assert set(plans()[AREA].pods) == {"Appendix"}
    pod = plans()[AREA].pods["Appendix"]
    assert (pod.width_m, pod.depth_m) == (plans()[POD].width_m, plans()[POD].depth_m)


@pytest.mark.parametrize("points", list(Leaning))
def test_the_outline_is_that_of_the_solid_whichever_way_it_points(points: Leaning) -> None:
    import matplotlib.path

    key = ("Appendix", "sleeve11/1/obturator")
    lies = OnFloor(from_left_m=0.010, from_front_m=0.020, points=points)
    (one,) = (one for one in appendix().pieces if (one.set, one.piece) == key)
    load = appendix().model_copy(update={"pieces": (one.model_copy(update={"lies": lies}),)})
    drawn = solids_of_load(larkmere(), load)
    solid = drawn.solids[drawn.number_of[key]]
    corner = larkmere().carriers["Lapwing"].basket_areas[AREA].at
    points_m = solid.in_carrier.vertices[:, :2] - np.array([corner.x_m, corner.y_m])
    (plan,) = floor_plans(larkmere(), load)
    outline = plan.outlines[key].corners_m
    assert outline.min(axis=0) == pytest.approx(points_m.min(axis=0))
    assert outline.max(axis=0) == pytest.approx(points_m.max(axis=0))
    shape = matplotlib.path.Path(outline)
    # Which sign makes a shape larger hangs on the way its corners run.
    assert (shape.contains_points(points_m, radius=TRUE_M) | shape.contains_points(points_m, radius=-TRUE_M)).all()
    across = np.roll(outline, -1, axis=0)
    area_m2 = abs(float((outline[:, 0] * across[:, 1] - across[:, 0] * outline[:, 1]).sum())) / 2
    assert area_m2 == pytest.approx(_area_from_above_m2(key), rel=0.02)


def _area_from_above_m2(key: tuple[str, str]) -> float:
    """Add up length times width of the bodies of a piece, as the catalogue states them."""
    piece = larkmere().instruments["sleeve11"].pieces[key[1].split("/")[2]]
    return sum(body.length_m * body.width_m * (0.5 if body.form is Form.CONE else 1.0) for body in piece.outline)


def test_a_pod_of_which_nobody_states_how_it_stands_is_not_shown() -> None:
    shown = floor_plans(larkmere(), stated().model_copy(update={"pods": {}}))
    assert [one.name for one in shown] == [AREA]
    assert shown[0].pods == {}
    pods = {key: one for key, one in larkmere().accessories.items() if one.kind != "pod"}
    without = larkmere().model_copy(update={"accessories": pods})
    assert [one.name for one in floor_plans(without, stated())] == [AREA]


def test_a_piece_that_cannot_be_drawn_is_the_rectangle_it_takes() -> None:
    key = ("Appendix", "sleeve11/1/obturator")
    sleeve = larkmere().instruments["sleeve11"]
    obturator = sleeve.pieces["obturator"].model_copy(update={"mesh": MeshFile(file="none.stl", unit="mm")})
    changed = sleeve.model_copy(update={"pieces": {**sleeve.pieces, "obturator": obturator}})
    site = larkmere().model_copy(update={"instruments": {**larkmere().instruments, "sleeve11": changed}})
    outline = floor_plans(site, stated())[0].outlines[key]
    across = outline.points in {Leaning.LEFT, Leaning.RIGHT}
    size = [obturator.length_m, obturator.widest_m]
    assert len(outline.corners_m) == 4
    assert np.ptp(outline.corners_m, axis=0) == pytest.approx(size if across else size[::-1])

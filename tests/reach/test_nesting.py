"""Things laid on a floor as they are shaped: what they cover, where there is room, that none lies over another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import Leaning
from patency.load import OnFloor
from patency.reach.solids.basket_solids import pose_on_floor
from patency.reach.solids.laying import Taken, lay_out
from patency.reach.solids.nesting import CELL_M, FloorCells, Shape, box_shapes, nearer_to, nested, shapes_of
from patency.reach.solids.pieces import piece_solid
from tests.reach.cast import piece

if TYPE_CHECKING:
    from patency.catalogue import PieceType
    from patency.reach import Mesh

HANDLE = piece(("block", 95, 75), ("rod", 25, 14), cups=[])
HANDLE.outline[0] = HANDLE.outline[0].model_copy(update={"thickness_m": 0.007})
ROD = piece(("rod", 110, 10), cups=[])


def mesh_of(one: PieceType) -> Mesh:
    mesh = piece_solid(one).mesh
    assert mesh is not None
    return mesh


def at(left: float, front: float, points: Leaning = Leaning.BACK) -> OnFloor:
    return OnFloor(from_left_m=left, from_front_m=front, points=points)


@pytest.mark.parametrize("points", list(Leaning))
def test_what_a_piece_covers_is_what_lies_below_it_where_it_is_drawn(points: Leaning) -> None:
    mesh = mesh_of(HANDLE)
    shape = next(one for one in shapes_of(mesh) if one.points is points)
    drawn = mesh.moved(*pose_on_floor(np.zeros(3), mesh, at(0.0, 0.0, points)))
    cells = np.unique(np.floor((drawn.vertices[:, :2] - 1e-7) / CELL_M).astype(int).clip(0), axis=0)
    # A shape that is turned around begins with a square that is only partly full.
    near = [shape.cells[max(x - 1, 0) : x + 2, max(y - 1, 0) : y + 2].any() for x, y in cells]
    assert all(near)
    # 95 x 75 mm and 25 x 14 mm, in whole squares of 2 mm
    assert shape.cells.sum() * CELL_M**2 == pytest.approx(0.095 * 0.075 + 0.025 * 0.014, rel=0.04)


def test_handles_head_to_foot_find_room_where_side_by_side_they_do_not() -> None:
    # 120 x 75 mm each: beside each other they need 153 mm of floor, head to foot 75 + 14 + 3 mm and a little.
    handles = {f"handle {number}": shapes_of(mesh_of(HANDLE)) for number in range(2)}
    rods = {f"rod {number}": shapes_of(mesh_of(ROD)) for number in range(2)}
    size = {"handle 0": (0.120, 0.075), "handle 1": (0.120, 0.075), "rod 0": (0.110, 0.010), "rod 1": (0.110, 0.010)}
    assert len(lay_out(size, 0.080, 0.270)) < 4
    floor = (0.080, 0.270)
    # What is beside the narrow ends takes a rod each: 25 mm of shaft leave 30 mm on either side, too short for a rod.
    assert len(nested({**handles, **rods}, *floor)) < 4
    short = {f"rod {number}": shapes_of(mesh_of(piece(("rod", 22, 10), cups=[]))) for number in range(4)}
    sizes = {name: pair for name, pair in size.items() if "handle" in name} | dict.fromkeys(short, (0.022, 0.010))
    assert len(lay_out(sizes, 0.080, 0.246)) < 6
    assert len(nested({**handles, **short}, 0.080, 0.246)) == 6


def test_nested_things_keep_apart_as_laid_ones_do() -> None:
    things = {f"{number}": shapes_of(mesh_of(HANDLE if number % 2 else ROD)) for number in range(6)}
    places = nested(things, 0.240, 0.300)
    assert set(places) == set(things)
    covered = np.zeros((120, 150), dtype=int)
    for name, lies in places.items():
        shape = next(one for one in things[name] if one.points is lies.points)
        x, y = (round(one / CELL_M) for one in (lies.from_left_m, lies.from_front_m))
        wide, deep = shape.cells.shape
        # grown by a square all round: two such may touch, never share one, and then 3 mm lie between
        grown = np.pad(shape.cells, 1)
        grown = np.logical_or.reduce(
            [np.roll(grown, step, (0, 1)) for step in ((0, 0), (0, 1), (1, 0), (0, -1), (-1, 0))]
        )
        low = (max(x - 1, 0), max(y - 1, 0))
        part = grown[low[0] - x + 1 : 120 - x + 1, low[1] - y + 1 : 150 - y + 1]
        covered[low[0] : x + wide + 1, low[1] : y + deep + 1] += part
    assert covered.max() == 1


def test_what_finds_no_room_is_left_out() -> None:
    things = {"a": box_shapes(0.1, 0.1), "b": box_shapes(0.1, 0.1), "long": box_shapes(0.3, 0.01)}
    assert set(nested(things, 0.12, 0.2)) == {"a"}


def test_room_is_where_no_square_is_shared() -> None:
    rng = np.random.default_rng(4)
    floor = FloorCells(0.04, 0.06)
    spots = [at(round(float(x), 3), round(float(y), 3)) for x, y in rng.uniform(0.0, (0.03, 0.05), (3, 2))]
    dot = Shape(Leaning.BACK, np.ones((2, 2), dtype=np.bool_))
    for spot in spots:
        floor.take(dot, spot)
    shape = Shape(Leaning.BACK, np.array([[True, True, True], [True, False, False]]))
    room = floor.room_for(shape)
    assert room.shape == (19, 28)
    assert 0 < room.sum() < room.size
    for (x, y), free in np.ndenumerate(room):
        squares = (np.argwhere(shape.cells) + np.array([x, y])) * CELL_M
        for spot in spots:
            corner = np.array([spot.from_left_m, spot.from_front_m])
            gap = np.maximum(np.maximum(squares - corner - 2 * CELL_M, corner - squares - CELL_M), 0.0)
            nearest = float(np.linalg.norm(gap, axis=1).min())
            if free:
                assert nearest > 0.003 - 1e-9 - CELL_M / 2
            elif (nearest_of_all := _nearest(squares, spots)) is not None:
                assert nearest_of_all < 0.003 + 2 * CELL_M


def _nearest(squares: np.ndarray, spots: list[OnFloor]) -> float | None:
    corners = [np.array([spot.from_left_m, spot.from_front_m]) for spot in spots]
    gaps = [
        np.linalg.norm(np.maximum(np.maximum(squares - c - 2 * CELL_M, c - squares - CELL_M), 0.0), axis=1).min()
        for c in corners
    ]
    return float(min(gaps))


def test_places_are_spread_and_none_is_told_twice() -> None:
    floor = FloorCells(0.2, 0.4)
    places = floor.spread_places(shapes_of(mesh_of(ROD)), 8)
    assert len(places) == 8
    assert len({(one.from_left_m, one.from_front_m, one.points) for one in places}) == 8
    assert {one.points for one in places} == set(Leaning)
    lefts, fronts = [one.from_left_m for one in places], [one.from_front_m for one in places]
    assert max(lefts) - min(lefts) > 0.08
    assert max(fronts) - min(fronts) > 0.25
    assert FloorCells(0.01, 0.02).spread_places(shapes_of(mesh_of(ROD)), 8) == []


def test_a_floor_is_turned_where_its_things_then_lie_nearer_to_the_arms() -> None:
    things = {"rod": shapes_of(mesh_of(ROD)), "pod": box_shapes(0.06, 0.04)}
    places = {"rod": at(0.0, 0.0), "pod": at(0.1, 0.01, Leaning.RIGHT)}
    size = (0.24, 0.48)
    assert nearer_to([(0.12, 0.1)], places, things, size) == places
    turned = nearer_to([(0.12, 0.4)], places, things, size)
    assert turned == {"rod": at(0.23, 0.37, Leaning.FRONT), "pod": at(0.08, 0.43, Leaning.RIGHT)}
    assert nearer_to([], places, things, size) == places


def test_what_is_laid_beside_something_keeps_clear_of_it() -> None:
    places = lay_out({"one": (0.1, 0.02)}, 0.1, 0.1, [Taken(0.0, 0.0, 0.1, 0.05)])
    assert places["one"].y_m == pytest.approx(0.053)
    assert lay_out({"one": (0.1, 0.05)}, 0.1, 0.1, [Taken(0.0, 0.0, 0.1, 0.05)]) == {}


def test_near_places_are_the_nearest_that_are_free_and_the_fewer_the_farther_away() -> None:
    shapes = shapes_of(mesh_of(ROD))
    floor, lies = FloorCells(0.24, 0.48), at(0.1, 0.1)
    floor.take(shapes[0], at(0.12, 0.1))  # its neighbour on the right
    places = floor.near_places(shapes, lies, 12)
    assert len(places) == 12

    def middle(one: OnFloor) -> np.ndarray:
        extent = np.array(next(each for each in shapes if each.points is one.points).cells.shape) * CELL_M
        return np.array([one.from_left_m, one.from_front_m]) + extent / 2

    def apart(one: OnFloor, other: OnFloor) -> float:
        turned = 0.05 * (one.points is not other.points)
        return float(np.hypot(np.linalg.norm(middle(one) - middle(other)), turned))

    far = [apart(one, lies) for one in places]
    assert far == pytest.approx(sorted(far), abs=1e-9)
    assert far[0] == pytest.approx(0.02, abs=1e-9)
    for number, one in enumerate(places):
        assert min(apart(one, other) for other in [*places[:number], lies]) >= max(0.02, 0.6 * far[number]) - 1e-9
        assert floor.room_for(next(each for each in shapes if each.points is one.points))[
            round(one.from_left_m / CELL_M), round(one.from_front_m / CELL_M)
        ]
    assert floor.near_places(shapes, lies, 3) == places[:3]
    assert FloorCells(0.02, 0.02).near_places(shapes, at(0.0, 0.0), 3) == []

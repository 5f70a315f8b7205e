"""Pieces, baskets and a whole load as triangulated bodies: sizes, closedness, zones, places."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from patency.catalogue import PieceType
from patency.reach import Arranged, Role, lying_pose, rotated_in_place, solids_of_load, standing_pose
from patency.reach.solids.mesh import Mesh, of_triangles
from patency.reach.solids.pieces import Solid, mesh_solid, piece_solid
from tests.demo.larkmere import LOADS, larkmere
from tests.reach.cast import coil_place, piece
from tests.reach.drawn import drawn_load, part, shape


def edges_are_shared(mesh: Mesh) -> bool:
    """Tell whether every edge belongs to two faces that run along it in opposite ways."""
    _, number = np.unique(np.round(mesh.vertices, 9), axis=0, return_inverse=True)
    faces = number.reshape(-1)[mesh.faces]
    edges = Counter(map(tuple, np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2).tolist()))
    return all(edges[b, a] == count for (a, b), count in edges.items())


def volume_m3(mesh: Mesh) -> float:
    """Return the volume inside a closed mesh."""
    a, b, c = (mesh.vertices[mesh.faces[:, corner]] for corner in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def drawn(one: PieceType, cell: float = 0.001) -> Mesh:
    """Return the mesh of a piece of which nothing is left out."""
    solid = piece_solid(one, cell)
    assert solid.gaps == ()
    assert solid.mesh is not None
    return solid.mesh


@pytest.mark.parametrize(
    ("one", "volume"),
    [
        (shape(part("rod", 100, 10)), math.pi * 25 * 100),
        (shape(part("cone", 30, 10, end_width="0 mm")), math.pi * 25 * 30 / 3),
        (shape(part("cone", 30, 10, end_width="4 mm")), math.pi * 30 * (25 + 10 + 4) / 3),
        (shape(part("block", 40, 20, thickness="5 mm")), 40 * 20 * 5),
        (shape(part("tube", 10, 20, thickness="3 mm")), math.pi * (100 - 49) * 10),
        (shape(part("jaw", 20, 6, opening="40 °")), 20 * 6 * 6),
        (
            shape(
                part("rod", 50, 20), cups=[{"name": "seat", "opens": "proximal", "width": "12 mm", "depth": "10 mm"}]
            ),
            math.pi * (100 * 50 - 36 * 10),
        ),
    ],
)
def test_a_drawn_body_is_closed_and_holds_the_volume_of_its_formula(one: PieceType, volume: float) -> None:
    mesh = drawn(one)
    assert edges_are_shared(mesh) or one.outline[0].form == "jaw"
    assert 1e9 * volume_m3(mesh) == pytest.approx(volume, rel=0.01)
    assert np.ptp(mesh.vertices[:, 2]) >= one.length_m - 1e-12 or one.outline[0].form == "jaw"


def test_a_spring_and_a_ring_handle_have_the_volume_of_their_bars() -> None:
    spring = drawn(shape(part("coil", 12, 8, thickness="1 mm", turns=5)), 0.0005)
    length = math.hypot(5 * math.pi * 7, 11)
    assert 1e9 * volume_m3(spring) == pytest.approx(math.pi / 4 * length, rel=0.02)
    handle = drawn(shape(part("ring handle", 120, 72, thickness="8 mm")), 0.001)
    loop = 2 * math.pi * (18 - 4) + 2 * (120 - 36)
    assert 1e9 * volume_m3(handle) == pytest.approx(2 * math.pi * 16 * loop + 36 * 8 * 8, rel=0.02)


@pytest.mark.parametrize(
    ("body", "gap"),
    [
        (part("block", 40, 20), "the thickness of its block is not stated"),
        (part("jaw", 20, 5), "how far its jaw opens is not stated"),
        (part("ring handle", 90, 70, name="grip"), "the thickness of its grip is not stated"),
        (part("cone", 20, 5), "the width at the end of its cone is not stated"),
        (part("coil", 12, 8, turns=4), "thickness or turns of its coil are not stated"),
        (part("tube", 12, 8), "the wall of its tube is not stated"),
    ],
)
def test_what_is_not_stated_is_a_gap_and_not_drawn(body: dict[str, object], gap: str) -> None:
    assert piece_solid(shape(body)) == Solid(None, (gap,))
    assert piece_solid(shape(part("block", 50, 5, thickness="5 mm"), body)).mesh is not None


def test_hollows_nobody_has_looked_for_or_that_do_not_fit_are_gaps() -> None:
    cup = {"name": "seat", "opens": "proximal", "width": "12 mm", "depth": "10 mm"}
    assert piece_solid(shape(part("rod", 50, 10), cups=[cup])).gaps == ("its seat is wider than the rod around it",)
    side = {**cup, "opens": "side"}
    assert piece_solid(shape(part("rod", 50, 20), cups=[side])).gaps == ("where its seat lies is not stated",)
    assert piece_solid(piece(("rod", 50, 10))).gaps == ("nobody has looked for hollows in it",)


def test_zones_carry_the_words_of_the_piece() -> None:
    one = shape(part("rod", 50, 5, name="shaft"), part("jaw", 20, 5, opening="30 °"))
    words = {zone.word for zone in drawn(one).zones}
    assert {"shaft", "inner jaw, left", "inner jaw, right", "outer jaw, left", "tip of the jaw, left"} <= words


def test_inner_faces_of_an_open_jaw_look_at_each_other() -> None:
    mesh = drawn(shape(part("jaw", 20, 6, opening="40 °")))
    for side, sign in (("left", 1.0), ("right", -1.0)):
        number = [zone.word for zone in mesh.zones].index(f"inner jaw, {side}")
        normals = mesh.patch_normals[mesh.zone_of == number]
        assert np.allclose(normals, [sign * math.cos(math.radians(20)), 0.0, math.sin(math.radians(20))])


def test_a_patch_is_no_larger_than_asked_and_finer_at_jaws() -> None:
    mesh = drawn(shape(part("rod", 50, 12), part("jaw", 20, 6, opening="40 °")), 0.004)
    corners = mesh.vertices[mesh.faces]
    jaw = np.array(["jaw" in mesh.zones[zone].word for zone in mesh.zone_of])[mesh.patch_of]
    longest = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1)
    assert longest.max() <= 0.004 * math.sqrt(2) + 1e-9
    assert longest[jaw].max() <= 0.002 * math.sqrt(2) + 1e-9


def longest_edges_m(mesh: Mesh) -> np.ndarray:
    corners = mesh.vertices[mesh.faces]
    return np.asarray(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1))


def test_patches_are_half_as_large_at_the_ends_of_a_body_and_along_rings() -> None:
    rod = drawn(shape(part("rod", 200, 30)), 0.004)
    up = np.diff(np.unique(np.round(rod.vertices[:, 2], 9)))
    assert up == pytest.approx([0.002, 0.002, *[0.004] * 48, 0.002, 0.002])
    block = drawn(shape(part("block", 200, 40, thickness="20 mm")), 0.004)
    across = np.diff(np.unique(np.round(block.vertices[:, 0], 9)))
    assert across == pytest.approx([0.002, 0.002, *[0.004] * 8, 0.002, 0.002])
    # On a bar 8 mm thick, bent to a radius of 26 mm in its middle, a cell of 2 mm is 2 * 30 / 26 mm long outside.
    rings = drawn(shape(part("ring handle", 250, 120, thickness="8 mm")), 0.004)
    ring = np.array([zone.word.endswith(" ring") for zone in rings.zones])[rings.zone_of][rings.patch_of]
    assert 0.002 < longest_edges_m(rings)[ring].max() <= math.hypot(0.002, 0.002 * 30 / 26)


def test_patches_of_a_mesh_file_are_half_as_large_at_jaws_rings_and_edges_and_it_stays_closed() -> None:
    block = drawn(shape(part("block", 200, 40, thickness="40 mm")), 1.0)
    vertices, number = np.unique(block.vertices, axis=0, return_inverse=True)
    faces = number.reshape(-1)[block.faces]
    for form, more in (("jaw", {"opening": "40 °"}), ("ring handle", {"thickness": "7 mm"})):
        one = shape(part("rod", 120, 40), part(form, 80, 40, **more))
        mesh = mesh_solid(one, vertices, faces, 0.004).mesh
        assert mesh is not None
        assert edges_are_shared(mesh)
        assert volume_m3(mesh) == pytest.approx(0.2 * 0.04 * 0.04)
        corners, longest = mesh.vertices[mesh.faces], longest_edges_m(mesh)
        fine = corners[:, :, 2].mean(axis=1) > 0.116  # the hinge, 4 mm before the jaw, too
        on_sides = np.abs(np.abs(corners[:, :, :2]) - 0.02) < 1e-9
        edge = (on_sides.all(axis=2).sum(axis=1) >= 2) | ((corners[:, :, 2] == 0).sum(axis=1) == 2)
        assert longest[fine].max() <= 0.002
        assert longest[edge].max() <= 0.002
        assert 0.002 < longest[~fine & ~edge].max() <= 0.004


def test_a_mesh_file_replaces_the_drawing_and_keeps_its_area() -> None:
    corners = np.array([[0, 0, 0], [0.04, 0, 0], [0, 0.03, 0], [0, 0, 0.05]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    one = shape(part("rod", 20, 5, name="foot"), part("rod", 30, 5, name="head"))
    solid = mesh_solid(one, corners, faces, 0.004)
    assert solid.mesh is not None
    assert edges_are_shared(solid.mesh)
    assert volume_m3(solid.mesh) == pytest.approx(0.04 * 0.03 * 0.05 / 6)
    assert {solid.mesh.zones[zone].word for zone in np.unique(solid.mesh.zone_of)} == {"foot", "head"}
    head = solid.mesh.patch_centres[solid.mesh.zone_of == 1]
    assert head[:, 2].min() > 0.02
    whole = of_triangles(corners, faces, solid.mesh.zones[0], 1.0)
    assert solid.mesh.patch_areas_m2.sum() == pytest.approx(whole.patch_areas_m2.sum())


def test_a_standing_piece_has_its_foot_at_the_port_and_its_axis_as_stated() -> None:
    pose = standing_pose(np.array([0.1, 0.2, 0.3]), 60.0, None, lifted_m=0.05)
    axis = np.array([0.0, 0.5, math.sqrt(3) / 2])
    assert np.allclose(pose.shift_m, np.array([0.1, 0.2, 0.3]) + 0.05 * axis)
    assert np.allclose(pose.turn @ [0, 0, 1], axis)
    assert np.allclose(pose.turn @ pose.turn.T, np.eye(3))
    assert np.linalg.det(pose.turn) == pytest.approx(1.0)


def test_a_lying_piece_rests_on_its_floor_with_its_flat_side_level() -> None:
    mesh = drawn(shape(part("block", 40, 20, thickness="5 mm")))
    pose = lying_pose(mesh, np.array([0.1, 0.2, 0.3]), 90.0)
    low, high = mesh.moved(*pose).bounds_m
    assert np.allclose(low, [0.1, 0.2, 0.3])
    assert np.allclose(high - low, [0.020, 0.040, 0.005])


@pytest.fixture(scope="module")
def load() -> Arranged:
    site, load = drawn_load()
    return solids_of_load(site, load)


def test_every_piece_of_a_load_is_drawn_and_none_twice(load: Arranged) -> None:
    site, plan = drawn_load()
    assert set(load.number_of) == {(one.set, one.piece) for one in plan.pieces}
    assert all(gaps == () for gaps in load.gaps.values())
    assert site.carriers[plan.carrier].frame is not None
    assert {one.role for one in load.solids} == {Role.PIECE, Role.CONNECTION, Role.HOSE, Role.CARRIER}


def test_a_zone_is_named_by_the_side_to_which_it_looks(load: Arranged) -> None:
    names = {name for one in load.solids if one.role is Role.PIECE for name in one.zone_names}
    assert {"inner jaw, left", "under the ratchet", "under the rod", "tube, front side"} <= names


def test_pieces_in_a_basket_lie_apart_and_on_its_floor(load: Arranged) -> None:
    boxes = [one.in_carrier.bounds_m for one in load.solids if one.role is Role.PIECE and one.stands_on.startswith("B")]
    assert len(boxes) == 4
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert (one[0] > other[1]).any() or (other[0] > one[1]).any()


def test_a_turn_in_place_keeps_the_middle(load: Arranged) -> None:
    one = load.solids[0]
    turned = one.moved_to(rotated_in_place(one, np.diag([-1.0, -1.0, 1.0])))
    assert np.allclose(turned.in_carrier.bounds_m.mean(axis=0), one.in_carrier.bounds_m.mean(axis=0))
    assert not np.allclose(turned.in_carrier.vertices, one.in_carrier.vertices)


def test_moving_one_piece_leaves_the_others(load: Arranged) -> None:
    key = next(iter(load.number_of))
    number = load.number_of[key]
    moved = load.with_pose(key, rotated_in_place(load.solids[number], np.diag([-1.0, -1.0, 1.0])))
    assert moved.solids[number] is not load.solids[number]
    assert all(a is b for n, (a, b) in enumerate(zip(moved.solids, load.solids, strict=True)) if n != number)


def test_a_coiled_cable_lies_around_its_mandrel() -> None:
    from patency.reach.solids.pieces import cable_solid

    cable = shape(part("coil", 1000, 8), placing="coil rack", way_up="coiled", least_bend_radius="20 mm")
    mesh = cable_solid(cable, coil_place(100, pitch=10)).mesh
    assert mesh is not None
    radius = np.hypot(mesh.vertices[:, 0], mesh.vertices[:, 1])
    assert radius.max() == pytest.approx(0.058, abs=2e-4)
    assert radius[np.hypot(*mesh.vertices[:, :2].T) > 0.045].min() == pytest.approx(0.05, abs=2e-4)
    assert mesh.patch_areas_m2.sum() == pytest.approx(math.pi * 0.008 * 1.0, rel=0.05)


def test_a_load_of_the_demo_is_drawn_but_for_what_finds_no_room_in_its_basket() -> None:
    site = larkmere()
    from tests.demo.larkmere import hand_made_load

    arranged = solids_of_load(site, hand_made_load(next(iter(LOADS))))
    told = {gap for gaps in arranged.gaps.values() for gap in gaps}
    assert all("finds no room beside the rest" in gap for gap in told)

"""Exact checks of bodies in their places, one rule at a time, at both sides of each limit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import LoadLimits
from patency.reach import (
    Arranged,
    Mesh,
    PlacedSolid,
    Pose,
    Role,
    Rule,
    Screen,
    Side,
    Zone,
    faults_of_arrangement,
    kept_water_m3,
    lying_pose,
    puddles,
)
from patency.reach.checks import faults_of_piece
from patency.reach.solids.bodies import box, turned
from patency.reach.solids.pieces import piece_solid
from patency.reach.sweeps import sweep_distances_m
from tests.reach.cast import limit, machine
from tests.reach.drawn import part, shape

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach import Fault

KIND = machine({"height": 300.0, "radius": 100.0})
PLAIN = [Zone("side", sided=False)] * 6
STILL = Pose(np.eye(3), np.zeros(3))


def brick(low: Sequence[float], size: Sequence[float] = (0.02, 0.02, 0.02)) -> Mesh:
    """Return a box from its low corner."""
    return box(np.array(low), np.array(low) + np.array(size), PLAIN, 0.004)


def body(name: str, mesh: Mesh, *, mass: float | None = 0.1, at: str = "B1") -> PlacedSolid:
    """Return a piece where its mesh is."""
    return PlacedSolid(Role.PIECE, name, mesh, STILL, ("S", name), at, mass_kg=mass)


def faults(*solids: PlacedSolid, screens: tuple[Screen, ...] = (), **limits: object) -> list[Fault]:
    """Return the faults of bodies in their places."""
    stated = LoadLimits.model_validate(limits)
    return faults_of_arrangement(Arranged(solids, screens, {}, {}), KIND, stated)


@pytest.mark.parametrize(
    ("low", "distance"),
    [((0.0, 0.0, 0.24), 0.02), ((0.0, 0.0, 0.27), -0.01), ((0.12, 0.0, 0.29), 0.02), ((0.0, 0.0, 0.34), 0.02)],
)
def test_what_comes_near_the_sweep_of_an_arm_is_told_its_distance(low: Sequence[float], distance: float) -> None:
    assert faults(body("a", brick(low)), arm_clearance=limit(distance - 1e-5, "m")) == []
    (found,) = faults(body("a", brick(low)), arm_clearance=limit(distance + 1e-4, "m"))
    assert found.rule is Rule.SWEEP
    assert found.value == pytest.approx(distance, abs=1e-9)


@pytest.mark.parametrize("clear", [0.0, 0.010])
def test_a_face_that_meets_the_rim_of_a_sweep_between_its_corners_is_found(clear: float) -> None:
    """The rim is a corner of 90° in section; the face lies across its bisector, its patches astride it."""
    low = np.array([-0.010, -0.010, 0.0])
    cube = box(low, low + 0.020, PLAIN, 0.004)
    slant = np.array([[1.0, 0.0, 1.0], [0.0, np.sqrt(2), 0.0], [-1.0, 0.0, 1.0]]) / np.sqrt(2)
    rim = np.array([0.1, 0.0, 0.320])  # of the arm at 300 mm, 40 mm thick
    for apart, count in ((clear + 5e-5, 0), (clear - 5e-5, 1)):
        pose = Pose(slant, rim + apart * slant[:, 2])
        found = faults(body("a", cube).moved_to(pose), arm_clearance=limit(clear, "m"))
        assert [one.rule for one in found] == [Rule.SWEEP] * count
        if clear:
            (distance,) = sweep_distances_m(body("a", cube).moved_to(pose), KIND).values()
            assert distance == pytest.approx(apart, abs=2e-5)


def test_bodies_run_into_each_other_from_the_first_tenth_of_a_millimetre() -> None:
    one = body("a", brick((0, 0, 0)))
    assert faults(one, body("b", brick((0.0201, 0.0, 0.0)))) == []
    both = faults(one, body("b", brick((0.0199, 0.001, 0.001))))
    assert [(fault.rule, fault.piece[1]) for fault in both] == [(Rule.INTERSECTS, "a"), (Rule.INTERSECTS, "b")]


def test_a_body_wholly_within_another_runs_into_it() -> None:
    found = faults(body("a", brick((0, 0, 0))), body("b", brick((0.0071, 0.0072, 0.0073), (0.003, 0.003, 0.003))))
    assert {fault.rule for fault in found} == {Rule.INTERSECTS}
    assert {fault.piece[1] for fault in found} == {"a", "b"}


def test_a_piece_may_stand_on_its_own_nozzle_and_in_no_other() -> None:
    sleeve = body("a", brick((0, 0, 0)), at="N1")
    for owner, count in ((("S", "a"), 0), (("S", "b"), 1)):
        nozzle = PlacedSolid(Role.CONNECTION, "nozzle", brick((0.005, 0.005, -0.01)), STILL, owner, "N1")
        assert len(faults(sleeve, nozzle)) == count


def test_what_connects_a_piece_is_held_against_arms_and_against_what_connects_another() -> None:
    def link(owner: str, low: tuple[float, float, float]) -> PlacedSolid:
        return PlacedSolid(Role.CONNECTION, "adapter", brick(low), STILL, ("S", owner), owner)

    pieces = body("a", brick((0, 0, 0)), at="a"), body("b", brick((0.05, 0, 0)), at="b")
    assert faults(*pieces, link("a", (0, 0, 0.03)), link("b", (0.0201, 0, 0.03))) == []
    (found,) = faults(*pieces, link("a", (0, 0, 0.24)), arm_clearance=limit(0.021, "m"))
    assert (found.rule, found.piece, round(found.value, 9)) == (Rule.SWEEP, ("S", "a"), 0.02)
    touching = (*pieces, link("a", (0, 0, 0.03)), link("b", (0.019, 0.001, 0.031)))
    both = faults(*touching)
    assert [(one.rule, one.piece[1], one.words) for one in both] == [
        (Rule.INTERSECTS, "a", "runs into adapter at b"),
        (Rule.INTERSECTS, "b", "runs into adapter at a"),
    ]
    alone = faults_of_piece(Arranged(touching, (), {}, {}), 1, KIND, LoadLimits())
    assert alone == both[1:]
    assert faults(*pieces, link("a", (0, 0, 0.03)), link("a", (0.0, 0.001, 0.031))) == []


def test_a_cable_may_touch_its_own_mandrel() -> None:
    cable = body("a", brick((0, 0, 0)), at="C1")
    for holds, count in (("C1", 0), ("C2", 1)):
        bar = PlacedSolid(Role.CARRIER, "bar", brick((0.005, 0.005, 0.015)), STILL, None, "bar", holds=holds)
        assert len(faults(cable, bar)) == count


def basket(lid: float | None = None) -> tuple[Screen, ...]:
    """Return floor and one wall of a basket of 100 mm."""
    along, across, up = 0.1 * np.eye(3)
    walls = [Screen(np.zeros(3), along, across, 0.001, 0.006, "floor of basket B1", "B1", Side.FLOOR)]
    walls.append(Screen(np.zeros(3), along, up, 0.001, 0.006, "front wall of basket B1", "B1", Side.WALL))
    if lid is not None:
        walls.append(Screen(np.array([0.0, 0.0, lid]), along, across, 0.001, 0.006, "lid of basket B1", "B1", Side.LID))
    return tuple(walls)


def test_nothing_pokes_through_floor_walls_or_lid_of_its_basket() -> None:
    assert faults(body("a", brick((0.01, 0.01, 0.001))), screens=basket()) == []
    assert faults(body("a", brick((0.01, 0.01, 0.09))), screens=basket()) == []  # an open basket has no lid
    for low in ((0.01, 0.01, -0.002), (-0.002, 0.01, 0.001), (0.01, 0.085, 0.001)):
        (found,) = faults(body("a", brick(low)), screens=basket())
        assert found.rule is Rule.POKES
        assert 0.0 < found.value <= 0.0051
    for lid in (0.1, 0.05):  # as high as its walls, and lower
        assert faults(body("a", brick((0.01, 0.01, lid - 0.02))), screens=basket(lid=lid)) == []
        (found,) = faults(body("a", brick((0.01, 0.01, lid - 0.01))), screens=basket(lid=lid))
        assert (found.rule, round(found.value, 6)) == (Rule.POKES, 0.01)


def test_a_pod_whose_set_is_called_as_a_basket_ends_is_not_that_basket() -> None:
    """Its walls stand elsewhere: they neither widen the basket nor hold what sticks out of it."""
    named = "pod of Tray B1"
    pod = [one._replace(corner_m=one.corner_m + 0.3, words=f"x of {named}", floor=named) for one in basket(lid=0.05)]
    (found,) = faults(body("a", brick((0.142, 0.01, 0.001))), screens=(*basket(), *pod))
    assert (found.rule, round(found.value, 6)) == (Rule.POKES, 0.062)
    (through,) = faults(body("a", brick((0.31, 0.31, 0.299)), at="N1"), screens=(*basket(), *pod))
    assert through.words == f"pokes through the x of {named}"
    inside = body("b", brick((0.31, 0.31, 0.301)), at=named)
    assert faults(inside, screens=(*basket(), *pod)) == []


@pytest.mark.parametrize(
    ("low", "wall"),
    [
        ((0.04, -0.01, 0.05), "front wall"),
        ((0.04, 0.00, 0.05), ""),  # touches the wall from within
        ((0.04, -0.02, 0.05), ""),  # and from outside
        ((0.04, -0.01, 0.101), ""),  # over it
        ((0.101, -0.01, 0.05), ""),  # beside it
        ((0.04, 0.04, -0.01), "floor"),
    ],
)
def test_what_pokes_through_a_basket_in_which_it_does_not_lie_is_found(low: Sequence[float], wall: str) -> None:
    words = [f"pokes through the {wall} of basket B1"] if wall else []
    stands = body("a", brick(low), at="N1")
    assert [one.words for one in faults(stands, screens=basket())] == words
    assert [one.rule for one in faults_of_piece(Arranged((stands,), basket(), {}, {}), 0, KIND, LoadLimits())] == [
        Rule.POKES for _ in words
    ]
    joined = PlacedSolid(Role.CONNECTION, "adapter", brick(low), STILL, ("S", "a"), "N1")
    assert [one.words for one in faults(joined, screens=basket())] == words


def test_a_net_gives_way() -> None:
    net = basket(lid=0.05)[2]._replace(words="net over B1", side=Side.NET)
    assert faults(body("a", brick((0.04, 0.04, 0.04)), at="pod of S"), screens=(net,)) == []


@pytest.mark.parametrize(
    ("size", "count"),
    [
        ((0.0049, 0.0049, 0.001), 1),
        ((0.0051, 0.0051, 0.001), 0),  # a plate wider than the opening of 5 mm
        ((0.0051, 0.001, 0.001), 1),  # a pin, endwise
        ((0.001, 0.0119, 0.0049), 1),
        ((0.0121, 0.001, 0.001), 0),  # longer than two pitches of 6 mm
    ],
)
def test_what_is_smaller_than_an_opening_slips_through_endwise_too(size: Sequence[float], count: int) -> None:
    found = faults(body("a", brick((0.01, 0.01, 0.001), size)), screens=basket())
    assert [one.rule for one in found] == [Rule.SLIPS] * count


def test_contact_is_told_by_its_area_and_what_lies_on_lighter_pieces_is_found() -> None:
    below, above = brick((0, 0, 0), (0.04, 0.04, 0.01)), brick((0.012, 0.0, 0.0101))
    heavy = faults(body("a", below, mass=0.05), body("b", above, mass=0.06), contact_area=limit(100e-6, "m2"))
    assert [(fault.rule, fault.piece[1]) for fault in heavy] == [(Rule.CONTACT, "b"), (Rule.ON_LIGHTER, "b")]
    assert heavy[0].value == pytest.approx(400e-6)
    light = faults(body("a", below, mass=0.05), body("b", above, mass=0.04), contact_area=limit(401e-6, "m2"))
    assert light == []
    for masses in ((None, 0.04), (0.05, None)):  # the worst case where a mass is not known
        one, other = body("a", below, mass=masses[0]), body("b", above, mass=masses[1])
        (unknown,) = faults(one, other, contact_area=limit(401e-6, "m2"))
        assert (unknown.rule, unknown.piece[1]) == (Rule.ON_LIGHTER, "b")


@pytest.mark.parametrize(("gap", "count"), [(5e-5, 1), (2.9e-4, 1), (3.1e-4, 0)])
def test_a_heavy_rod_across_a_lighter_one_is_found_wherever_they_cross(gap: float, count: int) -> None:
    """They cross at a point, which need not be where a patch looks down: 20 rods, 20 mm patches and 4 mm ones."""
    random = np.random.default_rng(3)
    for cell in [0.004, 0.020] * 10:
        rod = piece_solid(shape(part("rod", 60, 8)), cell).mesh
        assert rod is not None
        below = body("a", rod, mass=0.05).moved_to(lying_pose(rod, np.zeros(3), 0.0))
        top = below.in_carrier.bounds_m[1, 2]
        above = body("b", rod, mass=0.06).moved_to(lying_pose(rod, np.zeros(3), random.uniform(20.0, 90.0)))
        middles = below.in_carrier.bounds_m.mean(axis=0) - above.in_carrier.bounds_m.mean(axis=0)
        aside = [middles[0] + random.uniform(-0.02, 0.02), middles[1], top + gap]
        above = above.moved_to(Pose(above.pose.turn, above.pose.shift_m + aside))
        found = faults(below, above, contact_area=limit(100e-6, "m2"))
        assert [(fault.rule, fault.piece[1]) for fault in found] == [(Rule.ON_LIGHTER, "b")] * count


def test_what_lies_beside_another_does_not_lie_on_it() -> None:
    one, other = body("a", brick((0, 0, 0)), mass=None), body("b", brick((0.0201, 0.0, 0.005)), mass=None)
    assert faults(one, other) == []


def test_a_cup_with_its_opening_up_keeps_water_beyond_the_limit() -> None:
    profile = [(0.0, 0.0), (0.01, 0.0), (0.01, 0.02), (0.008, 0.02), (0.008, 0.01), (0.0, 0.01)]
    cup = turned(profile, PLAIN[:5], 0.001)
    stays = np.pi * 0.008**2 * 0.01
    (found,) = faults(body("a", cup), kept_water=limit(0.9 * stays, "m3"))
    assert found.rule is Rule.KEEPS_WATER
    assert found.value == pytest.approx(stays, rel=0.01)
    assert faults(body("a", cup), kept_water=limit(1.1 * stays, "m3")) == []


def test_what_a_tilted_cup_keeps_does_not_hang_on_where_it_stands_or_which_way_it_is_turned() -> None:
    profile = [(0.0, 0.0), (0.01, 0.0), (0.01, 0.02), (0.008, 0.02), (0.008, 0.01), (0.0, 0.01)]
    cup = body("a", turned(profile, PLAIN[:5], 0.004))
    for tilt in (0.0, 0.4, -1.0):
        over = np.array([[1.0, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
        stays = sum(one.volume_m3 for one in puddles(cup.mesh.moved(over, np.zeros(3))))
        for angle in (0.0, 1.0, 4.0):
            about = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1.0]])
            there = cup.moved_to(Pose(about @ over, np.array([0.3, -0.2, 0.1])))
            assert kept_water_m3(there) == pytest.approx(stays, rel=1e-6)

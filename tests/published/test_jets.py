"""Jets against closed forms: speed, force, fall, footprints on a plane and a cylinder, shadows, view factors.

Sources, from memory where nothing else is said: E. Torricelli, De motu gravium, 1644 (speed of a jet and its parabola);
L. Euler 1757 (momentum of a stream on a plate); J. R. Howell, A Catalog of Radiation Configuration Factors, 1982,
element to coaxial disc; plane geometry for footprints and shadows.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.reach import JetSampling, RayScene, Screen, Side, Wetting, jet_force_n, jet_speed_m_s, strikes_of_load
from patency.reach.solids.bodies import turned
from patency.reach.solids.mesh import Zone
from tests.reach.drawn import arm, arranged, jet, square, struck_places

FAST = 300.0  # m/s: a jet that hardly falls
GRAVITY = 9.80665


def test_a_jet_leaves_with_the_speed_of_its_pressure() -> None:
    pressure, density, outlet, coefficient = 23000.0, 988.0, 0.0044, 0.65
    flow = coefficient * math.pi / 4 * outlet**2 * math.sqrt(2 * pressure / density)  # orifice formula
    assert jet_speed_m_s(flow, outlet, coefficient) == pytest.approx(math.sqrt(2 * pressure / density), rel=1e-12)


def test_a_plate_across_a_jet_is_pushed_by_its_momentum() -> None:
    plate = square(0.2, (0.0, 0.0, 0.15), cell=0.001)
    found = strikes_of_load(arranged(plate), arm(jet(half_spread=5.0, speed=FAST))).pieces["S", "0"]
    assert found.push_n == pytest.approx(jet_force_n(1000.0, 1e-4, FAST), rel=0.04)
    assert found.lift_n == pytest.approx(found.push_n)


@pytest.mark.parametrize(("half_spread", "height"), [(0.05, 0.4), (0.5, 0.3), (1.0, 0.1), (2.0, 0.1), (5.0, 0.05)])
def test_a_narrow_jet_begins_as_wide_as_its_outlet_and_keeps_its_momentum(half_spread: float, height: float) -> None:
    speed, radius, coefficient = 6.0, 0.002, 0.4
    flow = coefficient * math.pi * radius**2 * speed
    plate = square(0.04, (0.0, 0.0, height), cell=0.0005)
    narrow = arm(jet(half_spread=half_spread, speed=speed, flow=flow))
    found = strikes_of_load(arranged(plate), narrow, JetSampling(angle_steps=24, finer=1))
    struck = struck_places(found, "0", facing=(0.0, 0.0, -1.0))
    assert struck[:, 0].sum() == pytest.approx(
        math.pi * (radius + height * math.tan(math.radians(half_spread))) ** 2, rel=0.06
    )
    arrives = math.sqrt(speed**2 - 2 * GRAVITY * height)
    assert found.pieces["S", "0"].lift_n == pytest.approx(jet_force_n(1000.0, flow, arrives), rel=0.06)


def test_the_strongest_pressure_is_at_most_that_of_stagnation() -> None:
    near = square(0.006, (0.0, 0.0, 0.0201), cell=0.0003)
    found = strikes_of_load(arranged(near), arm(jet(half_spread=2.0, speed=8.0, flow=2e-4)))
    head = 0.5 * 8.0**2 - GRAVITY * 0.02  # of the jet as it arrives, D. Bernoulli 1738
    assert found.pieces["S", "0"].pressure_pa.max() == pytest.approx(1000 * head, rel=0.001)


@pytest.mark.parametrize(("out", "height", "half_spread"), [(0.1, 0.2, 10.0), (0.25, 0.15, 15.0), (0.15, 0.3, 5.0)])
def test_a_turning_jet_leaves_a_ring_on_a_plane(out: float, height: float, half_spread: float) -> None:
    plane = square(0.64, (0.0, 0.0, height), cell=0.004)
    finely = JetSampling(angle_steps=240)
    found = strikes_of_load(arranged(plane), arm(jet(out=out, half_spread=half_spread, speed=FAST)), finely)
    struck = struck_places(found, "0", facing=(0.0, 0.0, -1.0))
    reach = 0.002 + height * math.tan(math.radians(half_spread))  # the outlet is 4 mm wide
    assert struck[:, 0].sum() == pytest.approx(4 * math.pi * out * reach, rel=0.01)
    radius = np.hypot(struck[:, 1], struck[:, 2])
    assert radius.min() == pytest.approx(out - reach, abs=0.004)
    assert radius.max() == pytest.approx(out + reach, abs=0.004)


def test_a_jet_on_its_axis_strikes_as_often_as_the_arm_turns() -> None:
    plane = square(0.1, (0.0, 0.0, 0.3))
    found = strikes_of_load(arranged(plane), arm(jet(), rpm=42.0)).pieces["S", "0"]
    middle = np.hypot(*found.surface.centres[:, :2].T) < 0.02
    struck = middle & (found.wetting == Wetting.STRUCK)
    assert struck.any()
    assert np.allclose(found.hits_per_min[struck], 42.0)


@pytest.mark.parametrize("distance", [0.2, 0.4, 0.6])
def test_a_level_jet_falls_by_a_parabola(distance: float) -> None:
    speed = 6.0
    upright = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])
    wall = square(0.14, (distance, 0.0, 0.0), cell=0.001, turned=upright)
    found = strikes_of_load(arranged(wall), arm(jet(0.0, half_spread=1.0, speed=speed)), JetSampling(angle_steps=720))
    struck = struck_places(found, "0", facing=(-1.0, 0.0, 0.0))
    fall = np.average(struck[:, 3], weights=struck[:, 0])
    assert fall == pytest.approx(-GRAVITY * distance**2 / (2 * speed**2), abs=0.0005)


def test_no_jet_rises_higher_than_its_speed_carries_it() -> None:
    speed = 2.0
    top = speed**2 / (2 * GRAVITY)
    heights = (0.98 * top, 1.02 * top)
    below, above = (square(0.05, (0.0, 0.0, height)) for height in heights)
    assert strikes_of_load(arranged(below), arm(jet(speed=speed))).struck_share > 0
    assert strikes_of_load(arranged(above), arm(jet(speed=speed))).struck_share == 0


@pytest.mark.parametrize(("radius", "distance"), [(0.01, 0.2), (0.05, 0.2), (0.02, 0.05)])
def test_a_cylinder_is_struck_as_far_round_as_the_nozzle_sees_it(radius: float, distance: float) -> None:
    upright = [(0.0, -0.002), (radius, -0.002), (radius, 0.002), (0.0, 0.002)]
    mesh = turned(upright, [Zone("end", sided=False), Zone("side", sided=False), Zone("end", sided=False)], 0.001)
    side = mesh.moved(np.eye(3), np.array([distance, 0.0, 0.0]))
    found = strikes_of_load(arranged(side), arm(jet(0.0, half_spread=60.0, speed=FAST)))
    one = found.pieces["S", "0"]
    around = np.abs(one.surface.normals[:, 2]) < 0.1
    seen = one.surface.areas_m2[around & (one.wetting == Wetting.STRUCK)].sum() / one.surface.areas_m2[around].sum()
    # Flatter than 88° to the normal does not count: R sin 88° = D sin(88° − angle seen from the axis).
    flattest = math.radians(88.0)
    assert seen == pytest.approx((flattest - math.asin(radius * math.sin(flattest) / distance)) / math.pi, abs=0.02)


@pytest.mark.parametrize("shift", [0.0, 0.02, 0.05])
def test_a_shadow_is_as_large_and_moves_as_far_as_the_light_cone_says(shift: float) -> None:
    near, far, size = 0.1, 0.3, 0.03
    meshes = (square(0.45, (0.0, 0.0, far), cell=0.003), square(size, (shift, 0.0, near), cell=0.003))
    found = strikes_of_load(arranged(*meshes), arm(jet(half_spread=35.0, speed=FAST)))
    one = found.pieces["S", "0"]
    below = one.surface.normals[:, 2] < -0.9
    inside = np.abs(one.surface.centres[:, :2]).max(axis=1) < 0.2
    shadow = below & inside & (one.wetting != Wetting.STRUCK)
    lens = np.hypot(*one.surface.centres[:, :2].T) < far * math.tan(math.radians(35.0))
    shadow &= lens
    assert one.surface.areas_m2[shadow].sum() == pytest.approx((size * far / near) ** 2, rel=0.08)
    middle = one.surface.centres[shadow].mean(axis=0)
    assert middle[:2] == pytest.approx([shift * far / near, 0.0], abs=0.002)
    assert one.zones[0].shadowed_by[0] == "body 1 at floor"


def test_a_wire_wall_lets_its_open_area_through_straight_on_and_less_at_a_slant() -> None:
    corner, along, across = np.array([-0.5, -0.5, 0.1]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    wall = Screen(corner, along, across, 0.001, 0.005, "wall", "B1", Side.WALL)
    plane = square(0.4, (0.0, 0.0, 0.2), cell=0.004)
    bare = strikes_of_load(arranged(plane), arm(jet(half_spread=40.0, speed=FAST))).pieces["S", "0"]
    behind = strikes_of_load(arranged(plane, screens=(wall,)), arm(jet(half_spread=40.0, speed=FAST))).pieces["S", "0"]
    struck = bare.pressure_pa > 0
    share = behind.pressure_pa[struck] / bare.pressure_pa[struck]
    x, y = bare.surface.centres[struck, :2].T
    slants = [1 - 0.2 * np.hypot(0.2, way) / 0.2 for way in (x, y)]
    assert np.allclose(share, slants[0] * slants[1], atol=0.002)
    assert share.max() == pytest.approx(0.8**2, abs=0.001)


def test_rays_find_the_view_factor_of_a_disc_above_an_element() -> None:
    radius, height, count = 0.2, 0.3, 200_000
    disc = turned([(0.0, 0.0), (radius, 0.0), (radius, 1e-3), (0.0, 1e-3)], [Zone("disc", sided=False)] * 3, 0.005)
    scene = RayScene([(disc.vertices + np.array([0.0, 0.0, height]), disc.faces)])
    random = np.random.default_rng(7)
    out, turn = np.sqrt(random.random(count)), 2 * np.pi * random.random(count)  # cosine law of J. H. Lambert, 1760
    ways = np.stack([out * np.cos(turn), out * np.sin(turn), np.sqrt(1 - out**2)], axis=1)
    share = (scene.first_met(np.zeros((count, 3)), ways) >= 0).mean()
    assert share == pytest.approx(radius**2 / (radius**2 + height**2), abs=0.004)

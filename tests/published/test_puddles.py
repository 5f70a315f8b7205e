"""Water that stays in hollows, as the piece is turned, against closed forms.

The hoof: Archimedes, The Method, propositions 11 to 15 (found and edited by J. L. Heiberg, 1906 to 1913). The segment
of a sphere: Archimedes, On the Sphere and Cylinder, book II, proposition 2 (T. L. Heath, 1897).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.catalogue import Cup
from patency.reach import Mesh, Zone, kept_volume_m3, puddles
from patency.reach.solids.bodies import box, turned, wire
from patency.reach.solids.mesh import joined

RADIUS, DEPTH, WALL = 0.010, 0.024, 0.004
PLAIN = Zone("surface", sided=False)


def tilted(mesh: Mesh, degrees: float) -> Mesh:
    """Turn a mesh about the x axis."""
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return mesh.moved(np.array([[1.0, 0, 0], [0, cosine, -sine], [0, sine, cosine]]), np.zeros(3))


def cylinder_cup() -> Mesh:
    """Return a round cup with its opening up."""
    outer = RADIUS + WALL
    profile = [(0.0, -WALL), (outer, -WALL), (outer, DEPTH), (RADIUS, DEPTH), (RADIUS, 0.0), (0.0, 0.0)]
    return turned(profile, [PLAIN] * 5, 0.001)


def bowl() -> Mesh:
    """Return a hemisphere hollowed out of a cylinder."""
    outer = RADIUS + WALL
    arc = [(RADIUS * math.cos(at), -RADIUS * math.sin(at)) for at in np.linspace(0, math.pi / 2, 41)]
    profile = [(0.0, -outer), (outer, -outer), (outer, 0.0), *arc[:-1], (0.0, -RADIUS)]
    return turned(profile, [PLAIN] * (len(profile) - 1), 0.0007)


def test_the_hoof_of_archimedes_is_a_sixth_of_the_prism_around_it() -> None:
    """The water stands from the middle of the bottom to the rim."""
    cup = Cup.model_validate({"name": "cup", "opens": "distal", "width": "20 mm", "depth": "24 mm"})
    steep = math.degrees(math.atan(DEPTH / RADIUS))  # of the level across the cup
    prism = (2 * RADIUS) ** 2 * DEPTH
    assert kept_volume_m3(cup, steep - 90.0) == pytest.approx(prism / 6, rel=1e-9)
    (found,) = puddles(tilted(cylinder_cup(), steep))
    assert found.volume_m3 == pytest.approx(prism / 6, rel=0.003)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 45.0, 60.0, 75.0])
def test_a_tilted_cylinder_keeps_the_volume_of_its_closed_form(tilt: float) -> None:
    cup = Cup.model_validate({"name": "cup", "opens": "distal", "width": "20 mm", "depth": "24 mm"})
    (found,) = puddles(tilted(cylinder_cup(), tilt))
    assert found.volume_m3 == pytest.approx(kept_volume_m3(cup, tilt - 90.0), rel=0.003)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 45.0, 70.0])
def test_a_tilted_bowl_keeps_a_cap_of_its_sphere(tilt: float) -> None:
    height = RADIUS * (1.0 - math.sin(math.radians(tilt)))
    (found,) = puddles(tilted(bowl(), tilt))
    assert found.volume_m3 == pytest.approx(math.pi * height**2 * (3 * RADIUS - height) / 3, rel=0.003)


@pytest.mark.parametrize("tilt", [90.0, 100.0, 150.0, 180.0])
def test_what_opens_level_or_down_keeps_nothing(tilt: float) -> None:
    assert puddles(tilted(cylinder_cup(), tilt)) == ()
    assert puddles(tilted(bowl(), tilt)) == ()


def test_a_hole_in_the_bottom_lets_the_water_out() -> None:
    outer = RADIUS + WALL
    profile = [(0.003, -WALL), (outer, -WALL), (outer, DEPTH), (RADIUS, DEPTH), (RADIUS, 0.0), (0.003, 0.0)]
    assert puddles(turned([*profile, profile[0]], [PLAIN] * 6, 0.001)) == ()


def test_a_hollow_that_is_closed_all_round_gets_no_water() -> None:
    void = turned([(0.0, 0.0), (0.005, 0.0), (0.005, 0.01), (0.0, 0.01)], [PLAIN] * 3, 0.001)
    inward = Mesh(void.vertices, void.faces[:, ::-1], void.patch_of, void.zone_of, void.zones)
    block = box(np.full(3, -0.02), np.full(3, 0.02), [PLAIN] * 6, 0.01)
    assert puddles(joined([block, inward])) == ()


def test_a_ring_that_lies_flat_holds_no_water_and_a_trough_does() -> None:
    angle = np.linspace(0, 2 * math.pi, 40, endpoint=False)
    path = 0.02 * np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    assert puddles(wire(path, np.full(40, 0.003), [PLAIN] * 40, 0.002, close=True)) == ()
    outer, inner = 0.03, 0.01  # a moat around a post: both rims are as high
    profile = [(0.0, 0.0), (outer, 0.0), (outer, 0.01), (0.025, 0.01), (0.025, 0.002), (0.015, 0.002), (0.015, 0.01)]
    moat = turned([*profile, (inner, 0.01), (0.0, 0.01)], [PLAIN] * 8, 0.001)
    (found,) = puddles(moat)
    assert found.volume_m3 == pytest.approx(math.pi * (0.025**2 - 0.015**2) * 0.008, rel=0.005)
    assert found.level_m == pytest.approx(0.01)
    assert found.deepest_m[2] == pytest.approx(0.002)


def test_two_hollows_are_two_puddles_the_larger_first() -> None:
    one, other = bowl(), bowl().moved(0.5 * np.eye(3), np.array([0.1, 0.0, 0.0]))
    first, second = puddles(joined([other, one]))
    assert first.volume_m3 == pytest.approx(8 * second.volume_m3, rel=1e-6)

"""The jet of an open port against closed forms: height, fall, footprint on a plane and a cylinder, force.

Sources, from memory where nothing else is said: E. Torricelli, De motu gravium, 1644 (a jet rises to v²/2g, and its
parabola); L. Euler 1757 (momentum of a stream on a plate); D. Bernoulli, Hydrodynamica, 1738 (speed along a stream);
all three also in F. M. White, Fluid Mechanics, 7th edition, 2011; plane geometry for footprints.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from patency.reach import Arms, Wetting, strikes_of_load
from patency.reach.arms import FreeJet
from patency.reach.solids.bodies import turned
from patency.reach.solids.mesh import Zone
from tests.reach.drawn import arranged, square

GRAVITY = 9.80665
DENSITY = 1000.0
UPRIGHT = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])


def from_port(elevation: float = 90.0, *, speed: float, bore: float = 0.012) -> Arms:
    """Return no arms, and one free jet that leaves the origin at an angle above the horizontal."""
    up = math.radians(elevation)
    jet = FreeJet("T1", (0.0, 0.0, 0.0), (math.cos(up), 0.0, math.sin(up)), bore, speed)
    return Arms((), DENSITY, (), (jet,))


@pytest.mark.parametrize("speed", [1.5, 2.5, 4.0])
def test_a_free_jet_rises_as_high_as_its_velocity_head_and_no_higher(speed: float) -> None:
    top = speed**2 / (2 * GRAVITY)
    below, above = (arranged(square(0.05, (0.0, 0.0, part * top))) for part in (0.995, 1.005))
    assert strikes_of_load(below, from_port(speed=speed)).struck_share > 0
    assert strikes_of_load(above, from_port(speed=speed)).struck_share == 0


@pytest.mark.parametrize(("elevation", "distance"), [(0.0, 0.2), (0.0, 0.4), (30.0, 0.3), (60.0, 0.25)])
def test_a_free_jet_falls_by_a_parabola(elevation: float, distance: float) -> None:
    speed, up = 5.0, math.radians(elevation)
    rises = distance * math.tan(up) - GRAVITY * distance**2 / (2 * (speed * math.cos(up)) ** 2)
    wall = square(0.06, (distance, 0.0, rises), cell=0.0005, turned=UPRIGHT)
    one = strikes_of_load(arranged(wall), from_port(elevation, speed=speed)).pieces["S", "0"]
    struck = one.wetting == Wetting.INJECTED
    middle = np.average(one.surface.centres[struck], axis=0, weights=one.surface.areas_m2[struck])
    assert middle[1:] == pytest.approx([0.0, rises], abs=0.0004)


@pytest.mark.parametrize("slant", [0.0, 30.0, 60.0])
def test_a_free_jet_strikes_its_own_section_on_a_plane_and_pushes_it_with_its_momentum(slant: float) -> None:
    speed, bore, turn = 200.0, 0.012, math.radians(slant)
    about_y = np.array([[math.cos(turn), 0, math.sin(turn)], [0, 1, 0], [-math.sin(turn), 0, math.cos(turn)]])
    plane = square(0.06, (0.0, 0.0, 0.1), cell=0.0005, turned=about_y)
    one = strikes_of_load(arranged(plane), from_port(speed=speed, bore=bore)).pieces["S", "0"]
    section = math.pi * bore**2 / 4
    area = one.surface.areas_m2[one.wetting == Wetting.INJECTED].sum()
    assert area == pytest.approx(section / math.cos(turn), rel=0.02)
    struck = one.wetting == Wetting.INJECTED
    assert one.least_incidence_deg[struck] == pytest.approx(slant, abs=0.05)
    assert one.largest_incidence_deg[struck] == pytest.approx(slant, abs=0.05)
    stagnation = DENSITY / 2 * speed**2  # D. Bernoulli 1738; of what comes at a slant the part along the normal
    assert one.pressure_pa[struck] == pytest.approx(stagnation * math.cos(turn) ** 2, rel=0.001)
    assert not one.pressure_pa[~struck].any()
    flow = speed * section
    assert one.push_n == pytest.approx(DENSITY * flow * speed * math.cos(turn), rel=0.02)
    assert one.lift_n == pytest.approx(one.push_n * math.cos(turn), rel=0.001)


@pytest.mark.parametrize("radius", [0.01, 0.02])
def test_a_free_jet_strikes_of_a_cylinder_what_two_crossing_cylinders_share(radius: float) -> None:
    speed, bore, length = 200.0, 0.012, 0.04
    sides = [Zone("end", sided=False), Zone("side", sided=False), Zone("end", sided=False)]
    mesh = turned([(0.0, 0.0), (radius, 0.0), (radius, length), (0.0, length)], sides, 0.0006)
    across = mesh.moved(UPRIGHT, np.array([-length / 2, 0.0, 0.1]))
    one = strikes_of_load(arranged(across), from_port(speed=speed, bore=bore)).pieces["S", "0"]
    y = (np.arange(4000) + 0.5) / 4000 * bore / 2
    # Of a strip dy of the jet's section, 2 sqrt(r² − y²) long, the surface has dy / sqrt(1 − y²/R²).
    area = 2 * (2 * np.sqrt(bore**2 / 4 - y**2) / np.sqrt(1 - y**2 / radius**2)).sum() * bore / 8000
    assert one.surface.areas_m2[one.wetting == Wetting.INJECTED].sum() == pytest.approx(area, rel=0.02)


def test_a_rising_jet_pushes_with_the_speed_that_it_has_left() -> None:
    speed, bore, height = 4.0, 0.012, 0.5
    plane = square(0.04, (0.0, 0.0, height), cell=0.0005)
    one = strikes_of_load(arranged(plane), from_port(speed=speed, bore=bore)).pieces["S", "0"]
    left = math.sqrt(speed**2 - 2 * GRAVITY * height)
    assert one.push_n == pytest.approx(DENSITY * math.pi * bore**2 / 4 * speed * left, rel=0.02)

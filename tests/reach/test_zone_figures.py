"""Figures of each zone of a piece: which arms, how often, how hard, at which angles."""

from __future__ import annotations

import numpy as np
import pytest

from patency.reach import Arms, TurningArm, figures_of_zones, strikes_of_load
from tests.reach.drawn import arranged, jet, square

HALF_SPREAD = 20.0
HEIGHT = 0.2


def test_each_side_of_a_plate_tells_its_arm_its_hits_and_its_angles() -> None:
    below = TurningArm("below", (0.0, 0.0, -HEIGHT), 0.3, 0.03, 30.0, (jet(half_spread=HALF_SPREAD, speed=300.0),))
    far = TurningArm("far", (2.0, 0.0, HEIGHT), 0.3, 0.03, 30.0, (jet(half_spread=1.0, speed=300.0),))
    plate = square(0.24, (0.0, 0.0, 0.0), cell=0.004)
    strikes = strikes_of_load(arranged(plate), Arms((below, far), 1000.0, ()))
    one = strikes.pieces["S", "0"]
    zones = {figures.zone: figures for figures in figures_of_zones(strikes, ("S", "0"))}
    assert sum(figures.area_m2 for figures in zones.values()) == pytest.approx(one.surface.areas_m2.sum())
    under = next(figures for figures in zones.values() if figures.arms)
    assert [figures.arms for figures in zones.values() if figures.arms] == [("below",)]
    # A jet straight up, as wide as its outlet at first, strikes a disc, each patch of it once a turn.
    outlet = below.jets[0].outlet_m
    disc = np.pi * (outlet / 2 + HEIGHT * np.tan(np.radians(HALF_SPREAD))) ** 2
    assert under.struck_share == pytest.approx(disc / under.area_m2, rel=0.05)
    assert under.hits_per_min == pytest.approx(30.0 * disc / under.area_m2, rel=0.05)
    assert under.largest_incidence_deg == pytest.approx(HALF_SPREAD, abs=0.7)
    assert under.least_incidence_deg == pytest.approx(0.0, abs=1.0)
    assert under.pressure_pa == one.pressure_pa.max() > 0.0
    for figures in zones.values():
        if not figures.arms:
            assert figures[2:7] == (0.0, 0.0, 0.0, None, None)

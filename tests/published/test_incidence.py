"""Which arm strikes which side of a plate, and at which angles, against plane geometry.

From memory: Euclid, Elements, book VI (J. L. Heiberg, 1883-1888): a nozzle at height h strikes a level patch at the
distance r beside its foot at the angle arctan(r/h) to the patch's normal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.reach import Arms, Jet, JetSampling, TurningArm, strikes_of_load
from tests.reach.drawn import arranged, jet, square

if TYPE_CHECKING:
    from patency.reach import PieceStrikes

FAST = 300.0  # m/s: a jet that hardly falls
BELOW, ABOVE = 0.2, 0.3
EVERY = JetSampling(angle_steps=240, finer=1)


def between(below: Jet, above: Jet) -> PieceStrikes:
    """Return what an arm below and one above strike of a plate between them."""
    arms = (
        TurningArm("below", (0.0, 0.0, -BELOW), 0.3, 0.03, 30.0, (below,)),
        TurningArm("above", (0.0, 0.0, ABOVE), 0.3, 0.03, 30.0, (above,)),
    )
    plate = square(0.24, (0.0, 0.0, 0.0), cell=0.004)
    return strikes_of_load(arranged(plate), Arms(arms, 1000.0, ()), EVERY).pieces["S", "0"]


def side(one: PieceStrikes, up: float) -> np.ndarray:
    """Return which patches of one side of the plate are struck."""
    return (one.surface.normals[:, 2] * up > 0.9) & (one.pressure_pa > 0)


def test_each_side_is_struck_by_the_arm_it_looks_at_and_at_the_angle_to_its_nozzle() -> None:
    one = between(jet(half_spread=20.0, speed=FAST), jet(-90.0, half_spread=15.0, speed=FAST))
    for up, bits, height, half_spread in ((-1.0, 0b01, BELOW, 20.0), (1.0, 0b10, ABOVE, 15.0)):
        struck = side(one, up)
        assert np.count_nonzero(struck) > 500
        assert (one.arms[struck] == bits).all()
        angle = np.degrees(np.arctan(np.hypot(*one.surface.centres[struck, :2].T) / height))
        assert one.least_incidence_deg[struck] == pytest.approx(angle, abs=0.1)
        assert one.largest_incidence_deg[struck] == pytest.approx(angle, abs=0.1)
        assert angle.max() == pytest.approx(half_spread, abs=1.0)
    assert (one.arms[one.pressure_pa == 0] == 0).all()


def test_two_arms_that_strike_one_side_are_both_told_with_the_range_of_both() -> None:
    one = between(jet(half_spread=1.0, speed=FAST), jet(-90.0, out=0.05, half_spread=35.0, speed=FAST))
    middle = np.hypot(*one.surface.centres[:, :2].T)
    struck = side(one, 1.0) & (middle < 0.1)  # seen at every angle of the arm
    near, far = (np.degrees(np.arctan(np.abs(middle[struck] + way) / ABOVE)) for way in (-0.05, 0.05))
    assert one.least_incidence_deg[struck] == pytest.approx(near, abs=0.3)
    assert one.largest_incidence_deg[struck] == pytest.approx(far, abs=0.3)
    arms = tuple(
        TurningArm(name, (0.0, 0.0, ABOVE), 0.3, 0.03, 30.0, (jet(-90.0, half_spread=spread, speed=FAST),))
        for name, spread in (("first", 20.0), ("second", 10.0))
    )
    plate = square(0.24, (0.0, 0.0, 0.0), cell=0.004)
    one = strikes_of_load(arranged(plate), Arms(arms, 1000.0, ())).pieces["S", "0"]
    angle = np.degrees(np.arctan(np.hypot(*one.surface.centres[:, :2].T) / ABOVE))
    struck = side(one, 1.0)
    assert (one.arms[struck & (angle < 9.5)] == 0b11).all()
    assert (one.arms[struck & (angle > 11.0)] == 0b01).all()

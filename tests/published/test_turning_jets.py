"""Jets of nozzles that turn with their arm against closed forms: rings, a sprinkler without friction, momentum.

Sources, from memory: E. Torricelli, De motu gravium, 1644 (the parabola); G. Galilei, Dialogo, 1632 (what is carried
along keeps its velocity); J. A. Segner's wheel of 1750 and L. Euler's theory of it, 1754, the lawn sprinkler of F. M.
White, Fluid Mechanics, 7th edition, 2011, chapter 3: arms turn against what leaves them, without friction until the
water leaves with no velocity across.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import SprayArm
from patency.reach import Arms, JetSampling, arms_of_load, jet_speed_m_s, strikes_of_load
from tests.reach.cast import machine
from tests.reach.drawn import arranged, square, struck_places

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.reach import Jet

GRAVITY = 9.80665
OUTLET, DISCHARGE = 0.004, 0.8
Nozzle = tuple[float, float, float]


def arm_of(nozzles: Sequence[Nozzle], rpm: float, spread: float = 2.0, **more: object) -> SprayArm:
    """Return an arm with nozzles (distance from its axis in m, elevation, turned in degrees), on the axis."""
    stated = [
        {"from_axis": f"{1000 * out} mm", "elevation": f"{up} °", "turned": f"{turned} °", "spread": f"{spread} °"}
        for out, up, turned in nozzles
    ]
    facts = {"fed_from": "machine", "height": "0 mm", "swept_thickness": "30 mm", "radius": "400 mm"}
    facts |= {"centre_x": "0 mm", "centre_y": "0 mm"}
    jets = {"count": len(stated), "outlet": f"{1000 * OUTLET} mm", "discharge_coefficient": DISCHARGE}
    return SprayArm.model_validate({**facts, "jets": jets, "nozzles": stated, "rotation": f"{rpm} rpm", **more})


def arms_of(nozzles: Sequence[Nozzle], rpm: float, speed: float, spread: float = 2.0, **more: object) -> Arms:
    """Return such an arm whose jets leave their nozzles with a speed [m/s]."""
    each = speed * DISCHARGE * math.pi * OUTLET**2 / 4
    assert jet_speed_m_s(each, OUTLET, DISCHARGE) == pytest.approx(speed)
    kind = machine().model_copy(update={"arms": {"arm": arm_of(nozzles, rpm, spread, **more)}})
    return arms_of_load(kind, {"arm": each * len(nozzles)}, 20.0)


def jets_of(arms: Arms) -> tuple[Jet, ...]:
    """Return the jets of the only arm."""
    assert arms.gaps == ()
    return arms.arms[0].jets


@pytest.mark.parametrize(("out", "rpm"), [(0.3, 30.0), (0.3, 60.0), (-0.2, 90.0), (0.2, 0.01)])
def test_an_upright_jet_is_carried_along_while_it_flies(out: float, rpm: float) -> None:
    speed, height = 3.0, 0.3
    time = (speed - math.sqrt(speed**2 - 2 * GRAVITY * height)) / GRAVITY
    plane = square(0.8, (0.0, 0.0, height), cell=0.006)
    arms = arms_of([(out, 90.0, 0.0)], rpm, speed, turns="clockwise")
    struck = struck_places(strikes_of_load(arranged(plane), arms), "0", facing=(0.0, 0.0, -1.0))
    radius = np.hypot(struck[:, 1], struck[:, 2])
    middle = (radius.min() + radius.max()) / 2
    assert middle == pytest.approx(abs(out) * math.hypot(1.0, 2 * math.pi * rpm / 60 * time), abs=0.003)


@pytest.mark.parametrize(("turns", "sign"), [("clockwise", -1.0), ("counter-clockwise", 1.0)])
def test_a_nozzle_gives_its_jet_its_own_velocity_the_way_it_turns(turns: str, sign: float) -> None:
    for out in (0.3, -0.3):
        (jet,) = jets_of(arms_of([(out, 90.0, 0.0)], 30.0, 5.0, turns=turns))
        across = sign * math.pi * out  # 30 turns a minute are π rad/s
        assert jet.speed_m_s == pytest.approx(math.hypot(5.0, across))
        assert np.array(jet.direction) * jet.speed_m_s == pytest.approx([0.0, across, 5.0], abs=1e-12)


@pytest.mark.parametrize("across", [90.0, -90.0])
def test_a_sprinkler_without_friction_throws_its_water_straight_up(across: float) -> None:
    speed, out, up = 6.0, 0.25, 45.0
    level = speed * math.cos(math.radians(up))
    rpm = level / out * 60 / (2 * math.pi)
    for jet in jets_of(arms_of([(out, up, across), (-out, up, -across)], rpm, speed)):
        assert jet.direction == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)
        assert jet.speed_m_s == pytest.approx(speed * math.sin(math.radians(up)))


def test_a_plate_feels_the_momentum_of_a_jet_that_is_carried_along() -> None:
    speed, height, out, rpm = 6.0, 0.15, 0.3, 60.0
    plate = square(0.1, (out, 0.0, height), cell=0.001)
    arms = arms_of([(out, 90.0, 0.0)], rpm, speed, spread=14.0, turns="clockwise")
    found = strikes_of_load(arranged(plate), arms, JetSampling(angle_steps=96, finer=1)).pieces["S", "0"]
    arrives = math.sqrt(speed**2 - 2 * GRAVITY * height)
    flow = speed * DISCHARGE * math.pi * OUTLET**2 / 4
    assert found.lift_n == pytest.approx(arms.water_density_kg_m3 * flow * arrives, rel=0.03)
    assert found.lift_n == pytest.approx(found.push_n, rel=1e-6)  # a level plate takes nothing across
    slant = math.degrees(math.atan2(out * 2 * math.pi * rpm / 60, arrives))
    below = found.surface.normals[:, 2] < -0.9
    middle = (np.nanmin(found.least_incidence_deg[below]) + np.nanmax(found.largest_incidence_deg[below])) / 2
    assert middle == pytest.approx(slant, abs=0.5)

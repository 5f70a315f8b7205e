"""Distances to arms and neighbours, against plane geometry."""

from __future__ import annotations

import numpy as np
import pytest

from patency.reach import clearances
from patency.reach.solids.bodies import box, turned
from patency.reach.solids.mesh import Mesh, Zone
from tests.reach.cast import machine
from tests.reach.drawn import arranged

PLAIN = [Zone("body", sided=False)] * 6


def brick(at: tuple[float, float, float], size: float = 0.02) -> Mesh:
    """Return a cube around a place."""
    return box(np.full(3, -size / 2), np.full(3, size / 2), PLAIN, 0.01).moved(np.eye(3), np.array(at))


def test_distances_are_those_between_the_nearest_faces_edges_and_corners() -> None:
    load = arranged(brick((0.0, 0.0, 0.1)), brick((0.05, 0.0, 0.1)), brick((0.05, 0.05, 0.14)))
    found = clearances(load, machine({"height": 0.0}))
    assert found["S", "0"].to_body_m == pytest.approx(0.03, abs=1e-9)
    assert found["S", "0"].body == "body 1 at floor"
    assert found["S", "2"].to_body_m == pytest.approx(np.hypot(0.03, 0.02), abs=1e-9)
    assert found["S", "0"].arm == "arm 0"
    assert found["S", "0"].to_sweep_m == pytest.approx(0.09 - 0.02, abs=1e-9)  # the arm sweeps 20 mm up


def test_what_touches_is_not_apart_and_what_is_in_the_sweep_is_below_zero() -> None:
    rod = turned([(0.0, -0.01), (0.005, -0.01), (0.005, 0.01), (0.0, 0.01)], PLAIN[:3], 0.002)
    found = clearances(arranged(brick((0.0, 0.0, 0.0)), rod), machine({"height": 0.0}))
    assert found["S", "1"].to_body_m == 0.0
    assert found["S", "1"].to_sweep_m == pytest.approx(-0.02, abs=1e-9)  # from the middle of 40 mm


def test_a_piece_alone_without_arms_has_no_distances() -> None:
    assert clearances(arranged(brick((0.0, 0.0, 0.0))), machine())["S", "0"] == (None, "", None, "")

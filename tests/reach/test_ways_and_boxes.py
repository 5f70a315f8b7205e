"""Short cuts that spare rays: they may take too many ways for ones that meet a body, never too few."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.reach.jets.inputs import JetSampling, jets_of
from patency.reach.jets.kernels import flight
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.ray_kernels import parts_of_ways
from patency.reach.jets.sample_kernels import OwnBox, crosses_box, from_box, rise_toward
from tests.reach.test_windows import some_arms, some_surface

if TYPE_CHECKING:
    from numpy.typing import NDArray


@pytest.fixture
def chance() -> np.random.Generator:
    return np.random.default_rng(20261128)


def clipped(begin: NDArray[np.float64], end: NDArray[np.float64], half: NDArray[np.float64]) -> float:
    """Return how much of a way lies within a box around the origin, clipped plane by plane; negative for none."""
    way = end - begin
    with np.errstate(divide="ignore"):
        ends = np.sort([(-half - begin) / way, (half - begin) / way], axis=0)
    return float(min(1.0, ends[1].min()) - max(0.0, ends[0].max()))


def test_a_way_meets_a_box_where_clipping_leaves_some_of_it(chance: np.random.Generator) -> None:
    met = 0
    for _ in range(4000):
        begin, end = chance.normal(size=(2, 3))
        half = chance.uniform(0.02, 0.6, 3)
        left = clipped(begin, end, half)
        if abs(left) > 1e-9:
            met += left > 0
            assert crosses_box(tuple(begin), tuple(end), tuple(half)) == (left > 0)
    assert 400 < met < 3600


def test_a_place_seen_from_a_box_is_turned_back(chance: np.random.Generator) -> None:
    turn = np.linalg.qr(chance.normal(size=(3, 3)))[0]
    place, middle = chance.normal(size=(2, 3))
    seen = from_box(place, 0.25, middle, turn)
    assert np.allclose(middle + turn @ seen, place + np.array([0.0, 0.0, 0.25]), atol=1e-12)


def test_no_flight_that_meets_a_box_is_left_out_and_none_rises_higher(
    chance: np.random.Generator,
) -> None:
    met = spared = 0
    for _ in range(2500):
        centre, at = chance.uniform(-0.4, 0.4, 3), chance.uniform(-0.4, 0.4, 3)
        low = chance.uniform(-0.5, 0.3, 3)
        box = (low, low + chance.uniform(0.02, 0.4, 3))
        widest, slowest = chance.uniform(0.02, 0.3), chance.uniform(3.0, 12.0)
        rise = rise_toward(at, centre, widest, slowest, box)
        turn, out = chance.uniform(0.0, 2.0 * math.pi), chance.uniform(-1.0, 1.0) * widest
        nozzle = centre + np.array([out * math.cos(turn), out * math.sin(turn), 0.0])
        away = (at - nozzle).tolist()
        time = flight(away[0], away[1], away[2], slowest * chance.uniform(1.0, 2.0))
        if time < 0.0:
            continue
        share = np.linspace(0.0, 1.0, 400)[:, None]
        above = STANDARD_GRAVITY_M_S2 / 2 * time**2 * share * (1.0 - share)
        path = nozzle + share * (at - nozzle) + above * np.array([0.0, 0.0, 1.0])
        meets = ((path >= box[0]) & (path <= box[1])).all(axis=1).any()
        met, spared = met + int(meets), spared + int(rise < 0.0)
        assert not meets or rise >= above.max() - 1e-12
    assert met > 100
    assert spared > 100


def test_a_ray_meets_the_plane_of_its_triangle_after_that_part_of_its_way(chance: np.random.Generator) -> None:
    points = chance.normal(size=(300, 3)).astype(np.float32)
    faces = np.arange(300, dtype=np.int32).reshape(-1, 3)
    weights = chance.dirichlet(np.ones(3), 100)
    on_it = np.einsum("fc,fcx->fx", weights, points[faces])
    origins = chance.normal(size=(100, 3)).astype(np.float32)
    ways = ((on_it - origins) / chance.uniform(0.1, 0.9, 100)[:, None]).astype(np.float32)
    met, parts = np.arange(100, dtype=np.int32), np.ones(100, dtype=np.float32)
    met[90:] = -1
    parts_of_ways(met, points, faces, origins, ways, parts)
    expected = np.linalg.norm(on_it - origins, axis=1) / np.linalg.norm(ways, axis=1)
    assert np.allclose(parts[:90], expected[:90], atol=1e-4)
    assert (parts[90:] == 1.0).all()


def test_every_flight_that_meets_a_turned_body_is_among_those_that_are_asked_for(chance: np.random.Generator) -> None:
    jets = jets_of(some_arms(chance), JetSampling(angle_steps=12, finer=8))
    surface, met, spared = some_surface(chance, 40), 0, 0
    samples = [(patch, jet, step) for patch in range(40) for jet in range(len(jets.speed)) for step in range(0, 96, 16)]
    patch, jet, step = (np.array(column) for column in zip(*samples, strict=True))
    columns = (patch, jet, step, np.full(len(patch), -1), np.ones(len(patch)))
    for _ in range(12):
        turn = np.linalg.qr(chance.normal(size=(3, 3)))[0]
        middle, half = chance.uniform([-0.3, -0.3, -0.1], [0.3, 0.3, 0.6]), chance.uniform(0.01, 0.2, 3)
        beside = np.abs(turn) @ half
        may = np.empty(len(patch), dtype=np.int64)
        box, own = (middle - beside, middle + beside), OwnBox(middle, turn, half)
        count = compiled("touched_samples")(surface.centres, jets, columns, box, own, may)
        asked, spared = set(may[:count].tolist()), spared + len(patch) - count
        for number, (of, by, at) in enumerate(samples):
            nozzle, place = jets.nozzle[by, at], surface.centres[of]
            x, y, z = (place - nozzle).tolist()
            time = flight(x, y, z, jets.speed[by])
            if time >= 0.0:
                share = np.linspace(0.0, 1.0, 60)[:, None]
                above = STANDARD_GRAVITY_M_S2 / 2 * time**2 * share * (1.0 - share)
                path = nozzle + share * (place - nozzle) + above * np.array([0.0, 0.0, 1.0])
                if (np.abs((path - middle) @ turn) <= half).all(axis=1).any():
                    met += 1
                    assert number in asked
    assert met > 500
    assert spared > 500

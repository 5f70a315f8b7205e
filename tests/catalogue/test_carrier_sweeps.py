"""Rods, drums and baskets of carriers against what arms sweep, at both sides of touching."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from patency.catalogue import BasketArea, Carrier, CoilPlace, FrameRod
from patency.catalogue.carrier_sweeps import sweep_findings
from tests.reach.cast import carrier, machine, mm

KIND = machine({"height": 100.0, "radius": 200.0, "swept_thickness": 40.0, "centre_x": 250.0, "centre_y": 250.0})


def found(**parts: object) -> list[tuple[str, ...]]:
    """Return the paths of what stands in the way of the arm, of a carrier with some parts more."""
    with_parts: Carrier = carrier().model_copy(update=parts)
    docks = [SimpleNamespace(kind="k", docks=["c"]), SimpleNamespace(kind="k", docks=["c", "not there"])]
    cast = SimpleNamespace(
        machines=dict(enumerate(docks)),
        machine_kinds={"k": KIND},
        carriers={"c": with_parts, "docks nowhere": with_parts},
    )
    findings = list(sweep_findings(cast))  # type: ignore[arg-type]
    assert all("in the way of the arm 0 of k" in one.what for one in findings)
    return [tuple(map(str, one.path)) for one in findings]


def rod(begins: tuple[float, ...], ends: tuple[float, ...], width: float = 10.0) -> dict[str, FrameRod]:
    """Return a frame of one rod, in millimetres."""
    at = {name: dict(zip("xyz", map(mm, end), strict=True)) for name, end in (("begins", begins), ("ends", ends))}
    return {"bar": FrameRod.model_validate({**at, "width": mm(width)})}


@pytest.mark.parametrize(
    ("begins", "ends", "count"),
    [
        ((0, 250, 100), (500, 250, 100), 1),  # through the middle
        ((250, 250, 0), (250, 250, 500), 1),  # upright through the middle
        ((0, 250, 125.01), (500, 250, 125.01), 0),  # over it
        ((0, 250, 124.99), (500, 250, 124.99), 1),
        ((0, 250, 74.99), (500, 250, 74.99), 0),  # under it
        ((0, 250, 75.01), (500, 250, 75.01), 1),
        ((455.01, 0, 100), (455.01, 500, 100), 0),  # beside it
        ((454.99, 0, 100), (454.99, 500, 100), 1),
        ((455.01, 250, 0), (455.01, 250, 200), 0),
        ((454.99, 250, 0), (454.99, 250, 200), 1),
        ((480, 250, 100), (450.01, 250, 100), 0),  # ends before it
        ((480, 250, 100), (449.99, 250, 100), 1),
        ((250, 250, 100), (250, 250, 100), 1),  # a rod without length
        ((480, 250, 100), (480, 250, 100), 0),
    ],
)
def test_a_rod_in_the_way_of_an_arm_is_found(begins: tuple[float, ...], ends: tuple[float, ...], count: int) -> None:
    assert found(frame=rod(begins, ends)) == [("carriers", "c", "frame", "bar")] * count


def test_slanted_rods_are_found_as_their_points_tell() -> None:
    random = np.random.default_rng(5)
    hits = 0
    for _ in range(150):
        ends = random.uniform((0, 0, 0), (500, 500, 250), (2, 3))
        axis = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
        aside = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
        aside /= np.linalg.norm(aside)
        turns = np.linspace(0, 2 * math.pi, 24)[:, None]
        ring = 5 * (np.cos(turns) * aside + np.sin(turns) * np.cross(axis, aside))
        along = ends[0] + np.linspace(0, 1, 500)[:, None] * (ends[1] - ends[0])
        points = np.concatenate([along[:, None] + ring, along[:, None]], axis=1).reshape(-1, 3)
        out = np.hypot(*(points[:, :2] - 250).T) - 200
        above = np.abs(points[:, 2] - 100) - 20
        inside = np.maximum(out, above).min()  # below nothing where a point of it is in the sweep
        answer = bool(found(frame=rod(tuple(ends[0]), tuple(ends[1]))))
        hits += answer
        if abs(inside) > 5.0:  # nearer than its radius an end that only grazes is passed over
            assert answer == (inside < 0), ends
    assert 20 < hits < 130


def test_a_basket_counts_up_to_its_walls_and_a_drum_with_its_width() -> None:
    facts = {"level": "floor", "width": "100 mm", "depth": "100 mm", "clear_height": "90 mm"}
    for x, z, walls, count in (
        (200, 0, 90, 1),
        (200, 0, 79.9, 0),
        (200, 0, None, 1),
        (200, 119.9, 50, 1),
        (200, 120.1, 50, 0),
        (449.9, 60, 90, 1),
        (450.1, 60, 90, 0),
    ):
        at = {"x": mm(x), "y": "200 mm", "z": mm(z)}
        stated = {"wall_height": mm(walls)} if walls else {}
        area = BasketArea.model_validate({**facts, "at": at, **stated})
        assert found(basket_areas={"B1": area}) == [("carriers", "c", "basket_areas", "B1")] * count
    drum = {"level": "floor", "mandrel_diameter": "80 mm", "pitch": "8 mm", "turns": 10}
    for z, count in ((160.1, 0), (159.9, 1)):
        place = CoilPlace.model_validate({**drum, "at": {"x": "250 mm", "y": "250 mm", "z": mm(z)}})
        assert found(coil_places={"C1": place}) == [("carriers", "c", "coil_places", "C1")] * count

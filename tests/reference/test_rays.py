"""The ray caster against a second one: every ray against every triangle, after T. Möller and B. Trumbore, 1997."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.reach import RayScene

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def first_faces(corners: Floats, begins: Floats, ends: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Return the first face each way meets, -1 for none, and how near to an edge or to another face the answer is."""
    a, b, c = corners.transpose(1, 0, 2)[:, None]
    ways = (ends - begins)[:, None]
    p = np.cross(ways, c - a)
    determinant = np.einsum("rfk,rfk->rf", p, np.broadcast_to(b - a, p.shape))
    from_a = begins[:, None] - a
    u = np.einsum("rfk,rfk->rf", from_a, p) / determinant
    q = np.cross(from_a, np.broadcast_to(b - a, from_a.shape))
    v = np.einsum("rfk,rfk->rf", np.broadcast_to(ways, q.shape), q) / determinant
    t = np.einsum("rfk,rfk->rf", np.broadcast_to(c - a, q.shape), q) / determinant
    inside = np.minimum(np.minimum(u, v), np.minimum(1 - u - v, np.minimum(t, 1 - t)))
    hit = np.where(inside > 0, t, np.inf)
    order = np.sort(hit, axis=1)
    with np.errstate(invalid="ignore"):
        margin = np.minimum(np.abs(inside).min(axis=1), np.nan_to_num(order[:, 1] - order[:, 0], nan=1.0, posinf=1.0))
    return np.where(np.isfinite(order[:, 0]), hit.argmin(axis=1), -1), margin


@pytest.mark.parametrize("seed", range(8))
def test_rays_meet_the_same_triangles_as_a_second_ray_caster(seed: int) -> None:
    random = np.random.default_rng(seed)
    corners = random.uniform(-0.4, 0.4, (60, 1, 3)) + random.uniform(-0.15, 0.15, (60, 3, 3))
    begins, ends = random.uniform(-0.5, 0.5, (2, 2000, 3))
    scene = RayScene([(corners.reshape(-1, 3), np.arange(180).reshape(-1, 3))])
    expected, margin = first_faces(corners, begins, ends)
    clear = margin > 1e-5  # nearer than this to an edge, single precision may decide either way
    assert clear.mean() > 0.99
    assert (scene.first_met(begins, ends)[clear] == expected[clear]).all()
    assert 0.1 < (expected >= 0).mean() < 0.9


def bodies_of(random: np.random.Generator, count: int) -> list[tuple[Floats, NDArray[np.int64]]]:
    """Return bodies of ten triangles each, here and there."""
    corners = random.uniform(-0.4, 0.4, (count, 1, 1, 3)) + random.uniform(-0.15, 0.15, (count, 10, 3, 3))
    return [(one.reshape(-1, 3), np.arange(30).reshape(-1, 3)) for one in corners]


@pytest.mark.parametrize("seed", range(4))
def test_a_scene_with_bodies_taken_out_and_set_beside_it_meets_what_a_new_scene_meets(seed: int) -> None:
    random = np.random.default_rng(seed)
    before = bodies_of(random, 30)
    after = [*bodies_of(random, 1), *before[:12], *bodies_of(random, 2), *before[15:]]
    changed, anew = RayScene(before).with_bodies(before[:-1]).with_bodies(after), RayScene(after)
    begins, ends = random.uniform(-0.5, 0.5, (2, 5000, 3))
    met, expected = changed.first_met(begins, ends), anew.first_met(begins, ends)
    assert ((met < 0) == (expected < 0)).mean() > 0.999  # nearer to an edge single precision may decide either way
    both = (met >= 0) & (expected >= 0)
    same = changed.body_of_face[met[both]] == anew.body_of_face[expected[both]]
    assert same.mean() > 0.999
    assert set(changed.body_of_face[met[both]]) > {0, 13, 14}
    within = changed.face_within_body(met[both]) == anew.face_within_body(expected[both])
    assert within[same].mean() > 0.999
    assert type(changed) is not RayScene
    assert type(changed.with_bodies(bodies_of(random, 9))) is RayScene

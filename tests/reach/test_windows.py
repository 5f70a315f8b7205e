"""Angles that are left out because a jet cannot meet a patch there, against looking at every angle."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from patency.reach import Arms, Jet, JetSampling, Surface, TurningArm
from patency.reach.jets import kernels
from patency.reach.jets.asked import asked_of
from patency.reach.jets.inputs import jets_of
from patency.reach.jets.machine_code import compiled
from patency.reach.jets.runs import runs_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

SAMPLING = JetSampling(angle_steps=12, finer=128)
GRAVITY = 9.80665
GRAZING = math.cos(math.radians(88.0))


def some_arms(random: np.random.Generator) -> Arms:
    """Return two arms with jets in every direction, some of them slow."""
    arms = []
    for number in range(2):
        jets = []
        for _ in range(6):
            way = random.normal(size=3)
            x, y, z = way / np.linalg.norm(way)
            spread, speed = random.uniform(0.01, 0.6), random.uniform(1.5, 9.0)
            outlet = random.choice([0.0005, 0.003, 0.03])
            jets.append(Jet(random.uniform(-0.3, 0.3), (x, y, z), spread, 1e-4, speed, outlet))
        centre = (0.1 * number, 0.05, 0.4 * number)
        arms.append(TurningArm(f"arm {number}", centre, 0.3, 0.03, 30.0, tuple(jets)))
    return Arms(tuple(arms), 1000.0, ())


def some_surface(random: np.random.Generator, count: int) -> Surface:
    """Return patches anywhere, facing anywhere; one on an arm's axis and one at its nozzles' height."""
    centres = random.uniform([-0.4, -0.4, -0.3], [0.4, 0.4, 0.9], (count, 3))
    centres[0], centres[1] = (0.0, 0.05, 0.3), (0.2, 0.1, 0.0)
    normals = random.normal(size=(count, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    numbers = np.arange(count)
    return Surface(centres, normals, np.ones(count), np.zeros(count, dtype=np.int64), numbers)


def found_at(surface: Surface, jets: kernels.Jets, finer: int) -> list[tuple[int, int, int]]:
    """Return the samples that a first look finds."""
    room = 200_000
    columns: list[NDArray[Any]] = [np.empty(room, dtype=kind) for kind in (np.int32, np.int16, np.int32, np.int16)]
    shape = (surface.centres, surface.normals, surface.patch_of, jets, finer)
    count = compiled("find_samples")(*shape, *columns)
    assert count <= room
    return list(zip(*(column[:count].tolist() for column in columns[:3]), strict=True))


def found_closer(surface: Surface, jets: kernels.Jets) -> list[tuple[int, int, int]]:
    """Return every angle in the runs that a second look finds."""
    runs = np.stack(runs_of(asked_of([(surface, surface.patch_of)]), jets, SAMPLING), axis=1).tolist()
    steps = SAMPLING.all_steps
    return [
        (patch, jet, (first + number * apart) % steps)
        for patch, jet, first, apart, length in runs
        for number in range(length)
    ]


def every_angle(surface: Surface, jets: kernels.Jets) -> set[tuple[int, int, int]]:
    """Return all samples by the definition of a jet's cone, without any short cut."""
    ways = surface.centres[:, None, None, :] - jets.nozzle[None]
    speed = jets.speed[None, :, None]
    b, c = speed**2 - ways[..., 2] * GRAVITY, (ways**2).sum(axis=3)
    inside = b**2 - GRAVITY**2 * c
    with np.errstate(invalid="ignore", divide="ignore"):
        time = np.sqrt(2 * c / (b + np.sqrt(inside)))
    lift = GRAVITY * time**2 / 2
    up = np.array([0.0, 0.0, 1.0])
    launch, arrival = ways + lift[..., None] * up, ways - lift[..., None] * up
    along = (launch * jets.toward[None]).sum(axis=3)
    aside = np.linalg.norm(launch - along[..., None] * jets.toward[None], axis=3)
    tangent = (jets.sine / jets.cosine)[None, :, None]
    within = (along > 0) & (aside <= jets.outlet[None, :, None] + along * tangent)
    facing = -(arrival * surface.normals[:, None, None, :]).sum(axis=3)
    toward = facing > GRAZING * np.linalg.norm(arrival, axis=3)
    found = np.argwhere((b > 0) & (inside >= 0) & within & toward).tolist()
    return {(patch, arm, step) for patch, arm, step in found}


@pytest.mark.parametrize("seed", range(4))
def test_a_look_at_all_angles_finds_every_angle_once_and_both_looks_leave_out_only_angles(seed: int) -> None:
    random = np.random.default_rng(seed)
    surface, jets = some_surface(random, 150), jets_of(some_arms(random), SAMPLING)
    every = every_angle(surface, jets)
    whole = found_at(surface, jets, 1)
    assert len(whole) == len(set(whole))
    assert set(whole) == every
    first, second = found_at(surface, jets, SAMPLING.finer), found_closer(surface, jets)
    assert len(second) == len(set(second))
    assert 0 < len(first) < len(second) < len(every)
    assert len(set(first) - set(second)) == len(set(second) - every) == 0
    met = np.zeros((len(surface.areas_m2), len(jets.speed), SAMPLING.all_steps), dtype=np.bool_)
    columns = [column.reshape(-1) for column in np.indices(met.shape)]
    found = np.zeros(met.size, dtype=np.bool_)
    compiled("meet_samples")(surface.centres, surface.normals, jets, *columns, found)
    met[tuple(np.array(sorted(every)).T)] = True
    assert (found == met.reshape(-1)).all()


def test_runs_of_a_second_look_leave_out_no_angle_that_is_met(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = 0
    for seed in range(6):
        random = np.random.default_rng(seed)
        surface, jets = some_surface(random, 150), jets_of(some_arms(random), SAMPLING)
        second = set(found_closer(surface, jets))
        with monkeypatch.context() as patched:
            patched.setattr("patency.reach.jets.runs._TRIED", 1)
            each = set(found_closer(surface, jets))
        assert len(second ^ each) == 0
        seen += len(each)
    assert seen > 100_000

"""What the jets strike of a full load of the demo: how long it takes, how long a move takes, how far it has converged.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.reach

Every time is given twice: time that passes, and processor time. The peer is every ray on every triangle, after Möller
and Trumbore, on a few of the same rays in the same run. Convergence compares the default with patches half as large,
with twice as many angles, and with twice as many directions in which splashes are looked for; the largest change of any
piece's share is printed, and how many pieces change by more than one percentage point.
"""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from patency.flow import nominal_flow_of_load
from patency.reach import (
    JetSampling,
    RayScene,
    Strikes,
    Wetting,
    arms_of_load,
    faults_of_arrangement,
    rotated_in_place,
    solids_of_load,
    strikes_after_move,
    strikes_of_load,
)
from patency.reach.solids.pieces import PATCH_M
from tests.demo.larkmere import LOADS, hand_made_load, larkmere
from tests.reference.test_rays import first_faces

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.reach import Arms, Arranged

RAYS, FEW = 200_000, 5
T = TypeVar("T")


def timed(what: str, do: Callable[[], T]) -> T:
    """Do something, print how long it took, return what came of it."""
    passed, worked = time.perf_counter(), time.process_time()
    result = do()
    print(f"{what:<46}{time.perf_counter() - passed:9.2f} s{time.process_time() - worked:9.2f} s", flush=True)
    return result


def shares(strikes: Strikes) -> dict[tuple[str, str], float]:
    """Return the share of each piece that is struck directly."""
    return {key: one.share(Wetting.STRUCK) for key, one in strikes.pieces.items()}


def compared(what: str, one: Strikes, other: Strikes) -> None:
    """Print how far the shares of two computations lie apart."""
    before, after = shares(one), shares(other)
    apart = sorted(abs(after[key] - share) for key, share in before.items() if key in after)
    beyond = sum(each > 0.01 for each in apart)
    print(f"{what:<46}{100 * apart[-1]:9.2f} points at most, {beyond} of {len(apart)} pieces beyond one", flush=True)


def the_arms(load_id: str) -> Arms:
    """Return the arms with their flow in a load of the demo."""
    load = hand_made_load(load_id)
    stages = nominal_flow_of_load(larkmere(), load).stages.values()
    stage = min(stages, key=lambda one: sum(flow.low for flow in one.arms_m3_s.values()))
    flows = {name: flow.low for name, flow in stage.arms_m3_s.items()}
    return arms_of_load(larkmere().machine_kinds[load.machine_kind], flows, stage.temperature_c)


def peer(arranged: Arranged) -> None:
    """Cast rays with the ray caster in use, and a few of them against every triangle."""
    meshes = [one.in_carrier for one in arranged.solids]
    corners = np.concatenate([mesh.vertices[mesh.faces] for mesh in meshes])
    random = np.random.default_rng(1)
    begins, ends = random.uniform(corners.min(axis=(0, 1)), corners.max(axis=(0, 1)), (2, RAYS, 3))
    scene = RayScene([(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3))])
    scene.first_met(begins[:10], ends[:10])
    met = timed(f"{RAYS} rays, ray caster in use", lambda: scene.first_met(begins, ends))
    every, _ = timed(f"{FEW} of them against every triangle", lambda: first_faces(corners, begins[:FEW], ends[:FEW]))
    print(f"{int((met[:FEW] == every).sum())} of {FEW} meet the same triangle", flush=True)


def main(load_id: str) -> None:
    """Run all parts on one load."""
    site, load, arms = larkmere(), hand_made_load(load_id), the_arms(load_id)
    strikes_of_load(solids_of_load(site, load), arms, JetSampling(angle_steps=4, finer=1))  # compiles the kernels
    print(f"load {load_id} of the demo, {len(load.pieces)} pieces" + " " * 22 + "passed  processor")
    arranged = timed("draw the load", lambda: solids_of_load(site, load))
    kind = site.machine_kinds[load.machine_kind]
    timed("check every place", lambda: faults_of_arrangement(arranged, kind, site.limits.load))
    strikes = timed("what the jets strike, default", lambda: strikes_of_load(arranged, arms))
    patches = sum(len(one.wetting) for one in strikes.pieces.values())
    samples = sum(len(one.share) for one in strikes.samples.values())
    print(f"{patches} patches, {samples} samples, {100 * strikes.struck_share:.1f} % struck", flush=True)
    key = max(strikes.pieces, key=lambda each: len(strikes.pieces[each].wetting) * ("instrument" in each[1]))
    pose = rotated_in_place(arranged.solids[arranged.number_of[key]], np.diag([-1.0, -1.0, 1.0]))
    timed(f"move one piece ({key[1]})", lambda: strikes_after_move(strikes, key, pose))
    twice = JetSampling(angle_steps=2 * JetSampling().angle_steps)
    compared("twice as many angles", strikes, strikes_of_load(arranged, arms, twice))
    compared(
        "twice as many splash directions", strikes, strikes_of_load(arranged, arms, JetSampling(reflection_rays=48))
    )
    finer = solids_of_load(site, load, cell_m=PATCH_M / 2)
    compared("patches half as large", strikes, strikes_of_load(finer, arms))
    peer(arranged)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else next(iter(LOADS)))

"""What the jets strike of a full load of the demo: how long it takes, how long a move takes, how far it has converged.

Run from the root of the checkout, in the environment of the tests:

    python -m benchmarks.reach [LOAD]
    python -m benchmarks.reach --converged LOAD [angles|patches|splashes]

The second prints only how far every piece of a load has converged, in one way or in all three, and the pieces that
change most.

Every time is given twice: time that passes, and processor time. The peer is every ray on every triangle, after Möller
and Trumbore, on a few of the same rays in the same run. Convergence compares the default with patches half as large,
with twice as many angles, and with twice as many directions in which splashes are looked for; the largest change of any
piece's share is printed, and how many pieces change by more than one percentage point. Last comes what the arms keep
off, which are not drawn: of every jet that crosses the plane of another arm, the share of its turn for which a bar
40 mm wide stands there.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
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
from patency.reach.jets.flights import flights_of
from patency.reach.jets.inputs import jets_of
from patency.reach.jets.strikes import splashed_anew
from patency.reach.solids.pieces import PATCH_M
from tests.demo.larkmere import LOADS, hand_made_load, larkmere
from tests.reference.test_rays import first_faces

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from patency.reach import Arms, Arranged, TurningArm
    from patency.reach.jets.flights import Flights

RAYS, FEW = 200_000, 5
FINER = {
    "angles": ("twice as many angles", JetSampling(angle_steps=2 * JetSampling().angle_steps)),
    "patches": ("patches half as large", JetSampling()),
    "splashes": ("twice as many splash directions", JetSampling(reflection_rays=2 * JetSampling().reflection_rays)),
}
ARM_WIDTH_M = 0.04  # from memory, not verified
T = TypeVar("T")


def timed(what: str, do: Callable[[], T]) -> T:
    """Do something, print how long it took, return what came of it."""
    passed, worked = time.perf_counter(), time.process_time()
    result = do()
    print(f"{what:<46}{time.perf_counter() - passed:9.2f} s{time.process_time() - worked:9.2f} s", flush=True)
    return result


def compared(what: str, one: Strikes, other: Strikes, told: int = 0, wetting: Wetting = Wetting.STRUCK) -> None:
    """Print how far the shares of two computations lie apart, and the pieces that change most."""
    before, after = ({key: each.share(wetting) for key, each in all_of.pieces.items()} for all_of in (one, other))
    apart = sorted((100 * abs(after[key] - share), key) for key, share in before.items() if key in after)
    beyond = sum(points > 1 for points, _ in apart)
    print(f"{what:<46}{apart[-1][0]:9.2f} points at most, {beyond} of {len(apart)} pieces beyond one", flush=True)
    for points, (owner, piece) in reversed(apart[-told:] if told else []):
        print(f"    {owner} {piece:<40}{points:6.2f}")


def converged(load_id: str, kinds: Sequence[str], told: int) -> None:
    """Compare the default with finer ones, piece by piece."""
    site, load, arms = larkmere(), hand_made_load(load_id), the_arms(load_id)
    arranged = solids_of_load(site, load)
    usual = strikes_of_load(arranged, arms)
    for kind in kinds:
        what, sampling = FINER[kind]
        if kind == "splashes":  # they tell what is wetted by reflection from the rest, and nothing of what is struck
            compared(what, usual, splashed_anew(replace(usual, sampling=sampling)), told, Wetting.REFLECTED)
        else:
            bodies = solids_of_load(site, load, cell_m=PATCH_M / 2) if kind == "patches" else arranged
            compared(what, usual, strikes_of_load(bodies, arms, sampling), told)


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


def behind_arms(strikes: Strikes) -> None:
    """Print how many hits arms that turn by themselves keep off, and how many patches lose all."""
    jets = jets_of(strikes.arms, strikes.sampling)
    kept, whole, gone = dict.fromkeys(strikes.pieces, 0.0), dict.fromkeys(strikes.pieces, 0.0), 0
    for key, samples in ((key, part) for key, one in strikes.pieces.items() for part in one.samples):
        surface, rows = strikes.pieces[key].surface, np.flatnonzero((samples.blocker < 0) & (samples.share > 0))
        flights = flights_of(surface, samples, jets, strikes.arms.water_density_kg_m3, rows)
        passes = np.ones(len(rows))
        for number, arm in enumerate(strikes.arms.arms):
            apart = jets.arm[samples.jet_of[rows]] != number
            passes *= 1 - np.where(apart, _in_the_way(flights, arm), 0.0)
        best = np.zeros(len(surface.areas_m2))
        np.maximum.at(best, samples.patch_of[rows], passes)
        gone += int((best[np.unique(samples.patch_of[rows])] <= 0).sum())
        kept[key] += float((passes * samples.stands_for[rows]).sum())
        whole[key] += float(samples.stands_for[rows].sum())
    worst = max(1 - kept[key] / every for key, every in whole.items() if every)
    lost = 1 - sum(kept.values()) / sum(whole.values())
    print(f"arms keep off {100 * lost:.1f} % of all hits, {100 * worst:.0f} % of one piece's; {gone} patches lose all")


def _in_the_way(flights: Flights, arm: TurningArm) -> NDArray[np.float64]:
    """Return for which share of its turn an arm stands where a flight crosses its plane."""
    down, up, below = -flights.rise, flights.launch[:, 2], flights.nozzle[:, 2] - arm.centre_m[2]
    root = np.sqrt(np.maximum(up**2 - 4 * down * below, 0.0))
    share = np.zeros(len(up))
    for when in ((-up + root) / (2 * down), (-up - root) / (2 * down)):
        x, y = (flights.nozzle + when[:, None] * flights.launch)[:, :2].T
        out = np.maximum(np.hypot(x - arm.centre_m[0], y - arm.centre_m[1]), 1e-9)
        crosses = (up**2 > 4 * down * below) & (when > 0) & (when < 1) & (out < arm.radius_m)
        # Both halves of the arm come by in each turn.
        share += np.where(crosses, 2 * np.arcsin(np.minimum(ARM_WIDTH_M / 2 / out, 1.0)) / np.pi, 0.0)
    return np.minimum(share, 1.0)


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
    samples = sum(len(part.share) for one in strikes.pieces.values() for part in one.samples)
    print(f"{patches} patches, {samples} samples, {100 * strikes.struck_share:.1f} % struck", flush=True)
    key = max(strikes.pieces, key=lambda each: len(strikes.pieces[each].wetting) * ("instrument" in each[1]))
    pose = rotated_in_place(arranged.solids[arranged.number_of[key]], np.diag([-1.0, -1.0, 1.0]))
    timed(f"move one piece ({key[1]})", lambda: strikes_after_move(strikes, key, pose))
    converged(load_id, list(FINER), 0)
    peer(arranged)
    behind_arms(strikes)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--converged"]:
        converged(sys.argv[2], sys.argv[3:] or list(FINER), 5)
    else:
        main(sys.argv[1] if len(sys.argv) > 1 else next(iter(LOADS)))

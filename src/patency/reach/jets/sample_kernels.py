"""Inner loops over samples that are known: what a move touches, what keeps jets off, what samples sum up to.

Plain Python over numbers and arrays, like ``kernels``; ``machine_code.py`` compiles the same functions.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.reach.jets.kernels import flight
from patency.reach.jets.ray_kernels import meets_box

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.reach.jets.kernels import Floats, Integers, Jets

    Row = tuple[Integers, Integers, Integers]
    Box = tuple[Floats, Floats]
    TurnedBox = tuple[Floats, Floats, Floats, Floats]


def touched_samples(
    centres: Floats, jets: Jets, samples: Row, through: Integers, box: Box, own: TurnedBox, may: Integers
) -> int:
    """Write down the samples among those that come through whose flight can meet a body; return how many there are.

    ``box`` is the lowest and highest place of the body along the carrier's axes, ``own`` its turn, its shift, and the
    same along its own axes. Samples come patch by patch and jet by jet, so that one look from a patch at the circle
    within which an arm's nozzles turn spares most of them.
    """
    found, last_patch, last_arm, near = 0, -1, -1, False
    patch_of, jet_of, step_of = samples
    for sample in through:
        patch, jet = patch_of[sample], jet_of[sample]
        if patch != last_patch or jets.arm[jet] != last_arm:
            last_patch, last_arm = patch, jets.arm[jet]
            near = arm_near(centres[patch], jets.centre[jet], jets.widest[jet], jets.slowest[jet], box)
        if near and comes_near(centres[patch], jets.nozzle[jet, step_of[sample]], jets.speed[jet], box, own):
            may[found] = sample
            found += 1
    return found


def arm_near(at: Floats, centre: Floats, widest: float, slowest: float, box: Box) -> bool:
    """Whether a flight to a place from anywhere within an arm's circle can meet a box; yes where it is not sure."""
    out = math.hypot(at[0] - centre[0], at[1] - centre[1]) + widest
    time = flight(out, 0.0, at[2] - centre[2], slowest)
    if time < 0.0:
        return True
    sag = STANDARD_GRAVITY_M_S2 * time * time / 8.0
    enters, leaves = 0.0, 1.0
    for axis in range(3):
        wide = widest if axis < 2 else 0.0
        above, below = box[1][axis] - at[axis], at[axis] - box[0][axis] + (sag if axis == 2 else 0.0)
        away = centre[axis] - at[axis]
        # The ways to the circle's lowest side must be under the top of the box, those to its highest over its floor.
        for way, room in ((away - wide, above), (-away - wide, below)):
            if way > 0.0:
                leaves = min(leaves, room / way)
            elif way < 0.0:
                enters = max(enters, room / way)
            elif room < 0.0:
                return False
    return enters <= leaves


def comes_near(at: Floats, nozzle: Floats, speed: float, box: Box, own: TurnedBox) -> bool:
    """Whether a flight from a nozzle to a place can meet a body within two boxes: its chord, or what it rises above."""
    if passes_beside(at, nozzle, box):
        return False
    bx, by, bz = nozzle[0], nozzle[1], nozzle[2]
    wx, wy, wz = at[0] - bx, at[1] - by, at[2] - bz
    time = flight(wx, wy, wz, speed)
    sag = STANDARD_GRAVITY_M_S2 * time * time / 8.0
    if not meets_box((bx, by, bz), (wx, wy, wz), (0.0, 0.0, sag), box[0], box[1]):
        return False
    turn, shift, low, high = own
    bx, by, bz = bx - shift[0], by - shift[1], bz - shift[2]
    begin = (along(turn, 0, bx, by, bz), along(turn, 1, bx, by, bz), along(turn, 2, bx, by, bz))
    way = (along(turn, 0, wx, wy, wz), along(turn, 1, wx, wy, wz), along(turn, 2, wx, wy, wz))
    return meets_box(begin, way, (sag * turn[2, 0], sag * turn[2, 1], sag * turn[2, 2]), low, high)


def passes_beside(at: Floats, nozzle: Floats, box: Box) -> bool:
    """Whether the way from a nozzle to a place passes beside a box as seen from above, as most do."""
    for axis in range(2):
        if max(at[axis], nozzle[axis]) < box[0][axis] or min(at[axis], nozzle[axis]) > box[1][axis]:
            return True
    wx, wy = nozzle[0] - at[0], nozzle[1] - at[1]
    out = wx * (box[0][1] + box[1][1] - 2.0 * at[1]) - wy * (box[0][0] + box[1][0] - 2.0 * at[0])
    reach: float = abs(wx) * (box[1][1] - box[0][1]) + abs(wy) * (box[1][0] - box[0][0])
    beside: bool = abs(out) > reach
    return beside


def along(turn: Floats, axis: int, x: float, y: float, z: float) -> float:
    """How far a way goes along an axis of a body that is turned."""
    way: float = x * turn[0, axis] + y * turn[1, axis] + z * turn[2, axis]
    return way


def count_in_way(
    patch_of: Integers,
    stands_for: Integers,
    blocker: Integers,
    missed: NDArray[np.bool_],
    zone_of: Integers,
    counts: Integers,
) -> None:
    """Count at how many angles each body stands in the way to missed patches: ``counts`` [zone, body]."""
    for sample in range(len(patch_of)):
        if blocker[sample] >= 0 and missed[patch_of[sample]]:
            counts[zone_of[patch_of[sample]], blocker[sample]] += stands_for[sample]


def gaps_between(
    patch_of: Integers,
    jet_of: Integers,
    step_of: Integers,
    stands_for: Integers,
    blocker: Integers,
    steps: int,
    beside: int,
    gaps: Integers,
) -> int:
    """Write down between which neighbours what keeps a jet off changes, and where the jet begins and ends to meet.

    Samples come patch by patch, jet by jet, in the order of the angle. A gap [6] is patch, jet, first angle, how many
    angles wide, and what stands in the way at its two ends, ``beside`` where the jet does not meet the patch. Gaps one
    angle wide are left out; those that find no room are counted, not written.
    """
    found, last = 0, -1
    for sample in range(len(patch_of)):
        patch, jet, step, wide, body = (
            patch_of[sample],
            jet_of[sample],
            step_of[sample],
            stands_for[sample],
            blocker[sample],
        )
        joined = last >= 0 and patch == patch_of[last] and jet == jet_of[last]
        joined = joined and (step - step_of[last]) % steps == stands_for[last]
        if last >= 0 and not joined:
            ended = (patch_of[last], jet_of[last], step_of[last], stands_for[last], blocker[last], beside)
            found = noted(gaps, found, ended)
        elif last >= 0 and blocker[last] != body:
            found = noted(gaps, found, (patch, jet, step_of[last], stands_for[last], blocker[last], body))
        if not joined:
            found = noted(gaps, found, (patch, jet, step - wide, wide, beside, body))
        last = sample
    if last >= 0:
        ended = (patch_of[last], jet_of[last], step_of[last], stands_for[last], blocker[last], beside)
        found = noted(gaps, found, ended)
    return found


def noted(gaps: Integers, found: int, gap: tuple[int, int, int, int, int, int]) -> int:
    """Write a gap down where it is wide enough to be halved and there is room; return how many there are then."""
    if gap[3] <= 1:
        return found
    if found < len(gaps):
        gaps[found, 0], gaps[found, 1], gaps[found, 2] = gap[0], gap[1], gap[2]
        gaps[found, 3], gaps[found, 4], gaps[found, 5] = gap[3], gap[4], gap[5]
    return found + 1


def sum_samples(
    through: Integers,
    patch_of: Integers,
    jet_of: Integers,
    step_of: Integers,
    stands_for: Integers,
    cosine: Floats,
    pressure: Floats,
    share: Floats,
    arm_of_jet: Integers,
    rpm_of_jet: Floats,
    areas: Floats,
    centres: Floats,
    normals: Floats,
    strongest: Floats,
    steepest: Floats,
    flattest: Floats,
    hits: Floats,
    arms: Integers,
    steps: int,
    best: Floats,
    wrench: Floats,
) -> None:
    """Sum what comes through to a surface up: patch by patch, and force and moment on all of it by arm and angle.

    Each jet counts once a turn, with the largest share that comes through at any angle: ``best`` [patch, jet].
    ``steepest`` and ``flattest`` are the largest and the smallest cosine of the incidence. ``wrench`` [arm, part of a
    turn, 6], the force and its moment about the origin, is the mean over each part: a sample counts for as many angles
    as it stands for.
    """
    wide = steps // wrench.shape[1]
    for sample in through:
        patch, jet = patch_of[sample], jet_of[sample]
        if share[sample] > best[patch, jet]:
            hits[patch] += (share[sample] - best[patch, jet]) * rpm_of_jet[jet]
            best[patch, jet] = share[sample]
        comes = pressure[sample] * share[sample]
        strongest[patch] = max(strongest[patch], comes)
        steepest[patch] = max(steepest[patch], cosine[sample])
        flattest[patch] = min(flattest[patch], cosine[sample])
        arms[patch] |= 1 << arm_of_jet[jet]
        pushes = comes * areas[patch] * stands_for[sample] / wide
        arm, turn = arm_of_jet[jet], step_of[sample] // wide
        px, py, pz = centres[patch, 0], centres[patch, 1], centres[patch, 2]
        fx, fy, fz = (-pushes * normals[patch, 0], -pushes * normals[patch, 1], -pushes * normals[patch, 2])
        wrench[arm, turn, 0] += fx
        wrench[arm, turn, 1] += fy
        wrench[arm, turn, 2] += fz
        wrench[arm, turn, 3] += py * fz - pz * fy
        wrench[arm, turn, 4] += pz * fx - px * fz
        wrench[arm, turn, 5] += px * fy - py * fx

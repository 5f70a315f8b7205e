"""Inner loops over samples that are known: what a move touches, what keeps jets off, what samples sum up to.

Plain Python over numbers and arrays, like ``kernels``; ``machine_code.py`` compiles the same functions.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.reach.jets.kernels import flight

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.reach.jets.kernels import Floats, Integers, Jets, Triple

    Row = tuple[Integers, Integers, Integers, Integers, Floats]
    Box = tuple[Floats, Floats]

_ANY_RISE_M = 100.0  # more than any flight in a chamber rises


class OwnBox(NamedTuple):
    """A body's box along its own axes."""

    middle: Floats  # [3] in the carrier's axes, m
    turn: Floats  # [3, 3] from its own axes to the carrier's
    half: Floats  # [3] half of its size along its own axes, m


def touched_samples(centres: Floats, jets: Jets, samples: Row, box: Box, own: OwnBox, may: Integers) -> int:
    """Write down the samples among those that come through whose flight can meet a body; return how many there are.

    Samples come patch by patch and jet by jet, so that one look from a patch at the circle within which an arm's
    nozzles turn spares most of them. Of the others the chord is looked at along the body's own axes. All flights from
    an arm to a patch may rise as far above their chords as the slowest from the farthest: a chord raised by half of
    that is held against a box that is larger by as much.
    """
    found, last_patch, last_arm, rise, raised = 0, -1, -1, -1.0, 0.0
    patch_of, jet_of, step_of, blocker, share = samples
    middle, turn, half = own
    at, wide = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    for sample in range(len(patch_of)):
        if not comes_through(blocker[sample], share[sample]):
            continue
        patch, jet = patch_of[sample], jet_of[sample]
        if patch != last_patch or jets.arm[jet] != last_arm:
            last_patch, last_arm = patch, jets.arm[jet]
            rise = rise_toward(centres[patch], jets.centre[jet], jets.widest[jet], jets.slowest[jet], box)
            if rise >= 0.0:
                raised = rise / 2.0
                x, y, z = raised * abs(turn[2, 0]), raised * abs(turn[2, 1]), raised * abs(turn[2, 2])
                wide = (half[0] + x, half[1] + y, half[2] + z)
                at = from_box(centres[patch], raised, middle, turn)
        if rise >= 0.0 and crosses_box(at, from_box(jets.nozzle[jet, step_of[sample]], raised, middle, turn), wide):
            may[found] = sample
            found += 1
    return found


def comes_through(blocker: int, share: float) -> bool:
    """Whether a sample comes through: no body stands in its way, nor a wall without openings."""
    return blocker < 0 and share > 0.0


def rise_toward(at: Floats, centre: Floats, widest: float, slowest: float, box: Box) -> float:
    """How far flights to a place from within an arm's circle rise above their chords; negative where none meets a box.

    Where a place is out of reach of the slowest it is not sure, and nothing is lower than what is returned.
    """
    out = math.hypot(at[0] - centre[0], at[1] - centre[1]) + widest
    time = flight(out, 0.0, at[2] - centre[2], slowest)
    if time < 0.0:
        return _ANY_RISE_M
    rise = STANDARD_GRAVITY_M_S2 * time * time / 8.0
    enters, leaves = 0.0, 1.0
    for axis in range(3):
        wide = widest if axis < 2 else 0.0
        above, below = box[1][axis] - at[axis], at[axis] - box[0][axis] + (rise if axis == 2 else 0.0)
        away = centre[axis] - at[axis]
        # The ways to the circle's lowest side must be under the top of the box, those to its highest over its floor.
        for way, room in ((away - wide, above), (-away - wide, below)):
            if way > 0.0:
                leaves = min(leaves, room / way)
            elif way < 0.0:
                enters = max(enters, room / way)
            elif room < 0.0:
                return -1.0
    return rise if enters <= leaves else -1.0


def crosses_box(begin: Triple, end: Triple, half: Triple) -> bool:
    """Whether the way between two places meets a box around the origin, half as wide as given along each axis.

    The way and the box lie apart where they do so as seen along an axis of the box or along the cross product of one
    with the way (C. Ericson, Real-Time Collision Detection, 2005, section 5.3.3).
    """
    mx, my, mz = (begin[0] + end[0]) / 2.0, (begin[1] + end[1]) / 2.0, (begin[2] + end[2]) / 2.0
    wx, wy, wz = (end[0] - begin[0]) / 2.0, (end[1] - begin[1]) / 2.0, (end[2] - begin[2]) / 2.0
    ax, ay, az = abs(wx), abs(wy), abs(wz)
    if abs(mx) > half[0] + ax or abs(my) > half[1] + ay or abs(mz) > half[2] + az:
        return False
    if abs(my * wz - mz * wy) > half[1] * az + half[2] * ay:
        return False
    if abs(mz * wx - mx * wz) > half[0] * az + half[2] * ax:
        return False
    crosses: bool = abs(mx * wy - my * wx) <= half[0] * ay + half[1] * ax
    return crosses


def from_box(place: Floats, raised: float, middle: Floats, turn: Floats) -> Triple:
    """Where a place, raised, lies from the middle of a body's box along the body's own axes."""
    x, y, z = place[0] - middle[0], place[1] - middle[1], place[2] - middle[2] + raised
    return (
        x * turn[0, 0] + y * turn[1, 0] + z * turn[2, 0],
        x * turn[0, 1] + y * turn[1, 1] + z * turn[2, 1],
        x * turn[0, 2] + y * turn[1, 2] + z * turn[2, 2],
    )


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


def leave_out_struck(patch_of: Integers, blocker: Integers, share: Floats, missed: NDArray[np.bool_]) -> None:
    """Mark that a patch is not missed where a sample comes through to it."""
    for sample in range(len(patch_of)):
        if missed[patch_of[sample]] and comes_through(blocker[sample], share[sample]):
            missed[patch_of[sample]] = False


def sum_samples(
    patch_of: Integers,
    jet_of: Integers,
    blocker: Integers,
    cosine: Floats,
    pressure: Floats,
    share: Floats,
    arm_of_jet: Integers,
    rpm_of_jet: Floats,
    strongest: Floats,
    steepest: Floats,
    flattest: Floats,
    hits: Floats,
    arms: Integers,
    best: Floats,
) -> None:
    """Sum what comes through to a surface up patch by patch.

    Each jet counts once a turn, with the largest share that comes through at any angle: ``best`` [patch, jet].
    ``steepest`` and ``flattest`` are the largest and the smallest cosine of the incidence.
    """
    for sample in range(len(patch_of)):
        if not comes_through(blocker[sample], share[sample]):
            continue
        patch, jet = patch_of[sample], jet_of[sample]
        if share[sample] > best[patch, jet]:
            hits[patch] += (share[sample] - best[patch, jet]) * rpm_of_jet[jet]
            best[patch, jet] = share[sample]
        comes = pressure[sample] * share[sample]
        strongest[patch] = max(strongest[patch], comes)
        steepest[patch] = max(steepest[patch], cosine[sample])
        flattest[patch] = min(flattest[patch], cosine[sample])
        arms[patch] |= 1 << arm_of_jet[jet]


def sum_forces(
    patch_of: Integers,
    jet_of: Integers,
    step_of: Integers,
    stands_for: Integers,
    blocker: Integers,
    pressure: Floats,
    share: Floats,
    arm_of_jet: Integers,
    areas: Floats,
    centres: Floats,
    normals: Floats,
    steps: int,
    wrench: Floats,
) -> None:
    """Sum force and moment of what comes through to a surface up by arm and angle.

    ``wrench`` [arm, part of a turn, 6], the force and its moment about the origin, is the mean over each part: a sample
    counts for as many angles as it stands for.
    """
    wide = steps // wrench.shape[1]
    for sample in range(len(patch_of)):
        if not comes_through(blocker[sample], share[sample]):
            continue
        patch, jet = patch_of[sample], jet_of[sample]
        pushes = pressure[sample] * share[sample] * areas[patch] * stands_for[sample] / wide
        arm, turn = arm_of_jet[jet], step_of[sample] // wide
        px, py, pz = centres[patch, 0], centres[patch, 1], centres[patch, 2]
        fx, fy, fz = (-pushes * normals[patch, 0], -pushes * normals[patch, 1], -pushes * normals[patch, 2])
        wrench[arm, turn, 0] += fx
        wrench[arm, turn, 1] += fy
        wrench[arm, turn, 2] += fz
        wrench[arm, turn, 3] += py * fz - pz * fy
        wrench[arm, turn, 4] += pz * fx - px * fz
        wrench[arm, turn, 5] += px * fy - py * fx

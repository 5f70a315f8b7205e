"""The inner loops of the jets' computation: flight of a jet, its pressure, wire walls on its way.

Plain Python over numbers and arrays; ``machine_code.py`` compiles the same functions. Positions are in the carrier's
axes [m]. A sample is one patch, one jet, one angle of its arm.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from patency.quantities import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]
    Triple = tuple[float, float, float]

GRAZING = math.cos(math.radians(88.0))  # flatter than this a jet passes along a patch


class Jets(NamedTuple):
    """All jets of all arms, each at every sampled angle of its arm."""

    nozzle: Floats  # [jet, step, 3] where the nozzle is, m
    toward: Floats  # [jet, step, 3] unit vector in which the jet leaves
    begin: Floats  # [jet] angle of its first step, rad
    direction: Floats  # [jet, 3] unit vector in which the jet leaves, seen on the arm: x along it
    centre: Floats  # [jet, 3] the arm's axis at the height of the nozzle, m
    from_axis: Floats  # [jet] m
    cosine: Floats  # [jet] of half the angle of the cone
    sine: Floats  # [jet] of the same
    outlet: Floats  # [jet] radius with which the cone begins at the nozzle, m
    speed: Floats  # [jet] m/s
    flow: Floats  # [jet] m3/s
    arm: Integers  # [jet] number of its arm
    widest: Floats  # [jet] largest distance of a nozzle of its arm from the axis, m
    slowest: Floats  # [jet] least speed of a jet of its arm, m/s


class Walls(NamedTuple):
    """Flat rectangles of wire mesh."""

    normal: Floats  # [wall, 3] unit vector
    along: Floats  # [wall, 3] unit vector of one edge
    across: Floats  # [wall, 3] unit vector of the other
    corner: Floats  # [wall, 3] the corner along normal, along and across, m
    length: Floats  # [wall, 2] of both edges, m
    covered: Floats  # [wall] thickness of the wire over its pitch


def flight(dx: float, dy: float, dz: float, speed: float) -> float:
    """Time a jet needs to a point at (dx, dy, dz) from its nozzle on the direct way; negative where it is out of range.

    |d + g t²/2 ẑ|² = v² t² is a quadratic in t²; its smaller root is the direct way.
    """
    b = speed * speed - dz * STANDARD_GRAVITY_M_S2
    c = dx * dx + dy * dy + dz * dz
    inside = b * b - STANDARD_GRAVITY_M_S2 * STANDARD_GRAVITY_M_S2 * c
    if b <= 0.0 or inside < 0.0:
        return -1.0
    return math.sqrt(2.0 * c / (b + math.sqrt(inside)))


def describe_samples(
    centres: Floats,
    normals: Floats,
    offset: float,
    jets: Jets,
    density: float,
    patch_of: Integers,
    jet_of: Integers,
    step_of: Integers,
    part: Integers,
    nozzle: Floats,
    launch: Floats,
    rise: Floats,
    cosine: Floats,
    pressure: Floats,
) -> None:
    """Write down of some samples their flight, the cosine of the incidence and the impact pressure.

    Flights end an offset off their patch; they come in the order of ``part``, the others stand with all samples.

    A flight passes nozzle + s launch − s² rise ẑ for s from 0 to 1. The pressure is the normal momentum per area,
    ρ Q v cos²θ over the cross-section of the cone at that distance, and at most the stagnation pressure
    ρ v²/2 cos²θ of the undisturbed jet, v on arrival.
    """
    for row in range(len(part)):
        sample = part[row]
        patch, jet, step = patch_of[sample], jet_of[sample], step_of[sample]
        px, py, pz = jets.nozzle[jet, step, 0], jets.nozzle[jet, step, 1], jets.nozzle[jet, step, 2]
        dx = centres[patch, 0] + offset * normals[patch, 0] - px
        dy = centres[patch, 1] + offset * normals[patch, 1] - py
        dz = centres[patch, 2] + offset * normals[patch, 2] - pz
        flown = flight(dx, dy, dz, jets.speed[jet])
        lift = 0.5 * STANDARD_GRAVITY_M_S2 * flown * flown
        fall = dz - lift
        way = math.sqrt(dx * dx + dy * dy + fall * fall)
        facing = -(dx * normals[patch, 0] + dy * normals[patch, 1] + fall * normals[patch, 2]) / way
        arrives = way / flown
        radius = jets.outlet[jet] + math.sqrt(dx * dx + dy * dy + dz * dz) * jets.sine[jet] / jets.cosine[jet]
        spread = density * jets.flow[jet] * arrives / (math.pi * radius * radius)
        nozzle[row, 0], nozzle[row, 1], nozzle[row, 2] = px, py, pz
        launch[row, 0], launch[row, 1], launch[row, 2] = dx, dy, dz + lift
        rise[row] = lift
        cosine[sample] = facing
        pressure[sample] = facing * facing * min(spread, 0.5 * density * arrives * arrives)


def chord_ends(
    nozzle: Floats,
    launch: Floats,
    rise: Floats,
    chords: Integers,
    number: int,
    which: Integers,
    middle: Floats,
    origins: NDArray[np.float32],
    ways: NDArray[np.float32],
) -> None:
    """Write down one chord of each flight, counted back from its end, from a middle of the scene."""
    for row in range(len(which)):
        sample = which[row]
        late = 1.0 - number / chords[sample]
        early = 1.0 - (number + 1) / chords[sample]
        for axis in range(3):
            begin = nozzle[sample, axis] + late * launch[sample, axis]
            end = nozzle[sample, axis] + early * launch[sample, axis]
            if axis == 2:
                begin -= late * late * rise[sample]
                end -= early * early * rise[sample]
            origins[row, axis] = begin - middle[axis]
            ways[row, axis] = end - begin


def through_walls(nozzle: Floats, launch: Floats, rise: Floats, which: Integers, walls: Walls, shares: Floats) -> None:
    """Multiply the share of each flight by what every wire wall on its way lets through.

    Seen at a slant the openings narrow: of wires across u at pitch p and thickness w the share 1 − w / (p cos γ) is
    open, γ the slant in the plane of u and the wall's normal; both ways multiply.
    """
    for row in range(len(which)):
        sample = which[row]
        for wall in range(len(walls.covered)):
            a = -walls.corner[wall, 0]
            b = 0.0
            for axis in range(3):
                a += nozzle[sample, axis] * walls.normal[wall, axis]
                b += launch[sample, axis] * walls.normal[wall, axis]
            c = rise[sample] * walls.normal[wall, 2]
            if a * (a + b - c) > 0.0 and not (abs(c) > 1e-12 and turns_back(a, b, c)):
                continue
            inside = b * b + 4.0 * a * c
            if inside < 0.0:
                continue
            root = math.sqrt(inside)
            near = b + root if b > 0.0 else b - root  # of two equal roots the one that loses no digits
            if near == 0.0:
                continue
            first = -2.0 * a / near
            if 0.0 < first < 1.0:
                shares[sample] *= open_share(first, nozzle[sample], launch[sample], rise[sample], walls, wall)
            if abs(c) > 1e-12:
                second = near / (2.0 * c)
                if 0.0 < second < 1.0:
                    shares[sample] *= open_share(second, nozzle[sample], launch[sample], rise[sample], walls, wall)


def turns_back(a: float, b: float, c: float) -> bool:
    """Whether a + b s − c s² changes its sign twice for s between 0 and 1 where its ends have the same sign."""
    top = b / (2.0 * c)
    return 0.0 < top < 1.0 and a * (a + b * top - c * top * top) < 0.0


def open_share(share: float, nozzle: Floats, launch: Floats, rise: float, walls: Walls, wall: int) -> float:
    """Share of a flight that passes a wire wall whose plane it meets; 1 where it passes beside the wall."""
    at_u, at_v = -walls.corner[wall, 1], -walls.corner[wall, 2]
    slant_u = slant_v = slant_n = 0.0
    for axis in range(3):
        at = nozzle[axis] + share * launch[axis]
        way = launch[axis]
        if axis == 2:
            at -= share * share * rise
            way -= 2.0 * share * rise
        at_u += at * walls.along[wall, axis]
        at_v += at * walls.across[wall, axis]
        slant_u += way * walls.along[wall, axis]
        slant_v += way * walls.across[wall, axis]
        slant_n += way * walls.normal[wall, axis]
    if at_u < 0.0 or at_u > walls.length[wall, 0] or at_v < 0.0 or at_v > walls.length[wall, 1]:
        return 1.0
    if slant_n == 0.0:
        return 0.0
    covered = walls.covered[wall] / abs(slant_n)
    over_u, over_v = covered * math.hypot(slant_n, slant_u), covered * math.hypot(slant_n, slant_v)
    passes: float = max(0.0, 1.0 - over_u) * max(0.0, 1.0 - over_v)
    return passes

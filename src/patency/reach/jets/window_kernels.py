"""Inner loops that find at which angles of its arm a jet meets a patch.

Plain Python over numbers and arrays, like ``kernels``; ``machine_code.py`` compiles the same functions.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.reach.jets.kernels import GRAZING, flight

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.reach.jets.kernels import Floats, Integers, Jets, Triple

_CLOSER = 64  # times as many angles at a second look
_SEEN_AT_LEAST = 3
_TRIED_AT_LEAST = 8  # angles of a window in which runs are looked for
# Shares of a step that spread first angles evenly over two numbers: M. Roberts, The unreasonable effectiveness of
# quasirandom sequences, 2018 (powers of the real root of x³ = x + 1).
_FIRST, _SECOND = 0.7548776662466927, 0.5698402909980532


def find_samples(
    centres: Floats,
    normals: Floats,
    numbers: Integers,
    jets: Jets,
    finer: int,
    patch_of: NDArray[np.int32],
    jet_of: NDArray[np.int16],
    step_of: NDArray[np.int32],
    stands_for: NDArray[np.int16],
) -> int:
    """Write down the samples in which some patches lie in a jet's cone and look toward it; return how many there are.

    Each patch sees each jet a few times in its window, and at least every ``finer`` angles, from a first angle of its
    own by its number, so that neighbours together see between the angles. Samples that find no room are counted, not
    written.
    """
    found, room, steps = 0, len(patch_of), jets.nozzle.shape[1]
    for patch in range(len(numbers)):
        at = (centres[patch, 0], centres[patch, 1], centres[patch, 2])
        normal = (normals[patch, 0], normals[patch, 1], normals[patch, 2])
        for jet in range(len(jets.speed)):
            first, apart, count, _ = angles_seen(numbers[patch], at, normal, jets, jet, finer, 1)
            for number in range(count):
                step = (first + number * apart) % steps
                if meets(at, normal, jets, jet, step):
                    if found < room:
                        patch_of[found], jet_of[found], step_of[found] = patch, jet, step
                        stands_for[found] = apart
                    found += 1
    return found


def find_runs(
    centres: Floats,
    normals: Floats,
    numbers: Integers,
    jets: Jets,
    finer: int,
    every: int,
    runs: Integers,
) -> int:
    """Write down at which angles, one after the other, a jet meets some patches at a second look; count such runs.

    A second look sees the angles of the first again and more between any two. A run [5] is patch, jet, its first angle,
    how many angles apart they are, and how many. Runs that find no room are counted, not written.
    """
    found = 0
    for patch in range(len(numbers)):
        at = (centres[patch, 0], centres[patch, 1], centres[patch, 2])
        normal = (normals[patch, 0], normals[patch, 1], normals[patch, 2])
        for jet in range(len(jets.speed)):
            first, apart, count, own = angles_seen(numbers[patch], at, normal, jets, jet, finer, _CLOSER)
            if count > 0:
                found = runs_within(at, normal, jets, (patch, jet, first, apart, count, own), every, runs, found)
    return found


def runs_within(
    at: Triple,
    normal: Triple,
    jets: Jets,
    window: tuple[int, int, int, int, int, int],
    every: int,
    runs: Integers,
    found: int,
) -> int:
    """Write the runs within a window down; return how many there are then.

    Every so many angles are tried, a power of two, those of the first look among them. Where one is met and the next is
    not, the end between them is found by halving. Where none is met but one comes nearer to it than those beside it,
    every angle between those is tried.
    """
    patch, jet, first, apart, count, own = window
    stride = every
    while stride > 1 and _TRIED_AT_LEAST * stride > count:
        stride //= 2
    before, last, rises = 0, 0, True
    least = margin_turned(at, normal, jets, jet, first)
    begin = 0 if least > 0.0 else -1
    tried = (own - first) // apart % stride
    while last < count - 1:
        tried = min(tried + (stride if tried == last else 0), count - 1)
        now = margin_turned(at, normal, jets, jet, first + tried * apart)
        if (now > 0.0) != (least > 0.0):
            low, high = last, tried
            while high - low > 1:
                middle = (low + high) // 2
                if (margin_turned(at, normal, jets, jet, first + middle * apart) > 0.0) == (least > 0.0):
                    low = middle
                else:
                    high = middle
            if begin >= 0:
                found = noted_run(runs, found, (patch, jet, first + begin * apart, apart, high - begin))
            begin = high if now > 0.0 else -1
        elif begin < 0 and rises and now < least:
            found = runs_at_each(at, normal, jets, window, (before + 1, tried), runs, found)
        before, last, rises, least = last, tried, now >= least, now
    if begin >= 0:
        found = noted_run(runs, found, (patch, jet, first + begin * apart, apart, count - begin))
    elif rises:
        found = runs_at_each(at, normal, jets, window, (before + 1, count - 1), runs, found)
    return found


def runs_at_each(
    at: Triple,
    normal: Triple,
    jets: Jets,
    window: tuple[int, int, int, int, int, int],
    span: tuple[int, int],
    runs: Integers,
    found: int,
) -> int:
    """Write the runs within a span of a window down, each angle of which is tried; return how many there are then."""
    patch, jet, first, apart = window[:4]
    begin = -1
    for number in range(span[0], span[1] + 1):
        met = number < span[1] and margin_turned(at, normal, jets, jet, first + number * apart) > 0.0
        if met and begin < 0:
            begin = number
        elif begin >= 0 and not met:
            found = noted_run(runs, found, (patch, jet, first + begin * apart, apart, number - begin))
            begin = -1
    return found


def noted_run(runs: Integers, found: int, run: tuple[int, int, int, int, int]) -> int:
    """Write a run down where there is room; return how many there are then."""
    if found < len(runs):
        runs[found, 0], runs[found, 1], runs[found, 2], runs[found, 3], runs[found, 4] = run
    return found + 1


def angles_seen(
    number: int, at: Triple, normal: Triple, jets: Jets, jet: int, finer: int, closer: int
) -> tuple[int, int, int, int]:
    """At which angles a patch sees a jet: the first, how many apart they are, how many, and where counting begins."""
    seen = (at[0] - jets.centre[jet, 0], at[1] - jets.centre[jet, 1], at[2] - jets.centre[jet, 2])
    direction = (jets.direction[jet, 0], jets.direction[jet, 1], jets.direction[jet, 2])
    cone = (jets.cosine[jet], jets.sine[jet], jets.outlet[jet])
    least, most = window(seen, normal, jets.from_axis[jet], direction, cone, jets.speed[jet])
    if least > most:
        return 0, 1, 0, 0
    steps = jets.nozzle.shape[1]
    step_angle = 2.0 * math.pi / steps
    apart = max(1, stride_of((most - least) / step_angle, finer) // closer)
    least, most = facing_within(least, most, seen, normal, jets.from_axis[jet], jets.speed[jet])
    own = int(finer * ((_FIRST * number + _SECOND * jet) % 1.0))
    first = math.ceil(((least - jets.begin[jet]) / step_angle - own) / apart) * apart + own
    last = math.floor(min((most - jets.begin[jet]) / step_angle, first + steps - 1.0))
    return first, apart, max(0, (last - first) // apart + 1), own


def margin_turned(at: Triple, normal: Triple, jets: Jets, jet: int, turned: int) -> float:
    """How far a patch lies within a jet's cone and looks toward it at an angle counted over several turns."""
    return margin(at, normal, jets, jet, turned % jets.nozzle.shape[1])


def meets(at: Triple, normal: Triple, jets: Jets, jet: int, step: int) -> bool:
    """Whether a patch lies in a jet's cone at an angle of its arm and looks toward it."""
    return margin(at, normal, jets, jet, step) > 0.0


def margin(at: Triple, normal: Triple, jets: Jets, jet: int, step: int) -> float:
    """How far a patch lies within a jet's cone at an angle of its arm and looks toward it: the less of both.

    More than 0 where both are so. In shares of the way: how much further aside the cone reaches, and by how much the
    cosine of the incidence is more than that of grazing. -1 where the jet does not get there.
    """
    dx, dy, dz = at[0] - jets.nozzle[jet, step, 0], at[1] - jets.nozzle[jet, step, 1], at[2] - jets.nozzle[jet, step, 2]
    ux, uy, uz = jets.toward[jet, step, 0], jets.toward[jet, step, 1], jets.toward[jet, step, 2]
    time = flight(dx, dy, dz, jets.speed[jet])
    if time <= 0.0:
        return -1.0
    lift = 0.5 * STANDARD_GRAVITY_M_S2 * time * time
    way = jets.speed[jet] * time  # without gravity the water would be this far from the nozzle
    along = dx * ux + dy * uy + (dz + lift) * uz
    aside = math.sqrt(max(0.0, way * way - along * along))
    cosine, sine = jets.cosine[jet], jets.sine[jet]
    within = (along * sine + jets.outlet[jet] * cosine - aside * cosine) / way
    if along <= 0.0:
        within = min(within, -1e-9)
    fall = dz - lift  # arrival velocity times flight time, upward part
    facing = -(dx * normal[0] + dy * normal[1] + fall * normal[2]) / math.sqrt(dx * dx + dy * dy + fall * fall)
    least: float = min(within, facing - GRAZING)
    return least


def meet_samples(
    centres: Floats,
    normals: Floats,
    jets: Jets,
    patch_of: NDArray[np.int32],
    jet_of: NDArray[np.int16],
    step_of: NDArray[np.int32],
    met: NDArray[np.bool_],
) -> None:
    """Tell of each patch, jet and angle whether the patch lies in the jet's cone and looks toward it."""
    for sample in range(len(patch_of)):
        patch = patch_of[sample]
        at = (centres[patch, 0], centres[patch, 1], centres[patch, 2])
        normal = (normals[patch, 0], normals[patch, 1], normals[patch, 2])
        met[sample] = meets(at, normal, jets, jet_of[sample], step_of[sample])


def stride_of(width: float, finer: int) -> int:
    """How many angles apart a first look sees within a window so many angles wide."""
    stride = finer
    while stride > 1 and _SEEN_AT_LEAST * stride > width:
        stride //= 2
    return stride


def window(
    at: Triple, normal: Triple, from_axis: float, direction: Triple, cone: Triple, speed: float
) -> tuple[float, float]:
    """Angles of the arm outside of which a patch lies beside a jet's cone or looks away; the first is larger if all do.

    ``at`` is the patch seen from the arm's axis at the nozzles' height, ``cone`` cosine and sine of half its angle, and
    the radius with which it begins.

    With ψ the angle from arm to patch, its distance is sqrt(s − t cos ψ), concave in cos ψ and so at least what lies on
    the chord from cos ψ = −1 to 1. That turns "the angle between the way to the patch and the jet is at most the spread
    and the bend by gravity" into a cos ψ + b sin ψ + c ≥ 0. Square roots only, until it is nearly sure to be met.

    A cone that begins with a radius R reaches β further at a distance L without gravity: L sin β ≤ R cos spread = δ.
    The way d to the patch is at most k = 1 + bend times as long. Off its part along the jet that takes d sin β times
    the sine of spread and bend, at most k δ of it, and d (1 − cos β), at most (k δ)²/d; twice that covers L < δ too.
    """
    px, py, pz = at
    nx, ny, nz = normal
    ux, uy, uz = direction
    out = math.sqrt(px * px + py * py)
    flown = flight(out + abs(from_axis), 0.0, pz, speed)
    if flown < 0.0:
        return (0.0, 2.0 * math.pi) if flight(out - abs(from_axis), 0.0, pz, speed) >= 0.0 else (1.0, 0.0)
    lift = 0.5 * STANDARD_GRAVITY_M_S2 * flown * flown
    if lift * max(nz, 0.0) + abs(from_axis) * math.sqrt(nx * nx + ny * ny) <= px * nx + py * ny + pz * nz:
        return 1.0, 0.0
    bent = min(1.0, STANDARD_GRAVITY_M_S2 * flown / (2.0 * speed))  # sine of the angle between chord and launch
    least = cone[0] * math.sqrt(1.0 - bent * bent) - cone[1] * bent - 1e-6
    if least <= 0.0:
        return 0.0, 2.0 * math.pi
    near = math.sqrt((out - from_axis) * (out - from_axis) + pz * pz)
    far = math.sqrt((out + from_axis) * (out + from_axis) + pz * pz)
    a = out * ux - least * (near - far) / 2.0
    b = out * uy
    wider = (1.0 + bent) * cone[2] * cone[0]
    c = pz * uz - from_axis * ux - least * (near + far) / 2.0
    c += wider * (cone[1] * math.sqrt(1.0 - bent * bent) + cone[0] * bent)
    c += 2.0 * wider * wider / max(min(near, far), 1e-9)
    size = math.sqrt(a * a + b * b)
    if c + size < 0.0:
        return 1.0, 0.0
    if c >= size:
        return 0.0, 2.0 * math.pi
    half = math.acos(-c / size)
    middle = math.atan2(py, px) - math.atan2(b, a)
    return middle - half, middle + half


def third_side(one: float, other: float, angle: float) -> float:
    """Length of the third side of a triangle of which two sides and the angle between them are known."""
    return math.sqrt(max(0.0, one * one + other * other - 2.0 * one * other * math.cos(angle)))


def facing_within(
    least: float, most: float, at: Triple, normal: Triple, from_axis: float, speed: float
) -> tuple[float, float]:
    """Narrow a window to the angles at which a patch can look toward the nozzle; the first is larger if it never does.

    ``at`` is the patch seen from the arm's axis at the nozzles' height. It looks toward the nozzle where, with h the
    lift, r n·(cos ψ, sin ψ) + h n_z − at·n is more than GRAZING times the way: a bound on cos(ψ − ψ_n) with the largest
    lift and the shortest way at the angles that are left, taken once more with what that leaves.
    """
    px, py, pz = at
    nx, ny, nz = normal
    radius = abs(from_axis)
    out, level = math.sqrt(px * px + py * py), math.sqrt(nx * nx + ny * ny)
    if level * radius < 1e-9:
        return least, most
    middle = math.atan2(ny, nx) if from_axis > 0.0 else math.atan2(-ny, -nx)
    # The angle, seen from the axis, between the nozzle where the patch faces it most and where it is nearest.
    beside = math.acos(max(-1.0, min(1.0, (nx * px + ny * py) / max(level * out, 1e-12))))
    half = math.pi
    for _ in range(2):
        far = third_side(out, radius, min(math.pi, beside + half))
        near = third_side(out, radius, max(0.0, beside - half))
        flown = flight(far, 0.0, pz, speed)
        if flown < 0.0:
            return least, most
        lift = 0.5 * STANDARD_GRAVITY_M_S2 * flown * flown
        fall = max(0.0, -pz, pz - lift)
        way = math.sqrt(near * near + fall * fall)
        ahead = (px * nx + py * ny + pz * nz - lift * max(nz, 0.0) + GRAZING * way) / (level * radius)
        if ahead > 1.0:
            return 1.0, 0.0
        half = math.acos(max(-1.0, ahead)) + 1e-9
    turns = math.floor(((least + most) / 2.0 - middle) / (2.0 * math.pi) + 0.5)
    middle += 2.0 * math.pi * turns  # within half a turn of the middle of the window
    if middle - half + 2.0 * math.pi <= most or middle + half - 2.0 * math.pi >= least:
        return least, most  # at both ends of the window
    return max(least, middle - half), min(most, middle + half)

"""Inner loops over rays: which come near a box, what they met, where they look from a patch.

Plain Python over numbers and arrays, like ``kernels``; ``machine_code.py`` compiles the same functions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.reach.jets.kernels import Floats, Integers, Triple


def meets_box(begin: Triple, way: Triple, rises: Triple, low: Floats, high: Floats) -> bool:
    """Whether a chord, or what lies up to a rise beside it, meets a box."""
    enters, leaves = 0.0, 1.0
    for axis in range(3):
        least = low[axis] - max(rises[axis], 0.0) - begin[axis]
        most = high[axis] - min(rises[axis], 0.0) - begin[axis]
        if abs(way[axis]) >= 1e-12:
            one, other = least / way[axis], most / way[axis]
            enters, leaves = max(enters, min(one, other)), min(leaves, max(one, other))
        elif least > 0.0 or most < 0.0:
            return False
    return enters <= leaves


def rays_near(
    origins: NDArray[np.float32],
    ways: NDArray[np.float32],
    low: Floats,
    high: Floats,
    near: NDArray[np.bool_],
) -> None:
    """Tell which ways meet a box, those that only touch it among them."""
    for ray in range(len(near)):
        begin = (origins[ray, 0], origins[ray, 1], origins[ray, 2])
        way = (ways[ray, 0], ways[ray, 1], ways[ray, 2])
        near[ray] = meets_box(begin, way, (0.0, 0.0, 0.0), low, high)


def parts_of_ways(
    met: NDArray[np.int32],
    points: NDArray[np.float32],
    faces: NDArray[np.int32],
    origins: NDArray[np.float32],
    ways: NDArray[np.float32],
    parts: NDArray[np.float32],
) -> None:
    """Write down after which part of its way each ray meets the plane of the face that it met, at least 0.

    Rays that met none, and those along the plane, keep what stands there, and none gets more than that.
    """
    for ray in range(len(met)):
        if met[ray] < 0:
            continue
        one, two, three = faces[met[ray], 0], faces[met[ray], 1], faces[met[ray], 2]
        x, y, z = float(points[one, 0]), float(points[one, 1]), float(points[one, 2])
        ax, ay, az = float(points[two, 0]) - x, float(points[two, 1]) - y, float(points[two, 2]) - z
        bx, by, bz = float(points[three, 0]) - x, float(points[three, 1]) - y, float(points[three, 2]) - z
        nx, ny, nz = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
        ahead = nx * float(ways[ray, 0]) + ny * float(ways[ray, 1]) + nz * float(ways[ray, 2])
        away = nx * (x - float(origins[ray, 0])) + ny * (y - float(origins[ray, 1])) + nz * (z - float(origins[ray, 2]))
        if ahead != 0.0:
            parts[ray] = min(max(away / ahead, 0.0), parts[ray])


def told_apart(
    first: NDArray[np.int32],
    body_of_face: NDArray[np.int32],
    asked: Integers,
    faces: NDArray[np.int32],
    gone: Integers,
) -> int:
    """Write down what rays met, and number and count those that met a body that is gone."""
    count = 0
    for row in range(len(first)):
        if first[row] >= 0:
            if body_of_face[first[row]] >= 0:
                faces[asked[row]] = first[row]
            else:
                gone[count] = row
                count += 1
    return count


def look_around(
    centres: Floats,
    normals: Floats,
    patches: Integers,
    around: Floats,
    far: float,
    offset: float,
    middle: Floats,
    origins: NDArray[np.float32],
    ways: NDArray[np.float32],
) -> None:
    """Write down ways from a little off some patches in all directions, those behind a patch turned to its front."""
    row = 0
    for patch in patches:
        for number in range(len(around)):
            ahead = 0.0
            for axis in range(3):
                ahead += around[number, axis] * normals[patch, axis]
            side = 1.0 if ahead > -1e-12 else -1.0
            for axis in range(3):
                origins[row, axis] = centres[patch, axis] + offset * normals[patch, axis] - middle[axis]
                ways[row, axis] = side * far * around[number, axis]
            row += 1

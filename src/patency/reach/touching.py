"""Which bodies run into each other. The one place of the room that knows the collision library, imported on use."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.reach.solids.placed import Role

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.reach.solids.mesh import Floats, Integers, Mesh
    from patency.reach.solids.placed import Arranged, PlacedSolid, Screen

_MODELS_KEPT = 512  # more than a load has bodies
_TOUCH_M = 1e-6  # nearer than this bodies touch: rounding moves what is placed by some 1e-16 m, and touching counts


def intersections(arranged: Arranged) -> list[tuple[int, int]]:
    """Find the pairs of bodies of which one runs into the other.

    Parameters
    ----------
    arranged
        The load.

    Returns
    -------
    list[tuple[int, int]]
        Numbers of both bodies, the smaller first; at least one is a piece, or both connect different pieces. A piece
        and what it is connected to are no such pair, nor a cable and its mandrel or a piece and the rod it leans
        against where they touch no deeper than their drawn facets: triangles are held against triangles in double
        precision, what comes nearer than a micrometre touches, and a body wholly within another is found by its first
        corner.
    """
    found = []
    for number, one in enumerate(arranged.solids):
        if one.role in (Role.PIECE, Role.CONNECTION):
            found += [
                (min(number, other), max(number, other))
                for other in met_by(arranged, number)
                if arranged.solids[other].role is not one.role or other > number
            ]
    return found


def met_by(arranged: Arranged, number: int) -> Iterator[int]:
    """Find the bodies that one body runs into.

    Parameters
    ----------
    arranged
        The load.
    number
        Number of the body.

    Yields
    ------
    int
        Number of a body that it runs into, as in ``intersections``.
    """
    bounds = arranged.bounds_m
    apart = (bounds[:, 0] > bounds[number, 1] + _TOUCH_M) | (bounds[:, 1] < bounds[number, 0] - _TOUCH_M)
    for other in np.flatnonzero(~apart.any(axis=1)).tolist():
        mine, its = arranged.solids[number], arranged.solids[other]
        if other == number or _belong_together(mine, its):
            continue
        if mine.role is Role.CONNECTION and its.role is not Role.CONNECTION:
            continue  # it stands on the carrier, and what pieces run into is asked of them
        if _distance_m(mine, its) <= _TOUCH_M or _holds(mine, its) or _holds(its, mine):
            yield other


def nearest_bodies(arranged: Arranged) -> dict[int, tuple[float, int]]:
    """Find how near each piece comes to any other body.

    Parameters
    ----------
    arranged
        The load.

    Returns
    -------
    dict[int, tuple[float, int]]
        Number of a piece's body to the distance [m], 0 where they touch or run into each other, and the number of the
        other body. A piece and what it is connected to, or rests against, do not count; a piece alone is left out.
        Exact between the drawn triangles.
    """
    bounds = arranged.bounds_m
    found: dict[int, tuple[float, int]] = {}
    for number in arranged.number_of.values():
        between = np.maximum(bounds[:, 0] - bounds[number, 1], bounds[number, 0] - bounds[:, 1])
        apart = np.linalg.norm(np.maximum(between, 0.0), axis=1)
        for other in np.argsort(apart, kind="stable").tolist():
            if number in found and apart[other] >= found[number][0]:
                break
            if other == number or _belong_together(arranged.solids[number], arranged.solids[other]):
                continue
            distance = _distance_m(arranged.solids[number], arranged.solids[other])
            if number not in found or distance < found[number][0]:
                found[number] = (distance, other)
    return found


def lies_on(upper: PlacedSolid, lower: PlacedSolid, near_m: float) -> bool:
    """Tell whether a body lies on another.

    Parameters
    ----------
    upper
        The body.
    lower
        The other.
    near_m
        How near counts as touching [m].

    Returns
    -------
    bool
        Whether it would meet the other, triangles against triangles, as much lower, and not as much higher: what is
        only beside it, or runs into it, does not.
    """
    import fcl

    other = _placed(lower)

    def meets(raised_m: float) -> bool:
        return bool(fcl.collide(_placed(upper, raised_m), other, fcl.CollisionRequest(), fcl.CollisionResult()))

    return meets(-near_m) and not meets(near_m)


def crosses(solid: PlacedSolid, screen: Screen) -> bool:
    """Tell whether a body goes through a wall of wire.

    Parameters
    ----------
    solid
        The body.
    screen
        The wall.

    Returns
    -------
    bool
        Whether it reaches to both sides of its plane and meets its rectangle.
    """
    import fcl

    normal = np.cross(screen.along_m, screen.across_m)
    heights = (solid.in_carrier.vertices - screen.corner_m) @ (normal / np.linalg.norm(normal))
    if heights.min() > -_TOUCH_M or heights.max() < _TOUCH_M:
        return False
    ends = (np.zeros(3), screen.along_m, screen.along_m + screen.across_m, screen.across_m)
    wall = fcl.CollisionObject(_bvh(screen.corner_m + np.array(ends), np.array([[0, 1, 2], [0, 2, 3]])))
    return float(fcl.distance(_placed(solid), wall, fcl.DistanceRequest(), fcl.DistanceResult())) <= _TOUCH_M


def distance_to_cylinder_m(
    solid: PlacedSolid, at_m: tuple[float, float, float], radius_m: float, height_m: float
) -> float:
    """Return how far a body stays from an upright cylinder.

    Parameters
    ----------
    solid
        The body.
    at_m
        Middle of the cylinder [m].
    radius_m
        Its radius [m].
    height_m
        Its height [m].

    Returns
    -------
    float
        Least distance between its triangles and the cylinder [m], to some micrometres; 0 where they touch or meet.
    """
    import fcl

    cylinder = fcl.CollisionObject(fcl.Cylinder(radius_m, height_m), fcl.Transform(np.eye(3), np.array(at_m)))
    return max(float(fcl.distance(_placed(solid), cylinder, fcl.DistanceRequest(), fcl.DistanceResult())), 0.0)


def _belong_together(one: PlacedSolid, other: PlacedSolid) -> bool:
    if other.role is Role.HOSE:
        return True  # a hose gives way
    if other.role is Role.CONNECTION:
        return other.piece == one.piece
    return other.role is Role.CARRIER and other.holds == one.stands_on


@lru_cache(maxsize=_MODELS_KEPT)
def _model(mesh: Mesh) -> Any:  # noqa: ANN401 - the library has no types
    """Sort the triangles of a mesh; the same wherever the body stands, so that a move costs nothing here."""
    return _bvh(mesh.vertices, mesh.faces)


def _bvh(vertices: Floats, faces: Integers) -> Any:  # noqa: ANN401 - the library has no types
    import fcl

    model = fcl.BVHModel()
    model.beginModel(len(faces), len(vertices))
    model.addSubModel(vertices, faces)
    model.endModel()
    return model


def _placed(solid: PlacedSolid, raised_m: float = 0.0) -> Any:  # noqa: ANN401 - the library has no types
    import fcl

    shift = solid.pose.shift_m + np.array([0.0, 0.0, raised_m])
    return fcl.CollisionObject(_model(solid.mesh), fcl.Transform(solid.pose.turn, shift))


def _distance_m(one: PlacedSolid, other: PlacedSolid) -> float:
    import fcl

    found = fcl.distance(_placed(one), _placed(other), fcl.DistanceRequest(), fcl.DistanceResult())
    return max(float(found), 0.0)


def _holds(outer: PlacedSolid, inner: PlacedSolid) -> bool:
    """Tell whether a body lies within another: a ray from its first corner crosses that an odd number of times."""
    box, at = outer.in_carrier.bounds_m, inner.in_carrier.vertices[0]
    if (at < box[0]).any() or (at > box[1]).any():
        return False
    vertices, faces = outer.in_carrier.vertices, outer.in_carrier.faces
    for axis in range(2):  # most triangles lie wholly to one side of the point as seen from above
        one, two, three = (vertices[:, axis] < at[axis])[faces.T]
        faces = faces[(one != two) | (two != three)]
    return _crossings(vertices[faces], at) % 2 == 1


def _crossings(corners: Floats, at: Floats) -> int:
    """Count the triangles above a point, seen along z."""
    a, b, c = (corners[:, corner] - at for corner in range(3))

    def side(one: Floats, other: Floats) -> Floats:
        crossed: Floats = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
        return crossed

    sides = np.stack([side(a, b), side(b, c), side(c, a)], axis=1)
    over = (sides > 0).all(axis=1) | (sides < 0).all(axis=1)
    weights = sides[over] / sides[over].sum(axis=1, keepdims=True)
    heights = weights[:, 0] * c[over, 2] + weights[:, 1] * a[over, 2] + weights[:, 2] * b[over, 2]
    return int((heights > 0).sum())

"""How far bodies stay from what the arms sweep."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.reach.faults import Fault, Rule
from patency.reach.touching import distance_to_cylinder_m

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import MachineKind
    from patency.reach.solids.placed import PlacedSolid

_ROUNDING_M = 1e-6
_EXACT_M = 5e-5  # so much a distance may be too large


def sweep_distances_m(solid: PlacedSolid, kind: MachineKind, near_m: float = math.inf) -> dict[str, float]:
    """Return how far a body stays from what each arm sweeps.

    Parameters
    ----------
    solid
        The body in its place.
    kind
        The kind of machine.
    near_m
        Up to which distance it has to be exact [m]; what is farther may be told too large, but not too small.

    Returns
    -------
    dict[str, float]
        Arm to the least distance [m], exact to 0.05 mm; below zero as deep as a corner of the mesh reaches into the
        sweep, or a few micrometres where only a face does.
    """
    x, y, z = solid.in_carrier.vertices.T
    found = {}
    for name, arm in kind.arms.items():
        out = np.hypot(x - arm.centre_x_m, y - arm.centre_y_m) - arm.radius_m
        above = np.abs(z - arm.height_m) - arm.swept_thickness_m / 2
        apart = np.hypot(np.maximum(out, 0.0), np.maximum(above, 0.0))
        inside = (out <= 0) & (above <= 0)
        distance = float(np.where(inside, np.maximum(out, above), apart).min())
        # No point of a triangle is farther from its nearest corner than this, and the cylinder is convex.
        least = math.sqrt(max(distance**2 - solid.mesh.longest_edge_m**2 / 3, 0.0))
        if distance > 0.0 and least <= near_m and distance - least > _EXACT_M:
            at = (arm.centre_x_m, arm.centre_y_m, arm.height_m)
            exact = distance_to_cylinder_m(solid, at, arm.radius_m, arm.swept_thickness_m)
            distance = min(distance, exact) if exact > 0.0 else -2 * _ROUNDING_M
        found[name] = distance
    return found


def near_arms(solid: PlacedSolid, kind: MachineKind, least_m: float) -> Iterator[Fault]:
    """Find the arms that a body comes too near to.

    Parameters
    ----------
    solid
        The body in its place.
    kind
        The kind of machine.
    least_m
        What has to stay free around what an arm sweeps [m].

    Yields
    ------
    Fault
        One for each arm, with the distance [m].
    """
    for name, distance in sweep_distances_m(solid, kind, least_m).items():
        if distance < least_m - _ROUNDING_M:
            words = f"comes within {1000 * max(distance, 0.0):.0f} mm of what the {name} sweeps"
            yield Fault(Rule.SWEEP, solid.piece or ("", ""), words, distance)

"""Whether rods, drums and baskets of a carrier stand where the arms of its machines turn."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from patency.catalogue.nodes import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.catalogue.carriers import BasketArea, Carrier
    from patency.catalogue.department import Department
    from patency.catalogue.machines import SprayArm
    from patency.catalogue.nodes import Path

    Point = tuple[float, float, float]

_ROUNDING_M = 1e-6  # what only touches a sweep does not stand in it
_THIRDS = 40  # taken off a rod until the place nearest to a sweep is exact to a tenth of a micrometre


class _Rod(NamedTuple):
    """A round straight part of a carrier."""

    path: Path
    begins: Point
    ends: Point
    radius_m: float


def sweep_findings(department: Department) -> Iterator[Finding]:
    """Find what of a carrier stands where an arm of a machine in which it docks turns.

    Parameters
    ----------
    department
        The department, or as much of it as could be read.

    Yields
    ------
    Finding
        One for each rod, drum for coils or basket and each arm. A basket is as high as its walls, else as its clear
        height. Of a rod a sweep that only grazes the rim of its end is passed over; a shape from a file is not asked.
    """
    docking = {(one.kind, name) for one in department.machines.values() for name in one.docks}
    for kind_key, name in sorted(docking):
        if kind_key in department.machine_kinds and name in department.carriers:
            for arm_key, arm in department.machine_kinds[kind_key].arms.items():
                for path in _in_sweep(department.carriers[name], arm):
                    what = f"in the way of the {arm_key} of {kind_key}"
                    heights = [1e3 * (arm.height_m + side * arm.swept_thickness_m / 2) for side in (-1, 1)]
                    at = f"x {1e3 * arm.centre_x_m:g} mm, y {1e3 * arm.centre_y_m:g} mm"
                    swept = f"{1e3 * arm.radius_m:g} mm around {at}, {heights[0]:g} to {heights[1]:g} mm high"
                    yield Finding(("carriers", name, *path), what, f"outside of what it sweeps: {swept}")


def _in_sweep(carrier: Carrier, arm: SprayArm) -> Iterator[Path]:
    for rod in _rods(carrier):
        if _meets(rod, arm):
            yield rod.path
    for name, area in carrier.basket_areas.items():
        if _is_swept(area, arm):
            yield "basket_areas", name


def _rods(carrier: Carrier) -> Iterator[_Rod]:
    for name, rod in (carrier.frame or {}).items():
        begins, ends = ((end.x_m, end.y_m, end.z_m) for end in (rod.begins, rod.ends))
        yield _Rod(("frame", name), begins, ends, rod.width_m / 2)
    for name, place in carrier.coil_places.items():
        begins = (place.at.x_m, place.at.y_m, place.at.z_m)
        ends = (place.at.x_m + place.turns * place.pitch_m, place.at.y_m, place.at.z_m)
        yield _Rod(("coil_places", name), begins, ends, place.mandrel_diameter_m / 2)


def _is_swept(area: BasketArea, arm: SprayArm) -> bool:
    x = max(area.at.x_m - arm.centre_x_m, arm.centre_x_m - area.at.x_m - area.width_m, 0.0)
    y = max(area.at.y_m - arm.centre_y_m, arm.centre_y_m - area.at.y_m - area.depth_m, 0.0)
    half = arm.swept_thickness_m / 2 - _ROUNDING_M
    top = area.at.z_m + (area.wall_height_m or area.clear_height_m)
    level = area.at.z_m < arm.height_m + half and top > arm.height_m - half
    return level and math.hypot(x, y) < arm.radius_m - _ROUNDING_M


def _meets(rod: _Rod, arm: SprayArm) -> bool:
    """Tell whether a rod's axis, or the balls that find room in it, come into a sweep."""
    half, radius = arm.swept_thickness_m / 2, rod.radius_m
    if min(rod.begins[2], rod.ends[2]) - radius > arm.height_m + half:
        return False
    if max(rod.begins[2], rod.ends[2]) + radius < arm.height_m - half:
        return False

    def apart_m(share: float) -> float:
        x, y, z = (low + share * (high - low) for low, high in zip(rod.begins, rod.ends, strict=True))
        out = math.hypot(x - arm.centre_x_m, y - arm.centre_y_m) - arm.radius_m
        above = abs(z - arm.height_m) - half
        return math.hypot(max(out, 0.0), max(above, 0.0)) if max(out, above) > 0.0 else max(out, above)

    end = min(radius / math.dist(rod.begins, rod.ends), 0.5) if rod.begins != rod.ends else 0.5
    return _least(apart_m, 0.0, 1.0) < -_ROUNDING_M or _least(apart_m, end, 1.0 - end) < radius - _ROUNDING_M


def _least(convex: Callable[[float], float], low: float, high: float) -> float:
    """Return the least value of a convex function: a sweep is convex, and so is the distance to it."""
    for _ in range(_THIRDS):
        third = (high - low) / 3
        if convex(low + third) < convex(high - third):
            high -= third
        else:
            low += third
    return convex((low + high) / 2)

"""Where the chamber of a kind of machine can be: around its arms and the carriers that dock in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.catalogue.nodes import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.carriers import Carrier
    from patency.catalogue.department import Department
    from patency.catalogue.machines import MachineKind
    from patency.catalogue.nodes import Path

# Decimal fractions of metres are not exact in binary; a nanometre forgives their rounding, not a misfit.
_ROUNDING_M = 1e-9


class Extent(NamedTuple):
    """From where to where something reaches along one of the carrier's axes [m]."""

    low_m: float
    high_m: float


def taken_in_chamber(kind: MachineKind, carrier: Carrier | None = None) -> list[Extent]:
    """Return the room that is in a chamber for certain: what its arms sweep, and a carrier.

    Parameters
    ----------
    kind
        The kind of machine.
    carrier
        A carrier that docks in it; None for the arms alone.

    Returns
    -------
    list[Extent]
        Along x, y and z of the carrier's axes; of neither arms nor carrier the place where its corner would be.
    """
    sizes = (carrier.width_m, carrier.depth_m, carrier.height_m) if carrier else (0.0, 0.0, 0.0)
    found = []
    for axis, size in enumerate(sizes):
        ends = [0.0, size] if carrier or not kind.arms else []
        for arm in kind.arms.values():
            middle = (arm.centre_x_m, arm.centre_y_m, arm.height_m)[axis]
            half = (arm.radius_m, arm.radius_m, arm.swept_thickness_m / 2)[axis]
            ends += [middle - half, middle + half]
        found.append(Extent(min(ends), max(ends)))
    return found


def reach_of_chamber(kind: MachineKind, carrier: Carrier | None = None) -> list[Extent]:
    """Return how far a chamber can reach, given that its arms and the carrier are inside of it.

    Parameters
    ----------
    kind
        The kind of machine.
    carrier
        As of ``taken_in_chamber``.

    Returns
    -------
    list[Extent]
        Along x, y and z of the carrier's axes: from wall to wall where its place is stated, else over all places it can
        have, so that what lies beyond is outside of it in any case.
    """
    sizes = (kind.chamber_width_m, kind.chamber_depth_m, kind.chamber_height_m)
    if kind.chamber_at is not None:
        corner = (kind.chamber_at.x_m, kind.chamber_at.y_m, kind.chamber_at.z_m)
        return [Extent(low, low + size) for low, size in zip(corner, sizes, strict=True)]
    taken = taken_in_chamber(kind, carrier)
    return [Extent(one.high_m - size, one.low_m + size) for one, size in zip(taken, sizes, strict=True)]


def chamber_findings(department: Department) -> Iterator[Finding]:
    """Find arms and carriers that do not find room in their chamber.

    Parameters
    ----------
    department
        The department, or as much of it as could be read.

    Yields
    ------
    Finding
        One for each axis.
    """
    for kind_key, kind in department.machine_kinds.items():
        of_arms = list(_beyond(("machine_kinds", kind_key), "the arms reach", kind))
        yield from of_arms
        alike = [(key, one.docks) for key, one in department.machines.items() if one.kind == kind_key and not of_arms]
        docks = ((("machines", key, "docks", place), name) for key, names in alike for place, name in enumerate(names))
        for path, name in docks:
            if name in department.carriers:
                yield from _beyond(path, f"{name} with the arms reaches", kind, department.carriers[name])


def _beyond(path: Path, what: str, kind: MachineKind, carrier: Carrier | None = None) -> Iterator[Finding]:
    room = zip("xyz", taken_in_chamber(kind, carrier), reach_of_chamber(kind, carrier), strict=True)
    for axis, taken, chamber in room:
        if taken.low_m < chamber.low_m - _ROUNDING_M or taken.high_m > chamber.high_m + _ROUNDING_M:
            stated = f"within the chamber, {_told(chamber)}"
            largest = f"at most the {1e3 * (chamber.high_m - taken.low_m):g} mm of the chamber"
            yield Finding(path, f"{what} {_told(taken)} along {axis}", stated if kind.chamber_at else largest)


def _told(one: Extent) -> str:
    return f"from {1e3 * one.low_m:g} to {1e3 * one.high_m:g} mm"

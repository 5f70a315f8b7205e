"""Whether the parts of a carrier belong together: circuits as a tree from the dock, places inside its outline."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from patency.catalogue.faults import unnamed
from patency.catalogue.nodes import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.catalogue.carriers import Carrier, Place
    from patency.catalogue.nodes import Path

DOCK = "dock"


def carrier_findings(key: str, carrier: Carrier, names: Callable[..., set[str]]) -> Iterator[Finding]:
    """Find names inside a carrier that name nothing, and what cannot be where it is said to be.

    Parameters
    ----------
    key
        The carrier's key.
    carrier
        The carrier.
    names
        Gives the names that stand at a path of the files, also of entries that could not be read.

    Yields
    ------
    Finding
        One for each fault.
    """
    path: Path = ("carriers", key)
    circuits, levels = names(*path, "circuits"), names(*path, "levels")
    yield from _circuits(path, carrier, circuits)
    for place, port in carrier.ports.items():
        here = (*path, "ports", place)
        yield from unnamed((*here, "circuit"), port.circuit, circuits, "a circuit of this carrier")
        yield from _along((*here, "along"), port.along_m, carrier)
    standing = chain(
        ((("ports", place), port.level, port.at) for place, port in carrier.ports.items()),
        ((("basket_areas", place), area.level, area.at) for place, area in carrier.basket_areas.items()),
        ((("coil_places", place), coil.level, coil.at) for place, coil in carrier.coil_places.items()),
    )
    for inner, level, at in standing:
        yield from unnamed((*path, *inner, "level"), level, levels, "a level of this carrier")
        yield from _inside((*path, *inner, "at"), at, carrier)


def _circuits(path: Path, carrier: Carrier, circuits: set[str]) -> Iterator[Finding]:
    for key, circuit in carrier.circuits.items():
        here = (*path, "circuits", key)
        yield from unnamed((*here, "fed_from"), circuit.fed_from, {DOCK, *circuits}, "dock or another circuit")
        yield from _along((*here, "branches_at"), circuit.branches_at_m, carrier)
        if circuit.fed_from == DOCK and circuit.branches_at_m > 0:
            yield Finding((*here, "branches_at"), "fed from the dock, which has no length", "0 mm, or another circuit")
        if _goes_round(key, carrier):
            yield Finding((*here, "fed_from"), "its feed comes back to itself", "circuits that begin at the dock")


def _goes_round(key: str, carrier: Carrier) -> bool:
    seen: set[str] = set()
    while key in carrier.circuits and key not in seen:
        seen.add(key)
        key = carrier.circuits[key].fed_from
    return key in seen


def _along(path: Path, along_m: float, carrier: Carrier) -> Iterator[Finding]:
    """Find a distance along a pipe that no pipe inside this carrier can have; a unit mistaken shows here."""
    longest_m = 2 * (carrier.width_m + carrier.depth_m + carrier.height_m)
    if along_m > longest_m:
        what = f"{along_m:g} m along a pipe inside this carrier"
        yield Finding(path, what, f"less than twice its width, depth and height together, {longest_m:g} m")


def _inside(path: Path, at: Place, carrier: Carrier) -> Iterator[Finding]:
    outline = (("x", at.x_m, carrier.width_m), ("y", at.y_m, carrier.depth_m), ("z", at.z_m, carrier.height_m))
    for axis, place_m, size_m in outline:
        if not 0 <= place_m <= size_m:
            what = f"{place_m * 1e3:g} mm is outside the carrier"
            yield Finding((*path, axis), what, f"from 0 to {size_m * 1e3:g} mm")

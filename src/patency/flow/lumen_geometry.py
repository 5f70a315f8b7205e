"""Sizes of a lumen and where it stands: length, volume, heights of its ends, stretches between its side holes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.catalogue import BoreSegment
from patency.flow.stretches import NO_LOSS, described_stretch, orifice_stretch
from patency.quantities import Toleranced

if TYPE_CHECKING:
    from patency.catalogue import Carrier, Lumen, Port
    from patency.flow.site_defaults import SiteDefaults
    from patency.flow.stretches import Stretch
    from patency.load import PlacedPiece

# Sharp-edged opening in a thin wall (handbook value, from memory, not verified).
_SIDE_HOLE_DISCHARGE = 0.61
# Holes nearer to an end than this share of the length are drawn here: a path needs a length.
_NEAREST_TO_AN_END = 0.01


@dataclass(frozen=True, slots=True)
class Stance:
    """How high the ends of a lumen lie, and how steep it stands.

    Parameters
    ----------
    inlet_m, outlet_m
        Heights of the ends above the carrier's rails [m].
    steepness
        Rise over length along the axis [-]; 0 lying, 1 upright.
    """

    inlet_m: float
    outlet_m: float
    steepness: float


def stance_of(carrier: Carrier, port: Port, placed: PlacedPiece, length_m: float) -> Stance:
    """Work out where a lumen's ends are from the piece's place, its inclination and which way up it stands.

    Parameters
    ----------
    carrier
        The carrier.
    port
        The port that feeds the lumen; the piece may stand at another one.
    placed
        The piece in its place.
    length_m
        Length of the lumen [m].

    Returns
    -------
    Stance
        The heights. A piece that lies or is coiled has both ends at the height of its place.
    """
    place = carrier.ports.get(placed.position, port)
    base, steepness = place.at.z_m, math.sin(math.radians(place.stand.inclination_deg))
    if placed.way_up == "distal up":
        return Stance(base, base + steepness * length_m, steepness)
    if placed.way_up == "distal down":
        return Stance(base + steepness * length_m, base, steepness)
    return Stance(base, base, 0.0)


def lumen_length_m(lumen: Lumen) -> float:
    """Length of a lumen along its flow.

    Parameters
    ----------
    lumen
        The lumen.

    Returns
    -------
    float
        Sum of its segments' lengths [m].
    """
    return sum(segment.length_m.nominal for segment in lumen.segments)


def lumen_volume_m3(lumen: Lumen) -> float:
    """Volume of water a lumen holds.

    Parameters
    ----------
    lumen
        The lumen.

    Returns
    -------
    float
        Volume of its segments; blind branches are not counted [m³].
    """
    total = 0.0
    for s in lumen.segments:
        square = s.bore_m.nominal**2 if isinstance(s, BoreSegment) else s.outer_m.nominal**2 - s.inner_m.nominal**2
        total += math.pi / 4.0 * square * s.length_m.nominal
    return total


def side_openings(lumen: Lumen, defaults: SiteDefaults) -> list[tuple[float, Stretch]]:
    """List where a lumen's side holes let water out, each place once, in the direction of flow.

    Parameters
    ----------
    lumen
        The lumen.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    list[tuple[float, Stretch]]
        Distance from the inlet end [m] and the opening: the one of the holes' area.
    """
    length_m = lumen_length_m(lumen)
    places: dict[float, list[tuple[int, Toleranced]]] = {}
    for holes in lumen.side_holes or ():
        share = min(max(holes.from_inlet_m / length_m, _NEAREST_TO_AN_END), 1.0 - _NEAREST_TO_AN_END)
        places.setdefault(share * length_m, []).append((holes.count, Toleranced(holes.diameter_m)))
    return [(at, orifice_stretch(places[at], _SIDE_HOLE_DISCHARGE, defaults)) for at in sorted(places)]


def cut_stretches(lumen: Lumen, name: str, cuts_m: list[float], defaults: SiteDefaults) -> list[list[Stretch]]:
    """Cut a lumen into the rows of stretches before, between and behind places along it.

    Parameters
    ----------
    lumen
        The lumen.
    name
        A name for it, unlike that of any other.
    cuts_m
        Distances from its inlet end, rising, inside its length [m].
    defaults
        What holds where nothing is stated.

    Returns
    -------
    list[list[Stretch]]
        One row more than there are cuts.
    """
    rows: list[list[Stretch]] = [[]]
    begin_m = 0.0
    for number, described in enumerate(lumen.segments):
        end_m = begin_m + described.length_m.nominal
        inside = [cut for cut in cuts_m if begin_m < cut < end_m]
        loss: Toleranced | None = described.loss
        for low, high in zip([begin_m, *inside], [*inside, end_m], strict=True):
            if low in cuts_m:
                rows.append([])
            piece = described.model_copy(update={"length_m": Toleranced(high - low), "loss": loss})
            stretch = described_stretch(piece, defaults)
            rows[-1].append(replace(stretch, part=f"segment {number} of {name}"))
            loss = NO_LOSS  # a loss is met once
        begin_m = end_m
    return rows

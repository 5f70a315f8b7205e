"""Whether water runs out of the hollows and bores of a piece as it is placed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import BoreSegment
from patency.load import Figure, Question, Reply
from patency.quantities import Answer, worst
from patency.reach.capillary import hold_up_m

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import AnnulusSegment, Cup, LoadLimits, Lumen, PieceType
    from patency.quantities import Limit

_ROUNDING_DEG = 1e-9
LYING_DEG = 0.0
"""Inclination of the axis of a piece that lies."""


def drainage(piece: PieceType, inclination_deg: float, limits: LoadLimits, temperature_c: float) -> Reply:
    """Answer whether every hollow and every bore of a piece runs empty as it is placed.

    Parameters
    ----------
    piece
        The piece; its way up says which end is the higher one.
    inclination_deg
        Angle of its axis above the horizontal [°]; ``LYING_DEG`` where it lies.
    limits
        The site's limits: ``drain_angle`` is the least slope that counts as draining.
    temperature_c
        Temperature of the water that stays [°C], 0.01 to 100; the colder, the longer the plug in a bore.

    Returns
    -------
    Reply
        To **reached**. A cup drains when its opening looks down by at least the drain angle; one that opens to the
        side is turned so that it looks down as far as the axis allows, and the reply says so. A bore drains when the
        axis slopes by at least the drain angle; how much a plug held by capillarity keeps is a figure, not a fault.
        ``unknown`` when nobody has looked for cups or blind branches, when the site states no drain angle, or when a
        lumen has blind branches, because which way they look is not in the catalogue.
    """
    figures = list(_figures(piece, inclination_deg, limits.drain_angle, temperature_c))
    findings = [*_of_cups(piece, inclination_deg, limits.drain_angle)]
    findings += _of_lumens(piece, inclination_deg, limits.drain_angle)
    answer = worst(found for found, _ in findings)
    why = "; ".join(text for found, text in findings if found is answer) or "has neither hollows nor bores"
    return Reply(Question.REACHED, answer, why, tuple(figures))


def cup_drain_angle_deg(cup: Cup, piece: PieceType, inclination_deg: float) -> float:
    """Return by how much the opening of a cup looks down.

    Parameters
    ----------
    cup
        The cup.
    piece
        The piece with the cup.
    inclination_deg
        Angle of the piece's axis above the horizontal [°].

    Returns
    -------
    float
        Angle of the opening below the horizontal [°], negative where it looks up. A side opening is turned as far
        down as the axis allows.
    """
    if cup.opens == "side":
        return 90.0 - abs(inclination_deg)
    distal_is_higher = piece.way_up != "distal down"
    looks_up = (cup.opens == "distal") == distal_is_higher
    return -inclination_deg if looks_up else inclination_deg


def kept_volume_m3(cup: Cup, drain_angle_deg: float) -> float:
    """Return how much water stays in a cup.

    Parameters
    ----------
    cup
        The cup, taken as a round cylinder of its width and depth.
    drain_angle_deg
        Angle of its opening below the horizontal [°], negative where it looks up.

    Returns
    -------
    float
        Volume below the lowest point of its lip [m³]: nothing where the opening looks level or down, all of it where
        it looks straight up, in between the cylinder cut by a level plane; where the plane meets the bottom it is a
        cylindrical wedge (checked in the tests by Archimedes' hoof and by adding up slices).
    """
    if drain_angle_deg >= 0.0:
        return 0.0
    radius = cup.width_m / 2
    fall = math.tan(math.radians(90.0 + drain_angle_deg))  # of the level across the cup, per width, seen in the cup
    if cup.width_m * fall <= cup.depth_m:
        return math.pi * radius**2 * (cup.depth_m - radius * fall)
    wet = cup.depth_m / fall  # how far across the bottom the water reaches
    half_angle = math.acos((radius - wet) / radius)
    half_chord = radius * math.sin(half_angle)
    section = half_chord * (3 * radius**2 - half_chord**2) + 3 * radius**2 * (wet - radius) * half_angle
    return cup.depth_m * section / (3 * wet)


def _of_cups(piece: PieceType, inclination_deg: float, least: Limit | None) -> Iterator[tuple[Answer, str]]:
    if piece.cups is None:
        yield Answer.UNKNOWN, "nobody has looked for hollows in it"
        return
    for cup in piece.cups:
        angle = cup_drain_angle_deg(cup, piece, inclination_deg)
        turned = ", turned with the opening down," if cup.opens == "side" else ""
        stays = 1e6 * kept_volume_m3(cup, angle)
        keeps = f" and keeps {stays:.1f} mL" if stays else ""
        side = "below" if angle >= 0.0 else "above"
        yield _slope(angle, least, f"{cup.name}{turned} opens {abs(angle):.0f}° {side} the horizontal{keeps}")


def _of_lumens(piece: PieceType, inclination_deg: float, least: Limit | None) -> Iterator[tuple[Answer, str]]:
    for key, lumen in piece.lumens.items():
        slope = abs(inclination_deg)
        yield _slope(slope, least, f"lumen {key} slopes by {slope:.0f}°")
        if lumen.dead_ends_m is None:
            yield Answer.UNKNOWN, f"whether lumen {key} has blind branches is not stated"
        elif lumen.dead_ends_m:
            yield Answer.UNKNOWN, f"which way the blind branches of lumen {key} look is not known"


def _slope(angle_deg: float, least: Limit | None, text: str) -> tuple[Answer, str]:
    if angle_deg <= 0.0:
        return Answer.NO, text
    if least is None:
        return Answer.UNKNOWN, f"{text}; the site states no drain angle"
    if angle_deg < least.value - _ROUNDING_DEG:
        return Answer.NO, f"{text}, at least {least.value:g}° are needed"
    return Answer.YES, text


def _figures(piece: PieceType, inclination_deg: float, least: Limit | None, temperature_c: float) -> Iterator[Figure]:
    for cup in piece.cups or ():
        angle = cup_drain_angle_deg(cup, piece, inclination_deg)
        yield Figure(f"drain angle of {cup.name}", angle, "deg", limit=least)
        yield Figure(f"volume that stays in {cup.name}", kept_volume_m3(cup, angle), "m3")
    for key, lumen in piece.lumens.items():
        yield Figure(f"slope of lumen {key}", abs(inclination_deg), "deg", limit=least)
        yield Figure(f"capillary plug in lumen {key}", _plug_m(lumen, temperature_c), "m")


def _plug_m(lumen: Lumen, temperature_c: float) -> float:
    """Return the longest plug that any stretch of a lumen holds upright."""
    return max(hold_up_m(_hydraulic_diameter_m(segment), temperature_c) for segment in lumen.segments)


def _hydraulic_diameter_m(segment: BoreSegment | AnnulusSegment) -> float:
    if isinstance(segment, BoreSegment):
        return segment.bore_m.nominal
    return segment.outer_m.nominal - segment.inner_m.nominal

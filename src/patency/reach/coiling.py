"""Whether a cable finds room on its coil place, and whether a hose reaches without bending too tightly."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import Hose
from patency.load import Figure, Question, Reply
from patency.quantities import Answer, Limit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import ChainLink, CoilPlace, LoadLimits, PieceType, Port

_ROUNDING_M = 1e-9


def coil_fit(piece: PieceType, place: CoilPlace) -> Reply:
    """Answer whether a cable or tube can be coiled on a place of the coil rack.

    Parameters
    ----------
    piece
        The cable, with its length and thickness.
    place
        The coil place.

    Returns
    -------
    Reply
        To **fits**: its bend radius against that of the mandrel, its thickness against the pitch, and the turns it
        needs, as a helix on the mandrel, against those that find room. ``unknown`` when its least bend radius is not
        known.
    """
    turns = coil_turns(piece.length_m, piece.widest_m, place)
    source = "the carrier's description of the coil place"
    radius = place.mandrel_diameter_m / 2
    least = piece.least_bend_radius_m
    limit = None if least is None else Limit(least, "m", "the description of the piece")
    figures = (
        Figure("turns", turns, "1", limit=Limit(place.turns, "1", source)),
        Figure("bend radius", radius, "m", limit=limit),
        Figure("thickness", piece.widest_m, "m", limit=Limit(place.pitch_m, "m", source)),
    )
    faults = []
    if turns > place.turns + 1e-9:
        faults.append(f"needs {turns:.1f} turns, room is for {place.turns}")
    if piece.widest_m > place.pitch_m + _ROUNDING_M:
        faults.append(f"is {1000 * piece.widest_m:.0f} mm thick, a turn has {1000 * place.pitch_m:.0f} mm")
    if least is not None and radius < least - _ROUNDING_M:
        faults.append(f"bends to {1000 * radius:.0f} mm, least are {1000 * least:.0f} mm")
    if faults:
        return Reply(Question.FITS, Answer.NO, "; ".join(faults), figures)
    if least is None:
        return Reply(Question.FITS, Answer.UNKNOWN, "its least bend radius is not known", figures)
    return Reply(Question.FITS, Answer.YES, f"{turns:.1f} turns of {place.turns} on the coil place", figures)


def coil_turns(length_m: float, thickness_m: float, place: CoilPlace) -> float:
    """Return how many turns a cable takes.

    Parameters
    ----------
    length_m
        Its length [m].
    thickness_m
        Its outer diameter [m].
    place
        The coil place.

    Returns
    -------
    float
        Length over that of one turn of a helix through the middle of the cable: sqrt((π (D + w))² + pitch²).
    """
    return length_m / math.hypot(math.pi * (place.mandrel_diameter_m + thickness_m), place.pitch_m)


def hose_bend(port: Port, chain: Sequence[ChainLink], gap_m: tuple[float, float], limits: LoadLimits) -> Reply | None:
    """Answer whether the hoses between a port and a piece reach and bend no tighter than allowed.

    Parameters
    ----------
    port
        The port.
    chain
        What stands between it and the piece.
    gap_m
        Least and largest distance from the port to the inlet of the lumen [m], see ``inlet_gap_m``.
    limits
        The site's limits: ``hose_bend_ratio`` times the outer diameter is the least bend radius.

    Returns
    -------
    Reply | None
        To **fits**; None where no hose is involved. All hoses in line count as one, laid as a single arc of a circle
        between its ends: the gentlest curve of that length without a twist. A real hose also turns at its ends, so
        ``yes`` means possible, not proven. ``unknown`` when the site states no ratio.
    """
    loose = [link for link in chain if isinstance(link, Hose)]
    length = sum(hose.length_m.nominal for hose in loose) + (port.hose.length_m.nominal if port.hose else 0.0)
    outers = [hose.outer_m for hose in loose] + ([port.hose.outer_m] if port.hose else [])
    if not outers:
        return None
    near, far = gap_m
    reach = Figure("gap bridged by the hose", far, "m", near, far, Limit(length, "m", "length of the hoses in line"))
    if far > length + _ROUNDING_M:
        why = f"hose of {1000 * length:.0f} mm is too short for {1000 * far:.0f} mm"
        return Reply(Question.FITS, Answer.NO, why, (reach,))
    ratio = limits.hose_bend_ratio
    radius = arc_radius_m(length, near)
    least = None if ratio is None else Limit(ratio.value * max(outers), "m", ratio.source)
    figures = (reach, Figure("bend radius of the hose", radius, "m", limit=least)) if radius < math.inf else (reach,)
    if least is None:
        return Reply(Question.FITS, Answer.UNKNOWN, "the site states no least bend radius of hoses", figures)
    if radius < least.value - _ROUNDING_M:
        why = f"hose bends to {1000 * radius:.0f} mm, least are {1000 * least.value:.0f} mm"
        return Reply(Question.FITS, Answer.NO, why, figures)
    return Reply(Question.FITS, Answer.YES, "the hose reaches without a tight bend", figures)


def arc_radius_m(length_m: float, chord_m: float) -> float:
    """Return the radius of the circular arc of a given length between two points.

    Parameters
    ----------
    length_m
        Length of the arc [m].
    chord_m
        Distance of its ends [m], at most the length.

    Returns
    -------
    float
        The radius [m] with chord = 2 R sin(length / (2 R)); a full circle for a chord of zero, infinite for a straight
        line.
    """
    share = min(1.0, chord_m / length_m)
    if share >= 1.0 - 1e-12:
        return math.inf
    low, high = 0.0, math.pi  # half the angle of the arc; sin(x) / x falls from one to zero between them
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if math.sin(middle) > share * middle else (low, middle)
    return length_m / (low + high)

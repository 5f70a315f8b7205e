"""Whether a piece finds room where it is put: under what comes next, outside the sweep of the arms, in its basket."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.load import Figure, Question, Reply
from patency.quantities import Answer, Limit
from patency.reach.placement import heights_m

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from patency.catalogue import BasketArea, Carrier, LoadLimits, MachineKind, PieceType, Pod, SprayArm
    from patency.reach.placement import Standing

# Decimal fractions of metres are not exact in binary; a nanometre forgives their rounding, not a misfit.
_ROUNDING_M = 1e-9


def clearance(piece: PieceType, stands: Standing, carrier: Carrier, kind: MachineKind, limits: LoadLimits) -> Reply:
    """Answer whether a piece standing at a port finds room there and stays out of the arms' way.

    Parameters
    ----------
    piece
        The piece.
    stands
        Its axis, see ``standing``.
    carrier
        The carrier with the port.
    kind
        The kind of machine the carrier docks in, for its arms.
    limits
        The site's limits on how a load is arranged.

    Returns
    -------
    Reply
        To **fits**. ``no`` when the piece is longer than the port's reach (or, where no reach is given, higher than
        its clearance), or comes nearer to the swept volume of an arm than the site allows. ``unknown`` when it keeps
        out of the arms but the site states no clearance, or nobody states whether an arm turns above its level. An arm
        counts wherever the piece could lean under it.
    """
    low, high = heights_m(piece, stands)
    room, fault = _room(piece, stands, high)
    faults = [fault] if fault else []
    distance = _distance_to_arms_m(piece, stands, carrier, kind)
    figures = [room]
    if distance is not None:
        figures.append(Figure("distance to the arms' sweep", distance, "m", limit=limits.arm_clearance))
        least = limits.arm_clearance.value if limits.arm_clearance else 0.0
        if distance < least - _ROUNDING_M:
            near = f"comes within {_mm(distance)} of" if distance >= 0 else f"reaches {_mm(-distance)} into"
            faults.append(f"{near} the sweep of an arm, {_mm(least)} are to stay free")
    if faults:
        return Reply(Question.FITS, Answer.NO, "; ".join(faults), tuple(figures))
    if carrier.levels[stands.port.level].arm_above_m is None:
        why = "whether an arm turns above its level is not stated"
        return Reply(Question.FITS, Answer.UNKNOWN, why, tuple(figures))
    if distance is not None and limits.arm_clearance is None:
        why = "the site states no least distance to the arms' sweep"
        return Reply(Question.FITS, Answer.UNKNOWN, why, tuple(figures))
    return Reply(Question.FITS, Answer.YES, f"reaches from {_mm(low)} to {_mm(high)} above its port", tuple(figures))


def _room(piece: PieceType, stands: Standing, high_m: float) -> tuple[Figure, str]:
    port = stands.port
    if port.reach_m is not None:
        along = stands.foot_m + piece.length_m
        limit = Limit(port.reach_m, "m", "the carrier's description: longest piece at this port")
        fault = "" if along <= limit.value + _ROUNDING_M else f"takes {_mm(along)}, room is for {_mm(limit.value)}"
        return Figure("length from the port", along, "m", limit=limit), fault
    limit = Limit(port.clearance_m, "m", "the carrier's description: clearance of this port")
    fault = "" if high_m <= limit.value + _ROUNDING_M else f"stands {_mm(high_m)} high, clear are {_mm(limit.value)}"
    return Figure("height of the tip above the port", high_m, "m", limit=limit), fault


def _distance_to_arms_m(piece: PieceType, stands: Standing, carrier: Carrier, kind: MachineKind) -> float | None:
    port = stands.port
    low, high = (port.at.z_m + height for height in heights_m(piece, stands))
    sideways = abs(stands.foot_m + piece.length_m) * abs(stands.cosine) + piece.widest_m / 2
    swept = _swept(kind.arms.values(), port.at.x_m, port.at.y_m, sideways)
    distances = [max(bottom - high, low - top) for bottom, top in swept]
    plane = carrier.levels[port.level].arm_above_m
    if isinstance(plane, float):
        distances.append(plane - high)
    return min(distances, default=None)


def _swept(arms: Iterable[SprayArm], x_m: float, y_m: float, sideways_m: float) -> Iterator[tuple[float, float]]:
    """Walk through the swept heights of the arms that pass over or under a place, seen from the carrier's rails."""
    for arm in arms:
        if math.hypot(arm.centre_x_m - x_m, arm.centre_y_m - y_m) - sideways_m < arm.radius_m:
            yield arm.height_m - arm.swept_thickness_m / 2, arm.height_m + arm.swept_thickness_m / 2


def basket_fit(piece: PieceType, area: BasketArea) -> Reply:
    """Answer whether a piece can lie in the basket on a basket area.

    Parameters
    ----------
    piece
        The piece.
    area
        The basket area.

    Returns
    -------
    Reply
        To **fits**: see ``pod_fit``.
    """
    return _lies_in(piece, area.width_m, area.depth_m, area.clear_height_m, "basket area")


def pod_fit(piece: PieceType, pod: Pod) -> Reply:
    """Answer whether a piece can lie in a lidded fine basket.

    Parameters
    ----------
    piece
        The piece.
    pod
        The pod.

    Returns
    -------
    Reply
        To **fits**: ``yes`` when it is no longer than the diagonal of the floor and no thicker than the height. What
        else lies there is not weighed up: it lies in one layer beside it.
    """
    return _lies_in(piece, pod.inner_width_m, pod.inner_depth_m, pod.inner_height_m, "pod")


def _lies_in(piece: PieceType, width_m: float, depth_m: float, height_m: float, where: str) -> Reply:
    source = f"the description of the {where}"
    length = Figure("length", piece.length_m, "m", limit=Limit(math.hypot(width_m, depth_m), "m", source))
    thickness = Figure("thickness", piece.widest_m, "m", limit=Limit(height_m, "m", source))
    faults = [
        f"{figure.name} {_mm(figure.value)}, the {where} has room for {_mm(figure.limit.value)}"
        for figure in (length, thickness)
        if figure.limit and figure.value > figure.limit.value + _ROUNDING_M
    ]
    answer, why = (Answer.NO, "; ".join(faults)) if faults else (Answer.YES, f"lies within the {where}")
    return Reply(Question.FITS, answer, why, (length, thickness))


def _mm(length_m: float) -> str:
    return f"{length_m * 1000:.0f} mm"

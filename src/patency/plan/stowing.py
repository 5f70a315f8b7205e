"""What goes elsewhere than on a port: loose pieces into baskets, small parts into a pod, cables on the rack, optics."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Net, OpticHolder, Placing, Pod
from patency.quantities import Answer
from patency.reach import basket_fit, coil_fit, pod_fit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.catalogue import BasketArea, Carrier, Department, PieceType
    from patency.load import PieceToPlace

_ROUNDING = 1e-9


def placed(pieces: Iterable[PieceToPlace], placing: Placing) -> list[PieceType]:
    """Return the piece types that go to one kind of place, once for each piece.

    Parameters
    ----------
    pieces
        Pieces of a set.
    placing
        The kind of place.

    Returns
    -------
    list[PieceType]
        Their types.
    """
    return [piece.piece_type for piece in pieces if piece.piece_type.placing is placing]


def areas_for(carrier: Carrier, loose: list[PieceType]) -> list[str]:
    """Name the basket areas that take every loose piece of a set.

    Parameters
    ----------
    carrier
        The carrier.
    loose
        Its loose pieces.

    Returns
    -------
    list[str]
        Keys of the areas.
    """
    return [
        name
        for name, area in carrier.basket_areas.items()
        if all(basket_fit(piece, area).answer is Answer.YES for piece in loose)
    ]


def areas_to_stand_in(department: Department, carrier: Carrier, pieces: Iterable[PieceToPlace]) -> list[str]:
    """Name the basket areas in which the pod and the optic holders of a set find room beside each other.

    Parameters
    ----------
    department
        The department.
    carrier
        The carrier.
    pieces
        Pieces of the set.

    Returns
    -------
    list[str]
        Keys of the areas; all of them where the set has neither small parts nor optics. Holders have no stated
        outside: an optic has to lie in the area by itself, and its outline counts as the floor its holder takes.
    """
    pieces = list(pieces)
    small, optics = placed(pieces, Placing.POD), placed(pieces, Placing.OPTIC_HOLDER)
    pods = [pod for name in pods_for(department, small) if isinstance(pod := department.accessories[name], Pod)]
    floor_m2 = sum(optic.length_m * optic.widest_m for optic in optics)
    found = []
    for name, area in carrier.basket_areas.items():
        standing = [pod.inner_width_m * pod.inner_depth_m for pod in pods if _pod_stands(pod, area)] if small else [0.0]
        lie = all(basket_fit(optic, area).answer is Answer.YES for optic in optics)
        if lie and standing and floor_m2 + min(standing) <= area.width_m * area.depth_m + _ROUNDING:
            found.append(name)
    return found


def first_and_last(carrier: Carrier, lie: list[str], stand: list[str], count: int) -> tuple[list[str], list[str]]:
    """Name the basket areas from which a set takes its first and its last.

    Parameters
    ----------
    carrier
        The carrier.
    lie
        Areas that take all its loose pieces.
    stand
        Areas in which its pod and optic holders find room.
    count
        How many areas it takes.

    Returns
    -------
    tuple[list[str], list[str]]
        Where one area serves for both, the first is such a one and the last any; else, with more than one area, the
        first takes what lies and the last what stands.
    """
    both = [area for area in lie if area in stand]
    return (both, list(carrier.basket_areas)) if both or count < 2 else (lie, stand)


def _pod_stands(pod: Pod, area: BasketArea) -> bool:
    pod_floor = sorted((pod.inner_width_m, pod.inner_depth_m))
    floor = sorted((area.width_m, area.depth_m))
    sides = zip((*pod_floor, pod.inner_height_m), (*floor, area.clear_height_m), strict=True)
    return all(side <= room + _ROUNDING for side, room in sides)


def coil_places_for(carrier: Carrier, piece: PieceType) -> list[str]:
    """Name the coil places that take a cable.

    Parameters
    ----------
    carrier
        The carrier.
    piece
        The cable.

    Returns
    -------
    list[str]
        Keys of the places; a bend radius that is not known counts as too large.
    """
    return [name for name, place in carrier.coil_places.items() if coil_fit(piece, place).answer is Answer.YES]


def pods_for(department: Department, small: list[PieceType]) -> list[str]:
    """Name the pods that take each of some small parts.

    Parameters
    ----------
    department
        The department.
    small
        The parts.

    Returns
    -------
    list[str]
        Keys of the accessories.
    """
    return [
        name
        for name, pod in department.accessories.items()
        if isinstance(pod, Pod) and all(pod_fit(piece, pod).answer is Answer.YES for piece in small)
    ]


def holders_for(department: Department, optic: PieceType) -> list[str]:
    """Name the holders that take an optic.

    Parameters
    ----------
    department
        The department.
    optic
        The optic.

    Returns
    -------
    list[str]
        Keys of the accessories.
    """
    return [
        name
        for name, holder in department.accessories.items()
        if isinstance(holder, OpticHolder)
        and optic.length_m <= holder.holds_length_m + _ROUNDING
        and optic.widest_m <= holder.holds_width_m + _ROUNDING
    ]


def nets(department: Department) -> list[str]:
    """Name the hold-down nets, willingly used ones first.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    list[str]
        Keys of the accessories.
    """
    found = [(net.rank, name) for name, net in department.accessories.items() if isinstance(net, Net)]
    return [name for _, name in sorted(found)]

"""What goes elsewhere than on a port: loose pieces into baskets, small parts into a pod, cables on the rack, optics."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Net, OpticHolder, Placing, Pod
from patency.quantities import Answer
from patency.reach import basket_fit, coil_fit, pod_fit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.catalogue import Carrier, Department, PieceType
    from patency.load import PieceToPlace


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
        and optic.length_m <= holder.holds_length_m + 1e-9
        and optic.widest_m <= holder.holds_width_m + 1e-9
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

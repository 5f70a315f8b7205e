"""The bodies of a load as triangles, with what the jets strike of each patch: for pictures."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.jets.struck import PieceStrikes
    from patency.reach.load_reach import LoadReach
    from patency.reach.solids.placed import PieceKey, PlacedSolid, Role

NO_CLASS = -1
"""In place of a ``Wetting``: no surface of a piece, or not computed."""


class BodyShown(NamedTuple):
    """One body of a load as triangles.

    Parameters
    ----------
    role
        What it is.
    words
        What people call it.
    stands_on
        Where it lies or stands.
    piece
        Which piece it is or is connected to; None for parts of the carrier.
    vertices_m
        [vertex, 3] places in the carrier's axes [m].
    faces
        [face, 3] corners, counter-clockwise seen from outside.
    patch_of
        [face] number of its patch.
    zones
        Names of its zones, in the piece's own words.
    zone_of
        [patch] number of its zone.
    wetting
        [patch] how water gets there, as ``Wetting``; -1 for what is no surface of a piece or was not computed.
    hits_per_min
        [patch] how often jets pass over it directly [1/min].
    pressure_pa
        [patch] strongest impact pressure [Pa].
    """

    role: Role
    words: str
    stands_on: str
    piece: PieceKey | None
    vertices_m: NDArray[np.float32]
    faces: NDArray[np.uint32]
    patch_of: NDArray[np.uint32]
    zones: tuple[str, ...]
    zone_of: NDArray[np.uint16]
    wetting: NDArray[np.int8]
    hits_per_min: NDArray[np.float32]
    pressure_pa: NDArray[np.float32]


def bodies_shown(found: LoadReach, numbers: Sequence[int] | None = None) -> tuple[BodyShown, ...]:
    """Return bodies of a load for a picture.

    Parameters
    ----------
    found
        What was computed of the load.
    numbers
        Numbers of the bodies; all where left out.

    Returns
    -------
    tuple[BodyShown, ...]
        In the order of ``numbers``, else of ``arranged.solids``. Wire walls are ``arranged.screens``.
    """
    of_piece = found.strikes.pieces if found.strikes else {}
    struck = {number: of_piece[key] for key, number in found.arranged.number_of.items() if key in of_piece}
    asked = range(len(found.arranged.solids)) if numbers is None else numbers
    return tuple(_shown(found.arranged.solids[number], struck.get(number)) for number in asked)


def _shown(solid: PlacedSolid, strikes: PieceStrikes | None) -> BodyShown:
    mesh = solid.in_carrier
    count = len(mesh.zone_of)
    wetting = np.full(count, NO_CLASS, dtype=np.int8)
    hits, pressure = np.zeros((2, count), dtype=np.float32)
    if strikes is not None:
        patches = strikes.surface.patch_of
        wetting[patches], hits[patches], pressure[patches] = strikes.wetting, strikes.hits_per_min, strikes.pressure_pa
    return BodyShown(
        solid.role,
        solid.words,
        solid.stands_on,
        solid.piece,
        mesh.vertices.astype(np.float32),
        mesh.faces.astype(np.uint32),
        mesh.patch_of.astype(np.uint32),
        solid.zone_names,
        solid.zone_of_patch.astype(np.uint16),
        wetting,
        hits,
        pressure,
    )

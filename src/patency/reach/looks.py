"""How each patch of a load is shown in pictures: by direct hits per minute, or by how else water gets there."""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from patency.reach.bodies_to_show import bodies_shown
from patency.reach.jets.struck import Wetting
from patency.reach.solids.placed import Role

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.bodies_to_show import BodyShown
    from patency.reach.load_reach import LoadReach

OFTEN_PER_MIN = 120.0
"""From so many direct hits on a patch is drawn as struck often [1/min]: four jets a turn at 30 turns a minute."""
SELDOM_PER_MIN = 30.0
"""With fewer direct hits a patch is drawn as struck seldom [1/min]: less than one jet a turn at 30 turns a minute."""


class Look(IntEnum):
    """A class of patches in a picture. None of them says that a surface is clean."""

    OFTEN = 0
    """Struck directly, at least ``OFTEN_PER_MIN``, or all the time by a free jet."""
    SOMETIMES = 1
    """Struck directly, in between."""
    SELDOM = 2
    """Struck directly, fewer than ``SELDOM_PER_MIN``."""
    RINSED = 3
    """Under a flushing sleeve: what runs out along the piece flows over it."""
    REFLECTED = 4
    """Wetted only by reflection; never counted as struck."""
    MISSED = 5
    """Not struck, and water does not get there by reflection."""
    UNKNOWN = 6
    """Something had to be known of the piece, its surroundings or the arms, and is not."""
    BARE = 7
    """No surface of a piece: carrier, sleeves, nozzles, the opening of a lumen."""


_OF_WETTING = {
    Wetting.INJECTED: Look.OFTEN,
    Wetting.RINSED: Look.RINSED,
    Wetting.REFLECTED: Look.REFLECTED,
    Wetting.SHELTERED: Look.MISSED,
    Wetting.COVERED: Look.MISSED,
}


def looks_of_bodies(
    found: LoadReach, numbers: Sequence[int] | None = None
) -> tuple[tuple[BodyShown, NDArray[np.uint8]], ...]:
    """Return bodies of a load, each with how its patches are shown.

    Parameters
    ----------
    found
        What was computed of the load.
    numbers
        Numbers of the bodies; all where left out.

    Returns
    -------
    tuple[tuple[BodyShown, NDArray[np.uint8]], ...]
        In the order of ``bodies_shown``: the body, and [patch] ``Look``.
    """
    asked = range(len(found.arranged.solids)) if numbers is None else numbers
    return tuple(
        (body, looks_of_body(found, number)) for number, body in zip(asked, bodies_shown(found, asked), strict=True)
    )


def looks_of_body(found: LoadReach, number: int) -> NDArray[np.uint8]:
    """Return how the patches of one body of a load are shown.

    Parameters
    ----------
    found
        What was computed of the load.
    number
        Number of the body.

    Returns
    -------
    NDArray[np.uint8]
        [patch] ``Look``.
    """
    solid = found.arranged.solids[number]
    looks = np.full(len(solid.mesh.zone_of), Look.BARE, dtype=np.uint8)
    if solid.role is not Role.PIECE or solid.piece is None:
        return looks
    if found.strikes is None or found.gaps(solid.piece):
        looks[:] = Look.UNKNOWN
    elif one := found.strikes.pieces.get(solid.piece):
        hits = one.hits_per_min.astype(np.float32)
        often = [hits >= OFTEN_PER_MIN, hits >= SELDOM_PER_MIN]
        seen = np.select(often, [Look.OFTEN, Look.SOMETIMES], Look.SELDOM).astype(np.uint8)
        for wetting, look in _OF_WETTING.items():
            seen[one.wetting == wetting] = look
        looks[one.surface.patch_of] = seen
    return looks

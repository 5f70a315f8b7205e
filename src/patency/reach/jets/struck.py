"""What the jets strike of one piece, patch by patch and zone by zone."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.reach.jets.free_jets import SteadyHits
    from patency.reach.jets.inputs import Surface
    from patency.reach.solids.mesh import Floats


class Wetting(IntEnum):
    """How water gets to a patch. Only the first and the last are struck; none of them says that it is clean."""

    STRUCK = 0
    """At least one jet of an arm strikes it directly, straight or through a wire wall."""
    RINSED = 1
    """It lies under a flushing sleeve that is open at its end: what runs out along the piece flows over it."""
    REFLECTED = 2
    """No jet strikes it; water that splashes off struck surfaces or walls of the chamber can get there."""
    SHELTERED = 3
    """No jet strikes it, and it sees nothing that is struck."""
    COVERED = 4
    """It lies under a flushing sleeve that is closed at its end."""
    INJECTED = 5
    """No jet of an arm strikes it; the free jet of an open port does, all the time."""


DIRECTLY = (Wetting.STRUCK, Wetting.INJECTED)
"""What counts as struck directly."""


@dataclass(frozen=True, slots=True)
class ZoneStrikes:
    """What is struck of one zone of a piece.

    Parameters
    ----------
    name
        The zone in the piece's own words: ``inner jaw, left``.
    area_m2
        Its area [m²].
    struck_share
        Share of its area that jets strike directly.
    shadowed_by
        What stands most in the way of jets to the patches that are not struck, most first; ``itself`` for other parts
        of the same piece; empty where every patch is struck or no jet points there.
    """

    name: str
    area_m2: float
    struck_share: float
    shadowed_by: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class PieceStrikes:
    """What the jets strike of one piece, patch by patch.

    Parameters
    ----------
    surface
        Its patches; ``surface.patch_of`` is the number of each within the piece's mesh.
    wetting
        [patch] how water gets there, as ``Wetting``.
    hits_per_min
        [patch] how often jets of arms pass over it directly [1/min]; through a wire wall as the share that comes
        through.
    pressure_pa
        [patch] strongest impact pressure of a jet [Pa]; 0 where none strikes.
    least_incidence_deg, largest_incidence_deg
        [patch] range of the angle between such a jet and the patch's normal [°]; not a number where none strikes.
    arms
        [patch] which arms strike it: bit n for arm n.
    push_n
        Largest force with which jets can push the piece, each arm at its worst angle, with all free jets [N].
    lift_n
        Largest force with which they can lift it [N].
    wrench
        [arm, part of a turn, 6] force of the jets of each arm [N] and its moment about the origin [N m].
    zones
        Its zones in the order of its mesh.
    steady
        What free jets strike of it.
    """

    surface: Surface
    wetting: NDArray[np.int8]
    hits_per_min: Floats
    pressure_pa: Floats
    least_incidence_deg: Floats
    largest_incidence_deg: Floats
    arms: NDArray[np.int64]
    push_n: float
    lift_n: float
    wrench: Floats
    zones: tuple[ZoneStrikes, ...]
    steady: SteadyHits

    @cached_property
    def struck_share(self) -> float:
        """Share of its surface that jets strike directly, what a flushing sleeve rinses left out of both parts."""
        rest = 1.0 - self.share(Wetting.RINSED)
        return sum(self.share(each) for each in DIRECTLY) / rest if rest > 0 else 0.0

    def share(self, wetting: Wetting) -> float:
        """Return the share of the piece's surface in one class.

        Parameters
        ----------
        wetting
            The class.

        Returns
        -------
        float
            Area of its patches over that of all patches.
        """
        areas = self.surface.areas_m2
        return float(areas[self.wetting == wetting].sum() / areas.sum())

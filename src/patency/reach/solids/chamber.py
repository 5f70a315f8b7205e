"""The chamber around a carrier: where its walls are, or how far they can be out."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import reach_of_chamber, taken_in_chamber

if TYPE_CHECKING:
    from patency.catalogue import Carrier, MachineKind
    from patency.reach.solids.mesh import Floats


class Chamber(NamedTuple):
    """The chamber around a carrier, in the carrier's axes.

    Parameters
    ----------
    size_m
        [3] width, depth and height [m].
    reach_m
        [2, 3] how far its walls can be out [m]; where they are, if its place is stated.
    sure_m
        [2, 3] room that is in it for certain [m]; the same if its place is stated.
    """

    size_m: Floats
    reach_m: Floats
    sure_m: Floats

    @property
    def stated(self) -> bool:
        """Whether its place is stated, or carrier and arms leave it no other."""
        return bool((self.sure_m == self.reach_m).all())


def chamber_around(kind: MachineKind, carrier: Carrier) -> Chamber:
    """Return the chamber around a carrier.

    Parameters
    ----------
    kind
        The kind of machine.
    carrier
        The carrier that docks in it.

    Returns
    -------
    Chamber
        Around the carrier and what the arms sweep where its place is not stated.
    """
    size = np.array([kind.chamber_width_m, kind.chamber_depth_m, kind.chamber_height_m])
    reach = np.array(reach_of_chamber(kind, carrier)).T
    return Chamber(size, reach, np.array(taken_in_chamber(kind, carrier)).T if kind.chamber_at is None else reach)

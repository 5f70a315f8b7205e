"""With which moment jets tip a piece over its support."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from patency.reach.jets.strikes import Strikes
    from patency.reach.solids.mesh import Floats
    from patency.reach.solids.placed import PieceKey


def tipping_moment_n_m(strikes: Strikes, piece: PieceKey, support_m: Floats, over: Floats) -> float:
    """Return the largest moment with which jets turn a piece about its support.

    Parameters
    ----------
    strikes
        What the jets strike.
    piece
        Set and piece.
    support_m
        [3] a point of the axis about which it would turn [m].
    over
        [3] unit vector along that axis, by the right hand.

    Returns
    -------
    float
        Sum over the arms, each at its own worst angle, and free jets [N m]: at every struck point ρ Q v cos²θ over the
        jet's cross-section along the inward normal, times its lever; 0 where jets only hold it down.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    """
    one = strikes.pieces[piece]
    force, moment = one.wrench[:, :, :3], one.wrench[:, :, 3:]
    summed = moment @ over - force @ np.cross(over, support_m)
    steady = (np.cross(over, one.surface.centres - support_m) * one.steady.force_n).sum(axis=(1, 2))
    return float(summed.max(axis=1, initial=0.0).sum() + np.maximum(steady, 0.0).sum())

"""What the jets can move of what lies free: push it along, lift it, or lift one end of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Placing
from patency.quantities import STANDARD_GRAVITY_M_S2
from patency.reach.faults import Fault, Rule
from patency.reach.jets.moments import tipping_moment_n_m

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.catalogue import LoadLimits
    from patency.load import Load
    from patency.reach.jets.strikes import Strikes
    from patency.reach.solids.mesh import Floats
    from patency.reach.solids.placed import PieceKey, PlacedSolid

_UP = np.array([0.0, 0.0, 1.0])


class _Side(NamedTuple):
    """One side of the rectangle on which a body lies.

    Parameters
    ----------
    at_m
        [3] a point of it [m].
    over
        [3] unit vector along it, about which the body turns by the right hand when its far end comes up.
    lever_m
        How far the weight acts from it [m].
    """

    at_m: Floats
    over: Floats
    lever_m: float


def moved_by_jets(load: Load, strikes: Strikes | None, limits: LoadLimits) -> list[Fault]:
    """Find the pieces of a load that the jets can move and nothing holds.

    Parameters
    ----------
    load
        The load.
    strikes
        What the jets strike; None where that is not known.
    limits
        The site's limits: ``push_share`` is the largest share of its weight with which jets may push a piece.

    Returns
    -------
    list[Fault]
        See ``movable``; none where nothing is known of the jets.
    """
    if strikes is None:
        return []
    held = {(one.set, one.piece): one.net or one.placing is not Placing.BASKET for one in load.pieces}
    return movable(strikes, held, limits.push_share.value if limits.push_share else 1.0)


def movable(strikes: Strikes, held: Mapping[PieceKey, bool], largest_share: float = 1.0) -> list[Fault]:
    """Find the pieces that the jets can move and nothing holds.

    Parameters
    ----------
    strikes
        What the jets strike of each piece. A piece whose mass is not known weighs nothing.
    held
        Whether a lid, a net, a holder, a clip or a port holds it.
    largest_share
        Largest share of its weight with which jets may push it, in whatever direction; at its weight they move it,
        however well it holds on to what it lies on.

    Returns
    -------
    list[Fault]
        Each piece that lies free and is pushed more, or of which the jets lift one end: their moment about a side of
        the rectangle on which it lies is as large as that of its weight.
    """
    found = []
    for key, one in strikes.pieces.items():
        if held[key] or one.push_n <= 0.0:
            continue
        solid = strikes.arranged.solids[strikes.arranged.number_of[key]]
        weight, push = (solid.mass_kg or 0.0) * STANDARD_GRAVITY_M_S2, strikes.arms.forces_times * one.push_n
        if push >= min(largest_share, 1.0) * weight:
            words = f"jets push it with {push:.2f} N, it weighs {weight:.2f} N and nothing holds it down"
            found.append(Fault(Rule.MOVED, key, words, push))
            continue
        for side in _sides(solid):
            moment = strikes.arms.forces_times * tipping_moment_n_m(strikes, key, side.at_m, side.over)
            if moment >= weight * side.lever_m:
                holds = f"its weight holds {weight * side.lever_m:.3f} N m and nothing holds it down"
                found.append(Fault(Rule.MOVED, key, f"jets lift one end of it with {moment:.3f} N m, {holds}", moment))
                break
    return found


def _sides(solid: PlacedSolid) -> Iterator[_Side]:
    """Yield the sides of the rectangle around a body as seen from above, along its longest level axis.

    How the mass is spread is not stated: as a solid body or as a shell, whichever lies nearer to the side.
    """
    mesh = solid.in_carrier
    level = solid.pose.turn.T * [1.0, 1.0, 0.0]  # its own axes, as seen from above
    longest = np.ptp(solid.mesh.bounds_m, axis=0) * np.linalg.norm(level, axis=1)
    along = level[longest.argmax()] / np.linalg.norm(level[longest.argmax()])
    across = np.array([-along[1], along[0], 0.0])
    middles = np.stack([mesh.middle_of_volume_m, mesh.middle_of_surface_m])
    for way in (along, -along, across, -across):
        end = float((mesh.vertices @ way).max())
        at = end * way + mesh.bounds_m[0, 2] * _UP
        yield _Side(at, np.array([-way[1], way[0], 0.0]), end - float((middles @ way).max()))

"""How far the pieces of a load stay from what the arms sweep and from each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.reach.sweeps import sweep_distances_m
from patency.reach.touching import nearest_bodies

if TYPE_CHECKING:
    from patency.catalogue import MachineKind
    from patency.reach.solids.placed import Arranged, PieceKey


class Clearance(NamedTuple):
    """How far a piece stays from what is nearest.

    Parameters
    ----------
    to_sweep_m
        Distance to what the nearest arm sweeps [m], below zero as deep as it reaches into it; None without arms.
    arm
        That arm; empty without arms.
    to_body_m
        Distance to the nearest body that does not belong to it [m]; None where there is no other.
    body
        What people call that body, and where it is; empty where there is none.
    """

    to_sweep_m: float | None
    arm: str
    to_body_m: float | None
    body: str


def clearances(arranged: Arranged, kind: MachineKind) -> dict[PieceKey, Clearance]:
    """Return how far every piece of a load stays from arms and from other bodies.

    Parameters
    ----------
    arranged
        The load as solids.
    kind
        The kind of machine.

    Returns
    -------
    dict[PieceKey, Clearance]
        Each piece that could be drawn.
    """
    nearest = nearest_bodies(arranged)
    found = {}
    for key, number in arranged.number_of.items():
        sweeps = sweep_distances_m(arranged.solids[number], kind)
        arm = min(sweeps, key=lambda name: sweeps[name], default="")
        apart, other = nearest.get(number, (None, None))
        solid = None if other is None else arranged.solids[other]
        body = "" if solid is None else solid.words_and_place
        found[key] = Clearance(sweeps.get(arm), arm, apart, body)
    return found

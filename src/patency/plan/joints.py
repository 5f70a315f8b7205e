"""Lumens that need a port, and what was settled about them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.plan.fits import standing_lumen

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from patency.load import PieceToPlace
    from patency.plan.fits import PortOption
    from patency.plan.port_groups import LumenKind
    from patency.plan.posing import Posed


@dataclass(frozen=True, slots=True)
class Joint:
    """One lumen of one piece that needs a port.

    Parameters
    ----------
    set, key
        Which piece.
    lumen
        The lumen.
    piece
        The piece itself.
    """

    set: str
    key: str
    lumen: str
    piece: PieceToPlace = field(compare=False)

    @property
    def kind(self) -> LumenKind:
        """Instrument type, piece type and lumen."""
        return (self.piece.instrument, self.piece.piece, self.lumen)

    @property
    def stands(self) -> bool:
        """Whether the piece stands at the port of this lumen."""
        return standing_lumen(self.piece.piece_type) == self.lumen


@dataclass(frozen=True, slots=True)
class Fed:
    """A port with a way to feed a lumen from it."""

    port: str
    option: PortOption


@dataclass(frozen=True, slots=True)
class Arranged:
    """A load with every lumen at its port.

    Parameters
    ----------
    joints
        Each lumen with its port.
    caps
        Unused port to the cap on it.
    open
        Unused ports that stay open.
    """

    joints: Mapping[Joint, Fed]
    caps: Mapping[str, str]
    open: tuple[str, ...]


def joints_of(posed: Posed, sets: Iterable[str]) -> list[Joint]:
    """List the lumens of some sets that need a port, set by set in the order in which they are ready.

    Parameters
    ----------
    posed
        The posed problem.
    sets
        The sets.

    Returns
    -------
    list[Joint]
        The lumens.
    """
    order = sorted(sets, key=lambda name: (posed.problem.sets[name].ready_min, name))
    return [
        Joint(name, piece.key, lumen, piece)
        for name in order
        for piece in posed.pieces[name]
        if piece.piece_type.placing is Placing.PORT
        for lumen in piece.lumens
    ]

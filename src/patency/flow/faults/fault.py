"""What can go wrong with a load, one thing at a time, and what each fault does to the load's network."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.flow.lumen_paths import LumenKey, LumenPath
    from patency.flow.network import Segment


class FaultKind(StrEnum):
    """What kind of thing has gone wrong, in the trade's words."""

    HOSE_OFF_PORT = "hose off at the port"
    HOSE_OFF_PIECE = "hose off at the piece"
    PIECE_OFF_PORT = "piece off its port"
    PIECE_OFF_NOZZLE = "piece off its nozzle"
    BLOCKED = "lumen blocked"
    HALF_BLOCKED = "lumen half blocked"
    CAP_MISSING = "cap missing"
    END_CAP_MISSING = "end cap of the sleeve missing"
    WRONG_NOZZLE = "wrong nozzle"
    ROD_LYING = "insert rod lying on the wall"
    STRAINER_CLOGGED = "strainer half clogged"
    ARM_STUCK = "arm stuck"
    ARM_LOST = "arm lost"
    SIEVE_CLOGGED = "machine's sieve half clogged"
    PUMP_AT_90 = "pump at 90 % of its speed"
    PUMP_AT_80 = "pump at 80 % of its speed"


AT_ITS_NOZZLE = "at its nozzle"
"""Detail of a lumen that is blocked where its water leaves the nozzle, not along its bore."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that has gone wrong.

    Parameters
    ----------
    kind
        What kind of thing.
    place
        Where: a port, an arm, ``machine``.
    lumen
        Set, piece and lumen that hang on it; None where none does.
    level
        Key of the carrier's level it is on; empty for the machine's own.
    detail
        What tells it from others of its kind at its place, such as the nozzle that stands there instead; else empty.
    """

    kind: FaultKind
    place: str
    lumen: LumenKey | None = None
    level: str = ""
    detail: str = ""

    @property
    def name(self) -> str:
        """Its name, told by no other fault of the load."""
        return ", ".join(part for part in (f"{self.kind}", self.place, self.detail) if part)


@dataclass(frozen=True, slots=True)
class NetworkChange:
    """What a fault does to a load's network.

    Parameters
    ----------
    closes, opens
        Outlets that no longer, or only now, stand open.
    segments
        Segments that have other sizes: link or outlet and how many of its segments stand before it.
    lying_rods
        Annuli whose rod lies against the wall, named in the same way.
    pump_speed
        Factor on the pump's speed [-].
    dry
        Lumens that get no water, whatever their port carries.
    moved
        Lumens that are fed another way, and where they are found then.
    """

    closes: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()
    segments: Mapping[tuple[str, int], Segment] = field(default_factory=dict)
    lying_rods: tuple[tuple[str, int], ...] = ()
    pump_speed: float = 1.0
    dry: tuple[LumenKey, ...] = ()
    moved: Mapping[LumenKey, LumenPath] = field(default_factory=dict)

    def __add__(self, other: NetworkChange) -> NetworkChange:
        """Let two faults be there at once; what both touch is as the second leaves it.

        Parameters
        ----------
        other
            What the second does.

        Returns
        -------
        NetworkChange
            What both do.
        """
        return NetworkChange(
            closes=(*self.closes, *other.closes),
            opens=(*(name for name in self.opens if name not in other.closes), *other.opens),
            segments={**self.segments, **other.segments},
            lying_rods=(*self.lying_rods, *other.lying_rods),
            pump_speed=self.pump_speed * other.pump_speed,
            dry=(*self.dry, *other.dry),
            moved={**self.moved, **other.moved},
        )


@dataclass(frozen=True, slots=True)
class FaultCase:
    """A fault and what it does to the network.

    Parameters
    ----------
    fault
        The fault.
    change
        What it does.
    """

    fault: Fault
    change: NetworkChange

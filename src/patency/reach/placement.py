"""How a piece stands at a port: its foot, its axis and the height of every corner of its drawn outline.

The port is the origin; the axis leaves it at the inclination of the port's stand. A piece washed with its distal end
up or lying stands on its proximal end, one washed with its distal end down on its distal end. Only the inclination of
the axis is relied on, not the direction planned for its lean, since a piece behind a hose can turn: sideways the worst
case counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import ChainLink, Hose, InjectorNozzle, PortKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from patency.catalogue import Body, Department, PieceType, Port
    from patency.load import Load, PlacedPiece


@dataclass(frozen=True, slots=True)
class Standing:
    """Where the axis of a piece runs.

    Parameters
    ----------
    port
        The port at which it stands: its stand gives the inclination of the axis and the distance of the support.
    foot_m
        Distance of the piece's lower end from the port, along the axis [m].
    """

    port: Port
    foot_m: float = 0.0

    @property
    def inclination_deg(self) -> float:
        """Angle of the axis above the horizontal [°]; 90 is upright."""
        return self.port.stand.inclination_deg

    @property
    def support_at_m(self) -> float:
        """Distance of the support from the port, along the axis [m]."""
        return self.port.stand.support_at_m

    @property
    def sine(self) -> float:
        """Rise per length of axis."""
        return math.sin(math.radians(self.inclination_deg))

    @property
    def cosine(self) -> float:
        """Horizontal distance per length of axis."""
        return math.cos(math.radians(self.inclination_deg))


@dataclass(frozen=True, slots=True)
class Stretch:
    """One drawn body of a standing piece.

    Parameters
    ----------
    body
        The body.
    begins_m
        Distance of its lower end from the port, along the axis [m].
    """

    body: Body
    begins_m: float

    @property
    def ends_m(self) -> float:
        """Distance of its upper end from the port, along the axis [m]."""
        return self.begins_m + self.body.length_m


def standing(port: Port, chain: Sequence[ChainLink] = (), nozzle_depth_m: float = 0.0) -> Standing:
    """Return how a piece stands at a port behind the links that carry it.

    Parameters
    ----------
    port
        The port at which the piece stands.
    chain
        What stands between this port and the piece, in order from the port.
    nozzle_depth_m
        How far an injector nozzle at the end of the chain stands inside the piece [m].

    Returns
    -------
    Standing
        The axis. A hose lets the piece stand at the port itself; rigid links lift it by their length, of which the
        depth of the nozzle inside the piece is taken off. A flushing sleeve counts with its whole length, which is
        the worst case for height: how much of it covers the piece is not subtracted.
    """
    flexible = port.kind is PortKind.HOSE or any(isinstance(link, Hose) for link in chain)
    foot = 0.0 if flexible else sum(link.length_m.nominal for link in chain)
    if not flexible and chain and isinstance(chain[-1], InjectorNozzle):
        foot -= nozzle_depth_m
    return Standing(port, foot)


def load_standing(department: Department, load: Load, placed: PlacedPiece) -> Standing:
    """Return how a piece of a load stands at its port, behind the chain of the connection made there.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    placed
        One of its pieces, placed at a port.

    Returns
    -------
    Standing
        Its axis; at the port itself where none of its lumens is fed from that port.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    port = department.carriers[load.carrier].ports[placed.position]
    for connection in placed.lumens:
        if connection.port == placed.position:
            named = [department.accessories[name] for name in connection.chain]
            chain = [link for link in named if isinstance(link, ChainLink)]
            return standing(port, chain, connection.nozzle_depth_m or 0.0)
    return standing(port)


def stretches(piece: PieceType, stands: Standing) -> Iterator[Stretch]:
    """Walk along a standing piece from its lower end.

    Parameters
    ----------
    piece
        The piece.
    stands
        Its axis.

    Yields
    ------
    Stretch
        Each drawn body in its place.
    """
    begins = stands.foot_m
    for body in reversed(piece.outline) if piece.way_up == "distal down" else piece.outline:
        yield Stretch(body, begins)
        begins += body.length_m


def heights_m(piece: PieceType, stands: Standing) -> tuple[float, float]:
    """Return how low and how high a standing piece reaches.

    Parameters
    ----------
    piece
        The piece.
    stands
        Its axis.

    Returns
    -------
    tuple[float, float]
        Lowest and highest corner of the outline above the port [m]: ends of each body at its distance along the axis,
        half its width to either side.
    """
    lows, highs = [], []
    for stretch in stretches(piece, stands):
        aside = stretch.body.width_m / 2 * stands.cosine
        ends = (stretch.begins_m * stands.sine, stretch.ends_m * stands.sine)
        lows.append(min(ends) - aside)
        highs.append(max(ends) + aside)
    return min(lows), max(highs)


def inlet_gap_m(port: Port, piece: PieceType, stands: Standing) -> tuple[float, float]:
    """Return how far the inlet of a lumen can be from the port that feeds it.

    Parameters
    ----------
    port
        The port that feeds the lumen.
    piece
        The piece. Its inlets count as being at its proximal end, where flush ports are; the catalogue does not place
        them more exactly.
    stands
        Its axis, often at the same port.

    Returns
    -------
    tuple[float, float]
        Least and largest distance [m] over all directions in which the piece can lean.
    """
    along = stands.foot_m + (piece.length_m if piece.way_up == "distal down" else 0.0)
    stand = stands.port
    apart = math.hypot(stand.at.x_m - port.at.x_m, stand.at.y_m - port.at.y_m)
    lean = abs(along * stands.cosine)
    rise = stand.at.z_m - port.at.z_m + along * stands.sine
    return math.hypot(apart - lean, rise), math.hypot(apart + lean, rise)

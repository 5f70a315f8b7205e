"""What connects a piece to its ports, as solids: nozzles, flushing sleeves, adapters, strainers, and hoses as tubes."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.catalogue import Adapter, FlushingSleeve, Hose, InjectorNozzle, PortHose, Strainer
from patency.reach.solids.bodies import turned, wire
from patency.reach.solids.mesh import Zone
from patency.reach.solids.placed import Cover, PlacedSolid, Pose, Role

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import ChainLink, PieceType, Port
    from patency.reach.solids.mesh import Floats
    from patency.reach.solids.placed import PieceKey

_HOSE_STEP_M = 0.012  # along a hose; its circle of 48 mm or so strays less than half a millimetre from such a chord
_Rigid = InjectorNozzle | FlushingSleeve | Adapter | Strainer


class Feed(NamedTuple):
    """One lumen of a standing piece and what feeds it.

    Parameters
    ----------
    key
        Set and piece.
    piece
        The piece.
    port, port_key
        The port that feeds the lumen.
    links
        What stands between that port and the piece, in order from the port; the port's own hose left out.
    foot
        The piece's foot: its axes with the port where it stands as origin.
    pose
        Its lower end in the same axes.
    stands_on
        The port where it stands.
    distal_down
        Whether it stands on its distal end.
    toward
        [3] level unit vector to the side to which slack of a hose lies.
    """

    key: PieceKey
    piece: PieceType
    port: Port
    port_key: str
    links: tuple[ChainLink, ...]
    foot: Pose
    pose: Pose
    stands_on: str
    distal_down: bool
    toward: Floats


def connection_solids(feed: Feed, cell_m: float) -> tuple[list[PlacedSolid], list[str]]:
    """Draw what feeds a lumen of a standing piece.

    Parameters
    ----------
    feed
        The lumen and its chain.
    cell_m
        Largest size of a surface patch [m].

    Returns
    -------
    tuple[list[PlacedSolid], list[str]]
        The bodies, and what is not stated and had to be known to draw all of them. Without a hose the links stand one
        on the other on the port, along the piece's axis. With one they hang at the inlet, which counts as being at
        the piece's proximal end, and the hose leads from the port to them, see ``hose_path``. A flushing sleeve is
        around the lower end of the piece.
    """
    soft = [one for one in (feed.port.hose, *feed.links) if isinstance(one, PortHose | Hose)]
    if not soft and feed.port_key != feed.stands_on:
        return [], []
    drawn, gaps = [], []
    at = feed.piece.length_m if soft and feed.distal_down else 0.0
    outward = -1.0 if soft and not feed.distal_down else 1.0
    for link in reversed(feed.links) if soft else feed.links:
        if isinstance(link, Hose):
            continue
        if link.outer_m is None:
            gaps.append(f"the outer diameter of {link.name} is not stated")
            continue
        if isinstance(link, FlushingSleeve):
            low, high = _sleeve_ends_m(feed.piece, link)
            drawn.append(_tube(feed, link, feed.pose, (low, high), cell_m))
            at, outward = low, -1.0
        elif isinstance(link, InjectorNozzle):
            low = 0.0 if soft else at
            drawn.append(_tube(feed, link, feed.foot, (low, low + link.length_m.nominal), cell_m))
        else:
            ends = sorted((at, at + outward * link.length_m.nominal))
            drawn.append(_tube(feed, link, feed.pose if soft else feed.foot, (ends[0], ends[1]), cell_m))
            at += outward * link.length_m.nominal
    if soft:
        drawn.append(_hose(feed, soft, feed.pose.shift_m + at * feed.pose.turn[:, 2], cell_m))
    return drawn, gaps


def _sleeve_ends_m(piece: PieceType, sleeve: FlushingSleeve) -> tuple[float, float]:
    grips = [lumen.grip_m for lumen in piece.lumens.values() if lumen.grip_m is not None]
    high = min(max(grips, default=sleeve.least_overlap_m), sleeve.length_m.nominal)
    return high - sleeve.length_m.nominal, high


def _tube(feed: Feed, link: _Rigid, pose: Pose, ends_m: tuple[float, float], cell_m: float) -> PlacedSolid:
    """Draw a rigid link as a cylinder, a flushing sleeve as a ring around what it covers."""
    low, high = ends_m
    outer = (link.outer_m or 0.0) / 2
    inner = link.inner_m.nominal / 2 if isinstance(link, FlushingSleeve) else 0.0
    ring = [(inner, low), (outer, low), (outer, high), (inner, high), (inner, low)]
    zones = [Zone(link.name, sided=True)] * 4
    mesh = turned(ring if inner else ring[:4], zones, cell_m)
    cover = None
    if isinstance(link, FlushingSleeve):
        cover = Cover.CLOSED if link.end_cap else Cover.OPEN
    return PlacedSolid(Role.CONNECTION, link.name, mesh, pose, feed.key, feed.stands_on, cover)


def _hose(feed: Feed, hoses: Sequence[PortHose | Hose], ends_m: Floats, cell_m: float) -> PlacedSolid:
    place = feed.port.at
    length = sum(one.length_m.nominal for one in hoses)
    path = hose_path(np.array([place.x_m, place.y_m, place.z_m]), ends_m, length, feed.toward)
    radii = np.full(len(path), max(one.outer_m for one in hoses) / 2)
    mesh = wire(path, radii, [Zone("hose", sided=True)] * (len(path) - 1), cell_m, close=False)
    return PlacedSolid(Role.HOSE, "hose", mesh, Pose(np.eye(3), np.zeros(3)), feed.key, feed.port_key)


def hose_path(begins_m: Floats, ends_m: Floats, length_m: float, toward: Floats) -> Floats:
    """Return the way of a hose: straight from end to end with one level loop to a side, together as long as the hose.

    How a slack hose lies is not known: its ends have no stated direction, it is bent, and it is moved by the water.
    A loop that lies level under the piece keeps as many jets from below off the piece as a hose of that length can in
    one place, and it stays out of what arms sweep, as loaders lay it.

    Parameters
    ----------
    begins_m
        [3] the port [m].
    ends_m
        [3] what the hose is put on [m].
    length_m
        Its length [m].
    toward
        [3] level unit vector to the side of the loop.

    Returns
    -------
    numpy.ndarray
        [point, 3] places of its middle line [m]; straight where the hose is no longer than the way.

    Examples
    --------
    A hose of 300 mm between ends in one place is a circle of that circumference.

    >>> path = hose_path(np.zeros(3), np.zeros(3), 0.3, np.array([0.0, 1.0, 0.0]))
    >>> bool(np.allclose(np.ptp(path, axis=0), [0.3 / np.pi, 0.3 / np.pi, 0.0], atol=0.001))
    True
    """
    count = max(2, int(np.ceil(length_m / _HOSE_STEP_M)))
    share = np.linspace(0.0, 1.0, count + 1)[:, None]
    straight = begins_m + share * (ends_m - begins_m)
    aside = np.cross(toward, [0.0, 0.0, 1.0])
    loop = np.sin(2 * np.pi * share) * aside + (1 - np.cos(2 * np.pi * share)) * toward
    # A loop of this radius is as long as the hose and the way together, so the hose is no longer.
    least, most = 0.0, (length_m + float(np.linalg.norm(ends_m - begins_m))) / (2 * count * np.sin(np.pi / count))
    for _ in range(40):
        radius = (least + most) / 2
        along = np.linalg.norm(np.diff(straight + radius * loop, axis=0), axis=1).sum()
        least, most = (radius, most) if along < length_m else (least, radius)
    path: Floats = straight + least * loop
    return path

"""Where in the network of a load a lumen is found, and how a nozzle's jet feeds it."""

from __future__ import annotations

from dataclasses import dataclass

LumenKey = tuple[str, str, str]
"""Set, piece, lumen."""


@dataclass(frozen=True, slots=True)
class Jet:
    """How a nozzle that stands in the open end of a bore feeds it.

    Parameters
    ----------
    share_inside
        Share of the nozzle's openings that lies inside the bore: the tip, and side holes where they are deep enough
        [-].
    share_tip
        Share of the nozzle's openings that is the tip [-].
    climb_m
        Height the jet has to rise from the tip to the far end of the bore [m]; 0 where the bore does not rise.
    """

    share_inside: float
    share_tip: float
    climb_m: float


@dataclass(frozen=True, slots=True)
class LumenPath:
    """Where in the network a lumen is.

    Parameters
    ----------
    port
        The port that feeds it.
    begins
        Link or outlet that begins at the port.
    entry
        Link or outlet that brings its water, and how many of that one's segments stand before the lumen (before the
        nozzle, where a nozzle feeds it).
    own
        Link or outlet and segment of each of its own stretches, in the direction of flow; none where a nozzle feeds it.
    outlets
        Every outlet that its port feeds.
    volume_m3
        Volume of the lumen [m³].
    inlet_elevation_m
        Height of its inlet end; of the nozzle's foot, where a nozzle feeds it [m].
    jet
        The nozzle's jet; None for a lumen that is connected.
    side_holes
        Outlet of the holes at each place along it, and the link or outlet in which the lumen goes on behind them.
    outside
        Outlet of the gap outside the tube, where an open sleeve feeds it; else empty.
    """

    port: str
    begins: str
    entry: tuple[str, int]
    own: tuple[tuple[str, int], ...]
    outlets: tuple[str, ...]
    volume_m3: float
    inlet_elevation_m: float
    jet: Jet | None = None
    side_holes: tuple[tuple[str, str], ...] = ()
    outside: str = ""

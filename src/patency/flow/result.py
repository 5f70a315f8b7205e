"""What a solve tells: flows, heads, what happens in each segment, and how well the balances close."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class SegmentFlow:
    """The water in one segment.

    Parameters
    ----------
    velocity_m_s
        Mean velocity [m/s], negative where a link runs against its direction.
    reynolds
        Reynolds number with the hydraulic diameter [-].
    friction_factor
        Darcy friction factor [-]; None where nothing flows and for an orifice.
    wall_shear_pa
        Wall shear stress f rho v²/8 [Pa], which is friction's pressure drop times D_h/(4 L): for a bore
        that at its wall, for an annulus the mean over both walls; None for an orifice.
    pressure_drop_pa
        Total pressure lost to friction and to the segment's own single losses [Pa], with the velocity's sign;
        the loss where an outlet leaves into the open is not in it.
    """

    velocity_m_s: float
    reynolds: float
    friction_factor: float | None
    wall_shear_pa: float | None
    pressure_drop_pa: float


@dataclass(frozen=True, slots=True)
class FlowResult:
    """How the water runs through a network.

    Parameters
    ----------
    flows_m3_s
        Flow of each link, positive from its start to its end, and of each outlet [m³/s].
    heads_m
        Total head of each node above the sump's level [m].
    segments
        Segments of each link and outlet, in the order of the network.
    dry_outlets
        Open outlets that give nothing because the head at their node is not above them.
    mass_balance_error_m3_s
        Largest difference between inflow and outflow at a node [m³/s].
    energy_error_m
        Largest difference between the heads at the ends of a path and what the path loses [m].
    iterations
        Newton steps taken.
    """

    flows_m3_s: Mapping[str, float]
    heads_m: Mapping[str, float]
    segments: Mapping[str, tuple[SegmentFlow, ...]]
    dry_outlets: tuple[str, ...]
    mass_balance_error_m3_s: float
    energy_error_m: float
    iterations: int

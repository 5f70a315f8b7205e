"""Segments as debris leaves them: half filled, half clogged."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from patency.flow.kept_open import MOST_ROUGHNESS
from patency.flow.network import Annulus, Orifice

if TYPE_CHECKING:
    from patency.flow.network import Link, Network, Outlet, Segment
    from patency.quantities import Toleranced

# Half of its free area closed: the water passes the rest twice as fast, and the loss grows with the velocity's square.
_HALF_CLOGGED = 4.0


def segment_at(network: Network, place: tuple[str, int]) -> Segment:
    """Find a segment of a network.

    Parameters
    ----------
    network
        The network.
    place
        Link or outlet, and how many of its segments stand before.

    Returns
    -------
    Segment
        The segment.
    """
    name, before = place
    paths: tuple[Link | Outlet, ...] = (*network.links, *network.outlets)
    return next(path for path in paths if path.id == name).segments[before]


def halved(segment: Segment) -> Segment:
    """Fill half of the cross-section of a segment along its whole length.

    Parameters
    ----------
    segment
        The segment.

    Returns
    -------
    Segment
        The same with half the area; an annulus narrows from its tube.
    """
    if isinstance(segment, Annulus):
        wide, rod = segment.outer_diameter_m, segment.inner_diameter_m
        narrow = math.sqrt((wide**2 + rod**2) / 2.0)
        roughness = min(segment.roughness_m, MOST_ROUGHNESS * (narrow - rod))
        return replace(segment, outer_diameter_m=narrow, roughness_m=roughness)
    diameter_m = segment.diameter_m / math.sqrt(2.0)
    if isinstance(segment, Orifice):
        return replace(segment, diameter_m=diameter_m)
    return replace(segment, diameter_m=diameter_m, roughness_m=min(segment.roughness_m, MOST_ROUGHNESS * diameter_m))


def with_loss_added(segment: Segment, stated: Toleranced) -> Segment:
    """Clog half of the free area of a sieve or strainer.

    Parameters
    ----------
    segment
        The segment it is in, with the losses of the steps around it.
    stated
        The loss of the sieve alone when it is free of debris, in velocity heads of the segment [-].

    Returns
    -------
    Segment
        The same with four times the sieve's loss.
    """
    assert not isinstance(segment, Orifice)  # noqa: S101 - sieves and strainers are drawn as bores and annuli
    return replace(segment, minor_loss=segment.minor_loss + (_HALF_CLOGGED - 1.0) * stated.nominal)

"""What the jets do to each zone of a piece, in figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.jets.struck import DIRECTLY

if TYPE_CHECKING:
    from patency.reach.jets.strikes import Strikes
    from patency.reach.solids.placed import PieceKey


class ZoneFigures(NamedTuple):
    """What the jets do to one zone of a piece.

    Parameters
    ----------
    zone
        The zone in the piece's own words.
    area_m2
        Its area [m²].
    struck_share
        Share of its area that jets strike directly.
    hits_per_min
        Direct hits of jets of arms a minute, mean over its area [1/min].
    pressure_pa
        Strongest impact pressure anywhere on it [Pa]; 0 where no jet strikes it.
    least_incidence_deg, largest_incidence_deg
        Range of the angle between the jets that strike it and its normal [°]; None where no jet strikes it.
    arms
        Names of the arms that strike some of it.
    """

    zone: str
    area_m2: float
    struck_share: float
    hits_per_min: float
    pressure_pa: float
    least_incidence_deg: float | None
    largest_incidence_deg: float | None
    arms: tuple[str, ...]


def figures_of_zones(strikes: Strikes, piece: PieceKey) -> list[ZoneFigures]:
    """Sum up patch by patch what the jets do to each zone of a piece.

    Parameters
    ----------
    strikes
        What the jets strike.
    piece
        Set and piece.

    Returns
    -------
    list[ZoneFigures]
        In the order of its zones; openings of lumens have none.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    """
    one, solid = strikes.pieces[piece], strikes.arranged.solids[strikes.arranged.number_of[piece]]
    zone_of, areas = solid.zone_of_patch[one.surface.patch_of], one.surface.areas_m2
    direct = np.isin(one.wetting, DIRECTLY)
    found = []
    for zone in np.unique(zone_of):
        within = zone_of == zone
        area, struck = float(areas[within].sum()), within & direct
        bits = int(np.bitwise_or.reduce(one.arms[within]))
        angles: tuple[float | None, float | None] = (None, None)
        if struck.any():
            angles = (float(one.least_incidence_deg[struck].min()), float(one.largest_incidence_deg[struck].max()))
        found.append(
            ZoneFigures(
                solid.zone_names[zone],
                area,
                float(areas[struck].sum() / area),
                float(np.dot(areas[within], one.hits_per_min[within]) / area),
                float(one.pressure_pa[within].max()),
                *angles,
                tuple(arm.name for number, arm in enumerate(strikes.arms.arms) if bits >> number & 1),
            )
        )
    return found

"""Stretches of passage as the catalogue describes them, with their doubts.

A *stretch* is a segment before the steps to its neighbours are known: its minor loss is what the catalogue states.
The *doubt* of a number is the half width of its tolerance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import AnnulusSegment
from patency.flow.network import Annulus, Bore, Orifice
from patency.quantities import Toleranced

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import BoreSegment
    from patency.flow.network import Segment
    from patency.flow.site_defaults import SiteDefaults

NO_LOSS = Toleranced(0.0, 0.0)
"""Loss of what has none beyond friction and the steps to its neighbours: a hose, a plain pipe."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One segment with its doubts.

    Parameters
    ----------
    segment
        The segment with its nominal sizes.
    diameter_doubt_m
        Half width of the tolerance of the bore, of an annulus' tube, of an orifice [m].
    rod_doubt_m
        The same of an annulus' rod [m]; 0 for the others.
    loss_doubt
        The same of the minor loss [-]; of an orifice that of 1/C², its loss over the velocity head at the opening.
    starts_flat
        Whether the flow enters it over a step and starts out with a flat profile.
    part
        The piece of pipe it was cut from, where several stretches share one and its tolerance; empty for none.
    fitted_as
        Names under which commissioning by measurement may have found its resistance; empty for none.
    """

    segment: Segment
    diameter_doubt_m: float
    rod_doubt_m: float
    loss_doubt: float
    starts_flat: bool = False
    part: str = ""
    fitted_as: tuple[str, ...] = ()


def bore_stretch(
    bore: Toleranced,
    length_m: float,
    defaults: SiteDefaults,
    roughness: Toleranced | None = None,
    loss: Toleranced | None = NO_LOSS,
) -> Stretch:
    """Describe a round passage.

    Parameters
    ----------
    bore
        Inner diameter [m].
    length_m
        Length [m].
    defaults
        What holds where nothing is stated.
    roughness
        Stated roughness of the wall [m].
    loss
        Stated loss beyond the steps to its neighbours, over its velocity head [-]; None where nobody states it.

    Returns
    -------
    Stretch
        The passage.
    """
    minor_loss, loss_doubt = defaults.loss(loss)
    segment = Bore(
        diameter_m=bore.nominal,
        length_m=length_m,
        roughness_m=defaults.roughness_m(roughness),
        minor_loss=minor_loss,
    )
    return Stretch(segment, defaults.bore_doubt_m(bore), 0.0, loss_doubt)


def described_stretch(described: BoreSegment | AnnulusSegment, defaults: SiteDefaults) -> Stretch:
    """Describe a segment of the catalogue: a stretch of bore or of annulus.

    Parameters
    ----------
    described
        The catalogue's segment.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    Stretch
        The passage.
    """
    loss, roughness, length_m = described.loss, described.roughness_m, described.length_m.nominal
    if not isinstance(described, AnnulusSegment):
        return bore_stretch(described.bore_m, length_m, defaults, roughness, loss)
    minor_loss, loss_doubt = defaults.loss(loss)
    segment = Annulus(
        outer_diameter_m=described.outer_m.nominal,
        inner_diameter_m=described.inner_m.nominal,
        length_m=length_m,
        roughness_m=defaults.roughness_m(roughness),
        minor_loss=minor_loss,
    )
    bore_doubt_m, rod_doubt_m = defaults.bore_doubt_m(described.outer_m), defaults.rod_doubt_m(described.inner_m)
    return Stretch(segment, bore_doubt_m, rod_doubt_m, loss_doubt)


def orifice_stretch(
    openings: Sequence[tuple[int, Toleranced]], discharge_coefficient: float, defaults: SiteDefaults
) -> Stretch:
    """Describe openings side by side as the one opening of the same area.

    Parameters
    ----------
    openings
        How many of which diameter [m]; at least one.
    discharge_coefficient
        Flow of each over that of an ideal jet [-]. What it leaves to the ideal jet is a local loss, 1/C² - 1, and is
        doubted as one; the velocity head of the jet itself is not in doubt.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    Stretch
        The opening.
    """
    square = sum(count * opening.nominal**2 for count, opening in openings)
    # All holes of one drill err together: the area's doubt is the sum of theirs.
    doubt = sum(count * opening.nominal * defaults.bore_doubt_m(opening) for count, opening in openings)
    diameter_m = math.sqrt(square)
    segment = Orifice(diameter_m=diameter_m, discharge_coefficient=discharge_coefficient)
    loss_doubt = defaults.loss_doubt(max(1.0 / discharge_coefficient**2 - 1.0, 0.0))
    return Stretch(segment, doubt / diameter_m, 0.0, loss_doubt)


def area_m2(segment: Segment) -> float:
    """Cross-section of a segment.

    Parameters
    ----------
    segment
        The segment.

    Returns
    -------
    float
        Area of its passage [m²].
    """
    if isinstance(segment, Annulus):
        return math.pi / 4.0 * (segment.outer_diameter_m**2 - segment.inner_diameter_m**2)
    return math.pi / 4.0 * segment.diameter_m**2

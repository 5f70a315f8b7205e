"""What commissioning by measurement found, put in the place of what the catalogue describes.

A fit multiplies the *resistance* of a part: its local losses, its friction (as length) and, of an opening, 1/C². The
velocity head with which water leaves a bore into the open is no resistance and stays. What a fit says of a resistance
takes the place of the local losses' tolerance; the tolerances of bores, roughness and rods stay, so that intervals are
rather too wide than too narrow.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from patency.flow.network import Orifice, PumpPoints

if TYPE_CHECKING:
    from patency.catalogue import CommissionedFit
    from patency.flow.stretches import Stretch

PUMP_HEAD = "pump head"
PUMP_FLOW = "pump flow"


def fitted_stretch(stretch: Stretch, fit: CommissionedFit | None) -> Stretch:
    """Give a stretch the resistance that was fitted to it.

    Parameters
    ----------
    stretch
        The stretch with all its losses.
    fit
        The fit in force; None where nothing was commissioned.

    Returns
    -------
    Stretch
        The stretch with its losses, length and coefficient changed; the same where nothing was fitted to it.
    """
    found = [fit.factors[name] for name in stretch.fitted_as if name in fit.factors] if fit is not None else []
    if not found:
        return stretch
    factor = math.prod(one.factor for one in found)
    share = math.sqrt(sum((math.log(one.high / one.low) / 2.0) ** 2 for one in found))
    segment = stretch.segment
    if isinstance(segment, Orifice):
        coefficient = segment.discharge_coefficient / math.sqrt(factor)
        opening = replace(segment, discharge_coefficient=coefficient)
        return replace(stretch, segment=opening, loss_doubt=_doubt(share / coefficient**2, stretch.loss_doubt * factor))
    loss = segment.minor_loss * factor
    changed = replace(segment, minor_loss=loss, length_m=segment.length_m * factor)
    return replace(stretch, segment=changed, loss_doubt=_doubt(share * loss, stretch.loss_doubt * factor))


def _doubt(fitted: float, described: float) -> float:
    """A fit that taught little about a part does not make it more doubtful than it was described."""
    return min(fitted, described) if described > 0.0 else fitted


def fitted_pump_doubt(described: float, fit: CommissionedFit | None) -> float:
    """Give the pump's head the doubt that is left after a fit.

    Parameters
    ----------
    described
        Half width of the tolerance as a share [-]; 0 where the site states none.
    fit
        The fit in force; None where nothing was commissioned.

    Returns
    -------
    float
        Half width as a share [-].
    """
    return described if fit is None else _doubt(fit.pump_head_share, described)


def fitted_pump(pump: PumpPoints, fit: CommissionedFit | None) -> PumpPoints:
    """Give a pump the curve that was fitted to it.

    Parameters
    ----------
    pump
        The pump as described.
    fit
        The fit in force; None where nothing was commissioned.

    Returns
    -------
    PumpPoints
        Heads times one factor, flows times another.
    """
    if fit is None:
        return pump
    head, flow = (fit.factors[name].factor if name in fit.factors else 1.0 for name in (PUMP_HEAD, PUMP_FLOW))
    points = tuple((at * flow, height * head) for at, height in pump.points)
    return PumpPoints(points=points, relative_speed=pump.relative_speed, sump_level_m=pump.sump_level_m)

"""Which limits a lumen's flow is held against: its own, else a validated reference load's, else the site's defaults."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from patency.catalogue import Department, Lumen, ReferenceLoad, ReferenceLumen
    from patency.load import Load, PieceToPlace
    from patency.quantities import Limit


class Measure(StrEnum):
    """What can be held against a limit, in the trade's words."""

    FLOW = "flow"
    VELOCITY = "velocity"
    SHEAR = "wall shear stress"
    PRESSURE = "pressure at the connection"
    EXCHANGES = "exchanges per minute"
    HIGHEST_PRESSURE = "highest pressure at the connection"


class Basis(StrEnum):
    """Whose limits they are."""

    STATED = "its own stated need"
    REFERENCE = "the validated reference load"
    SITE = "the site's default, no source for this lumen"


@dataclass(frozen=True, slots=True)
class Demand:
    """What a lumen's water has to reach.

    Parameters
    ----------
    basis
        Whose limits they are; None where there are none.
    least
        Least values; the lower end of the interval has to reach them.
    most
        Highest values; the upper end of the interval must not pass them.
    """

    basis: Basis | None
    least: dict[Measure, Limit]
    most: dict[Measure, Limit]


def demand_on(department: Department, load: Load, piece: PieceToPlace, lumen: str, day: date) -> Demand:
    """Find the limits that decide about a lumen.

    Parameters
    ----------
    department
        The department.
    load
        The load: its carrier and programme say which reference loads cover it.
    piece
        The piece.
    lumen
        Key of the lumen in it.
    day
        Day of the decision. A reference load out of date covers nothing; a limit out of date stays and leaves the
        answer open.

    Returns
    -------
    Demand
        The limits of the first that says anything: the lumen's stated needs, the newest reference load in date for this
        carrier and programme, the site's defaults. A stated highest pressure always holds.
    """
    described = piece.lumens[lumen]
    need = described.need
    most = _given({Measure.HIGHEST_PRESSURE: need.maximum_pressure})
    stated = _given(
        {
            Measure.PRESSURE: need.minimum_pressure,
            Measure.FLOW: need.minimum_flow,
            Measure.VELOCITY: need.minimum_velocity,
            Measure.SHEAR: need.minimum_shear,
        }
    )
    if stated:
        return Demand(Basis.STATED, stated, most)
    covering = _reference(department, load, piece, lumen, day)
    if covering is not None:
        shown = _given({Measure.FLOW: covering.flow, Measure.SHEAR: covering.shear})
        if shown:
            return Demand(Basis.REFERENCE, shown, most)
    site = _site_defaults(department, described)
    return Demand(Basis.SITE if site else None, site, most)


def _given(limits: dict[Measure, Limit | None]) -> dict[Measure, Limit]:
    return {measure: limit for measure, limit in limits.items() if limit is not None}


def _reference(department: Department, load: Load, piece: PieceToPlace, lumen: str, day: date) -> ReferenceLumen | None:
    """Find what the newest reference load in date for this carrier and programme says of the lumen."""
    key = (piece.instrument, piece.piece, lumen)
    found: list[tuple[ReferenceLoad, ReferenceLumen]] = [
        (reference, shown)
        for reference in department.reference_loads.values()
        if reference.carrier == load.carrier
        and reference.programme == load.programme
        and reference.valid_from <= day
        and (reference.valid_until is None or day <= reference.valid_until)
        for shown in reference.lumens
        if (shown.instrument, shown.piece, shown.lumen) == key
    ]
    return max(found, key=lambda pair: pair[0].valid_from)[1] if found else None


def _site_defaults(department: Department, lumen: Lumen) -> dict[Measure, Limit]:
    """Take the site's defaults; those for velocity and shear mean a lumen that is connected, so that water fills it."""
    limits = department.limits.flow
    filled = lumen.fed_by == "connection"
    return _given(
        {
            Measure.SHEAR: limits.least_shear if filled else None,
            Measure.VELOCITY: limits.least_velocity if filled else None,
            Measure.FLOW: limits.least_flow,
            Measure.EXCHANGES: limits.least_exchanges,
        }
    )

"""Which limits a lumen's flow is held against: its own, else a validated reference load's, else the site's defaults."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
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


NOT_KNOWN_OVER_A_NOZZLE = frozenset({Measure.VELOCITY, Measure.SHEAR})
"""What nobody can compute in a bore over a nozzle, where a jet runs and air may stay."""


class Basis(StrEnum):
    """Whose limits they are."""

    STATED = "its own stated need"
    REFERENCE = "the validated reference load"
    SITE = "the site's default, no source for this lumen"


@dataclass(frozen=True, slots=True)
class Criterion:
    """One number a lumen's water is held against.

    Parameters
    ----------
    measure
        What is held against it; the lower end of its interval has to reach the limit, of the highest pressure the upper
        end must not pass it.
    limit
        The limit.
    basis
        Whose limit it is.
    """

    measure: Measure
    limit: Limit
    basis: Basis


def criteria_for(department: Department, load: Load, piece: PieceToPlace, lumen: str, day: date) -> list[Criterion]:
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
        Day of the decision. A limit out of date stays and leaves the answer open; so does all that a reference load
        out of date showed.

    Returns
    -------
    list[Criterion]
        The least values of the first that states any: the lumen's needs, the newest reference load for this
        carrier and programme, the site's defaults; and a stated highest pressure in any case.
    """
    described = piece.lumens[lumen]
    need = described.need
    highest_pressure = None if need.maximum_pressure == "none" else need.maximum_pressure
    highest = _given(Basis.STATED, {Measure.HIGHEST_PRESSURE: highest_pressure})
    stated = {
        Measure.PRESSURE: need.minimum_pressure,
        Measure.FLOW: need.minimum_flow,
        Measure.VELOCITY: need.minimum_velocity,
        Measure.SHEAR: need.minimum_shear,
    }
    return (
        _given(Basis.STATED, stated)
        or _given(Basis.REFERENCE, _reference(department, load, piece, lumen, day))
        or _given(Basis.SITE, _site_defaults(department, described))
    ) + highest


def _given(basis: Basis, limits: dict[Measure, Limit | None]) -> list[Criterion]:
    return [Criterion(measure, limit, basis) for measure, limit in limits.items() if limit is not None]


def _reference(
    department: Department, load: Load, piece: PieceToPlace, lumen: str, day: date
) -> dict[Measure, Limit | None]:
    """Find what the newest reference load for this carrier and programme showed of the lumen.

    One out of date still stands before older ones and before the site's defaults: its limits no longer hold, so the
    answer becomes unknown. If it were passed over, a validation that lapses could turn a no into a yes.
    """
    key = (piece.instrument, piece.piece, lumen)
    found: list[tuple[ReferenceLoad, ReferenceLumen]] = [
        (reference, shown)
        for reference in department.reference_loads.values()
        if reference.carrier == load.carrier and reference.programme == load.programme and reference.valid_from <= day
        for shown in reference.lumens
        if (shown.instrument, shown.piece, shown.lumen) == key
    ]
    if not found:
        return {}
    newest, shown = max(found, key=lambda pair: (pair[0].valid_from, _end(pair[0].valid_until)))
    showed = {Measure.FLOW: shown.flow, Measure.SHEAR: shown.shear}
    return {measure: limit and _until(limit, newest.valid_until) for measure, limit in showed.items()}


def _until(limit: Limit, last: date | None) -> Limit:
    """Let a limit hold no longer than what it was shown in."""
    end = min(_end(limit.valid_until), _end(last))
    return limit if end == date.max else replace(limit, valid_until=end)


def _end(last: date | None) -> date:
    return date.max if last is None else last


def _site_defaults(department: Department, lumen: Lumen) -> dict[Measure, Limit | None]:
    """Take the site's defaults; those for velocity and shear mean a lumen that is connected, so that water fills it."""
    limits = department.limits.flow
    filled = lumen.fed_by == "connection"
    return {
        Measure.SHEAR: limits.least_shear if filled else None,
        Measure.VELOCITY: limits.least_velocity if filled else None,
        Measure.FLOW: limits.least_flow,
        Measure.EXCHANGES: limits.least_exchanges,
    }

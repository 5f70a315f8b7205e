"""Holds one planned lumen against one lumen of a validated reference load."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.catalogue import FedBy
from patency.flow.envelope.hardness import harder_points, hardness_of
from patency.flow.envelope.standing import Difference, PointCompared, Standing, standing_of
from patency.flow.lumen_geometry import lumen_volume_m3

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.catalogue import Department, Lumen, ReferenceLumen
    from patency.flow.load_flow import LumenFlow
    from patency.load import PieceToPlace
    from patency.quantities import Limit

LumenType = tuple[str, str, str]
"""Instrument type, piece type, lumen."""


class Relation(StrEnum):
    """What the validated lumen is to the planned one, the closest first."""

    SAME = "the same lumen"
    FAMILY = "a lumen of the same family"
    OTHER = "a lumen of another family"


@dataclass(frozen=True, slots=True)
class PlannedLumen:
    """A lumen as planned, with its water.

    Parameters
    ----------
    piece
        The piece.
    lumen
        Key of the lumen in it.
    flow
        Its water in the stage that is worst for it; None where it is not connected.
    gap
        What the description of it and its chain lacks, in words; empty where it lacks nothing.
    """

    piece: PieceToPlace
    lumen: str
    flow: LumenFlow | None
    gap: str

    @property
    def type(self) -> LumenType:
        """Which lumen of which piece of which instrument type."""
        return self.piece.instrument, self.piece.piece, self.lumen

    @property
    def described(self) -> Lumen:
        """Its description."""
        return self.piece.lumens[self.lumen]


@dataclass(frozen=True, slots=True)
class Comparison:
    """A planned lumen held against one lumen of a reference load.

    Parameters
    ----------
    reference
        Key of the reference load.
    validated
        The lumen of it.
    relation
        What that lumen is to the planned one.
    differences
        Every point in which the planned one is not shown to be covered.
    """

    reference: str
    validated: LumenType
    relation: Relation
    differences: tuple[Difference, ...]

    @property
    def standing(self) -> Standing:
        """Whether the planned lumen is inside what was validated there."""
        return standing_of(self.differences)


def compare_lumen(
    department: Department, planned: PlannedLumen, shown: ReferenceLumen, reference: str, day: date
) -> Comparison:
    """Hold a planned lumen against a lumen of a reference load, the load's own carrier, programme and dates apart.

    Parameters
    ----------
    department
        The department.
    planned
        The planned lumen.
    shown
        What the lumen of the reference load was shown to get.
    reference
        Key of the reference load.
    day
        Day of the decision.

    Returns
    -------
    Comparison
        With every difference.

    Raises
    ------
    KeyError
        When the department does not describe the reference's lumen; a department that was read does.
    """
    validated = shown.instrument, shown.piece, shown.lumen
    instrument = department.instruments[shown.instrument]
    described = instrument.pieces[shown.piece].lumens[shown.lumen]
    differences: list[Difference] = []
    if planned.type == validated:
        relation = Relation.SAME
    else:
        same_family = planned.piece.instrument_type.family == instrument.family
        relation = Relation.FAMILY if same_family else Relation.OTHER
        differences += harder_points(hardness_of(planned.described), hardness_of(described))
    if planned.gap:
        differences.append(Difference(PointCompared.DESCRIPTION, Standing.UNKNOWN, why=planned.gap))
    if planned.flow is None:
        differences.append(Difference(PointCompared.CONNECTION, Standing.OUTSIDE, "not connected", "connected"))
    else:
        differences += _water(planned.flow, shown, lumen_volume_m3(described), planned.described.fed_by, day)
    return Comparison(reference, validated, relation, tuple(differences))


def _water(
    flow: LumenFlow, shown: ReferenceLumen, validated_m3: float, fed_by: FedBy, day: date
) -> Iterator[Difference]:
    """Compare what runs at the lower end of its interval. Over a nozzle no shear is known, nor could it be shown."""
    if flow.jet is not None and not flow.jet.reaches_the_far_end:
        yield Difference(PointCompared.JET, Standing.OUTSIDE, flow.jet.rise_m, flow.jet.climb_m, "m")
    yield from _at_least(PointCompared.FLOW, flow.flow_m3_s.low, shown.flow, 1.0, "m3/s", day)
    yield from _at_least(
        PointCompared.EXCHANGES, 60.0 * flow.flow_m3_s.low / flow.volume_m3, shown.flow, 60.0 / validated_m3, "1", day
    )
    if fed_by is not FedBy.INJECTOR_NOZZLE:
        low = None if flow.shear_pa is None else flow.shear_pa.low
        yield from _at_least(PointCompared.SHEAR, low, shown.shear, 1.0, "Pa", day)


def _at_least(
    point: PointCompared, planned: float | None, shown: Limit | None, factor: float, unit: str, day: date
) -> Iterator[Difference]:
    if shown is None:
        yield Difference(point, Standing.UNKNOWN, planned, None, unit, "the reference load does not state it")
        return
    validated = shown.value * factor
    if not shown.holds_on(day):
        yield Difference(point, Standing.UNKNOWN, planned, validated, unit, "what was shown is out of date")
    elif planned is None:
        yield Difference(point, Standing.UNKNOWN, None, validated, unit, "it is not known of the planned lumen")
    elif planned < validated:
        yield Difference(point, Standing.OUTSIDE, planned, validated, unit)

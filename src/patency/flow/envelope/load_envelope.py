"""Whether a load as planned is inside what the department validated, lumen by lumen, and how far from the nearest load.

A lumen is inside when one reference load of the same carrier and programme, in date on the day, holds a lumen that is
the same, or at least as hard in every point of its geometry, and when flow, exchanges and wall shear stress predicted
for the planned lumen, each at the lower end of its interval, are at least what that lumen was shown to get. A datum
that is missing or out of date leaves it unknown, which never counts as inside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.flow.envelope.comparing import Comparison, PlannedLumen, Relation, compare_lumen
from patency.flow.envelope.standing import Difference, PointCompared, Standing, standing_of
from patency.flow.gaps import gap_of_calculation, gap_of_lumen
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from patency.catalogue import Department, ReferenceLoad
    from patency.flow.load_flow import LoadFlow
    from patency.flow.lumen_paths import LumenKey
    from patency.load import Load

_BEST_FIRST = (Standing.INSIDE, Standing.UNKNOWN, Standing.OUTSIDE)
_CLOSEST_FIRST = tuple(Relation)


@dataclass(frozen=True, slots=True)
class ReferenceDistance:
    """A load held against one reference load.

    Parameters
    ----------
    reference
        Key of the reference load.
    source
        Its validation report.
    differences
        What differs for the load as a whole: carrier, programme, validity, the calculation.
    lumens
        Each planned lumen held against the lumen of the reference load that is nearest to covering it.
    """

    reference: str
    source: str
    differences: tuple[Difference, ...]
    lumens: Mapping[LumenKey, Comparison]

    @property
    def inside(self) -> int:
        """How many of the planned lumens this reference load covers."""
        return sum(self.standing_of(key) is Standing.INSIDE for key in self.lumens)

    def standing_of(self, key: LumenKey) -> Standing:
        """Say how a planned lumen stands to this reference load.

        Parameters
        ----------
        key
            The lumen.

        Returns
        -------
        Standing
            With what differs for the whole load counted in.
        """
        return standing_of((*self.differences, *self.lumens[key].differences))


@dataclass(frozen=True, slots=True)
class LumenStanding:
    """How one planned lumen stands.

    Parameters
    ----------
    key
        The lumen.
    port
        The port that feeds it; empty where it is not connected.
    standing
        Inside, outside or unknown.
    nearest
        The reference load's lumen that covers it or is nearest to covering it; None where no reference load is known.
    """

    key: LumenKey
    port: str
    standing: Standing
    nearest: Comparison | None


@dataclass(frozen=True, slots=True)
class LoadEnvelope:
    """How a planned load stands to what was validated.

    Parameters
    ----------
    load_id
        The load.
    day
        Day on which the reference loads have to be in date.
    lumens
        Every lumen of its pieces, in the load's order.
    references
        Every reference load, the nearest first.
    """

    load_id: str
    day: date
    lumens: tuple[LumenStanding, ...]
    references: tuple[ReferenceDistance, ...]

    @property
    def standing(self) -> Standing:
        """Inside only if every lumen is, and if there is any."""
        if not self.lumens:
            return Standing.UNKNOWN
        found = {lumen.standing for lumen in self.lumens}
        return next(standing for standing in reversed(_BEST_FIRST) if standing in found)

    @property
    def nearest(self) -> ReferenceDistance | None:
        """The reference load that leaves the fewest lumens uncovered; None where the department has none."""
        return self.references[0] if self.references else None

    def count(self, standing: Standing) -> int:
        """Count the lumens that stand so.

        Parameters
        ----------
        standing
            How.

        Returns
        -------
        int
            Their number.
        """
        return sum(lumen.standing is standing for lumen in self.lumens)


def envelope_of_load(department: Department, load: Load, load_flow: LoadFlow, day: date) -> LoadEnvelope:
    """Hold every lumen of a planned load against every validated reference load of the department.

    Parameters
    ----------
    department
        The department.
    load
        The load as planned.
    load_flow
        The water in this very load.
    day
        Day of the decision.

    Returns
    -------
    LoadEnvelope
        Each lumen's standing, and the reference loads by distance: first the one that leaves the fewest lumens
        uncovered, of several the one with the fewest differences of the load as a whole, then of its lumens.

    Raises
    ------
    KeyError
        When a reference load or the load names what the department does not describe; neither does one that was read.
    """
    planned = planned_lumens(department, load, load_flow)
    gap = gap_of_calculation(load_flow, day)
    references = []
    for key, reference in department.reference_loads.items():
        whole = [*_of_the_load(load, reference, day)]
        if gap:
            whole.append(Difference(PointCompared.CALCULATION, Standing.UNKNOWN, why=gap))
        lumens = {
            place: min(
                (compare_lumen(department, lumen, shown, key, day) for shown in reference.lumens), key=_rank_of_lumen
            )
            for place, lumen in planned.items()
        }
        references.append(ReferenceDistance(key, reference.source, tuple(whole), lumens))
    references.sort(key=_rank_of_reference)
    ports = {place: path.port for place, path in load_flow.network.lumens.items()}
    standings = (_lumen(place, ports.get(place, ""), references) for place in planned)
    return LoadEnvelope(load.id, day, tuple(standings), tuple(references))


def planned_lumens(department: Department, load: Load, load_flow: LoadFlow) -> dict[LumenKey, PlannedLumen]:
    """List every lumen of a load's placed pieces with its water.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_flow
        The water in it.

    Returns
    -------
    dict[LumenKey, PlannedLumen]
        By set, piece and lumen, in the load's order.
    """
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    found = {}
    for placed in load.pieces:
        piece = pieces[placed.set, placed.piece]
        for lumen in piece.lumens:
            key = placed.set, placed.piece, lumen
            found[key] = PlannedLumen(piece, lumen, load_flow.lumens.get(key), gap_of_lumen(load_flow.network, key))
    return found


def _of_the_load(load: Load, reference: ReferenceLoad, day: date) -> Iterator[Difference]:
    """Find what differs for the load as a whole. A reference load without an end of validity may be any age."""
    if load.carrier != reference.carrier:
        yield Difference(PointCompared.CARRIER, Standing.OUTSIDE, load.carrier, reference.carrier)
    if load.programme != reference.programme:
        yield Difference(PointCompared.PROGRAMME, Standing.OUTSIDE, load.programme, reference.programme)
    if reference.valid_from > day:
        starts = f"from {reference.valid_from}"
        yield Difference(PointCompared.VALIDITY, Standing.UNKNOWN, str(day), starts, why="it is not valid yet")
    if reference.valid_until is None:
        why = "the reference load does not state until when it is valid"
        yield Difference(PointCompared.VALIDITY, Standing.UNKNOWN, str(day), None, why=why)
    elif day > reference.valid_until:
        ends = f"until {reference.valid_until}"
        yield Difference(PointCompared.VALIDITY, Standing.UNKNOWN, str(day), ends, why="it has expired")


def _rank_of_lumen(comparison: Comparison) -> tuple[int, int, int]:
    """Order the lumens of one reference load: first what covers, then what is nearest to it."""
    return (
        _BEST_FIRST.index(comparison.standing),
        _CLOSEST_FIRST.index(comparison.relation),
        len(comparison.differences),
    )


def _rank_of_reference(reference: ReferenceDistance) -> tuple[int, int, int, str]:
    points = sum(len(comparison.differences) for comparison in reference.lumens.values())
    return len(reference.lumens) - reference.inside, len(reference.differences), points, reference.reference


def _lumen(place: LumenKey, port: str, references: list[ReferenceDistance]) -> LumenStanding:
    """Let the reference load decide that speaks best of the lumen; of equals the nearest as a whole."""
    if not references:
        return LumenStanding(place, port, Standing.UNKNOWN, None)
    best = min(references, key=lambda reference: _BEST_FIRST.index(reference.standing_of(place)))
    comparison = best.lumens[place]
    whole = Comparison(
        comparison.reference,
        comparison.validated,
        comparison.relation,
        (*best.differences, *comparison.differences),
    )
    return LumenStanding(place, port, whole.standing, whole)

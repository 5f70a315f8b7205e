"""How hard a lumen is to wash through, as far as its geometry tells.

Only what the catalogue describes is compared: how water gets in, how narrow, how long, how deep its blind branches are.
Soil, joints, jaws and materials are not, so that one lumen is harder than another is a statement about geometry alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import BoreSegment
from patency.flow.envelope.standing import Difference, PointCompared, Standing
from patency.flow.lumen_geometry import lumen_length_m

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import FedBy, Lumen

# Two sizes of the same figure in two descriptions are the same size.
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Hardness:
    """What makes a lumen hard to wash through, at nominal sizes.

    Parameters
    ----------
    fed_by
        How water gets in.
    narrowest_m
        Smallest hydraulic diameter along it [m].
    length_m
        Its length [m].
    deepest_blind_m
        Depth of its deepest blind branch [m]; 0 where it has none, None where nobody has looked.
    """

    fed_by: FedBy
    narrowest_m: float
    length_m: float
    deepest_blind_m: float | None


def hardness_of(lumen: Lumen) -> Hardness:
    """Read off a lumen's description what makes it hard.

    Parameters
    ----------
    lumen
        The lumen.

    Returns
    -------
    Hardness
        Its sizes.
    """
    passages = [
        segment.bore_m.nominal
        if isinstance(segment, BoreSegment)
        else segment.outer_m.nominal - segment.inner_m.nominal
        for segment in lumen.segments
    ]
    deepest_blind_m = None if lumen.dead_ends_m is None else max(lumen.dead_ends_m, default=0.0)
    return Hardness(lumen.fed_by, min(passages), lumen_length_m(lumen), deepest_blind_m)


def harder_points(planned: Hardness, validated: Hardness) -> Iterator[Difference]:
    """Find in what a planned lumen is harder than, or of another kind than, a validated one.

    Parameters
    ----------
    planned
        The planned lumen.
    validated
        The validated one.

    Yields
    ------
    Difference
        One for each such point; none where the validated lumen is at least as hard in every point.
    """
    if planned.fed_by is not validated.fed_by:
        yield Difference(PointCompared.FEEDING, Standing.OUTSIDE, planned.fed_by.value, validated.fed_by.value)
    for point, planned_m, validated_m, harder in (
        (
            PointCompared.PASSAGE,
            planned.narrowest_m,
            validated.narrowest_m,
            validated.narrowest_m - planned.narrowest_m,
        ),
        (PointCompared.LENGTH, planned.length_m, validated.length_m, planned.length_m - validated.length_m),
    ):
        if harder > _SAME:
            yield Difference(point, Standing.OUTSIDE, planned_m, validated_m, "m")
    yield from _blind_branches(planned.deepest_blind_m, validated.deepest_blind_m)


def _blind_branches(planned_m: float | None, validated_m: float | None) -> Iterator[Difference]:
    """Compare blind branches; where nobody has looked for them in the validated lumen, it may be without any."""
    if planned_m is None:
        why = "whether the planned lumen has blind branches is not stated"
        yield Difference(PointCompared.BLIND, Standing.UNKNOWN, None, validated_m, "m", why)
    elif planned_m > _SAME and validated_m is None:
        why = "whether the validated lumen has blind branches is not stated"
        yield Difference(PointCompared.BLIND, Standing.UNKNOWN, planned_m, None, "m", why)
    elif planned_m > (validated_m or 0.0) + _SAME:
        yield Difference(PointCompared.BLIND, Standing.OUTSIDE, planned_m, validated_m, "m")

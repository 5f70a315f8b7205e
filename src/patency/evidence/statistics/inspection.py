"""Which pieces are inspected today: those most likely to be soiled, and never fewer than the site's floor asks for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from patency.catalogue import CalendarDay, read_described
from patency.evidence.description import Word
from patency.evidence.statistics.distributions import found_chances

if TYPE_CHECKING:
    from collections.abc import Iterable


class _Stated(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, use_attribute_docstrings=True
    )


class Floor(_Stated):
    """The least that is inspected, whatever the risk."""

    share: Annotated[float, Field(ge=0, le=1)]
    """Of the pieces of every family; rounded up."""
    least: Annotated[int, Field(ge=0)]
    """Of every family, or all its pieces where there are fewer."""
    source: Word


class Factor(_Stated):
    """How many times as likely a piece is to be soiled."""

    factor: Annotated[float, Field(ge=1, le=1000)]
    source: Word


class History(_Stated):
    """What inspections of a family found so far."""

    inspected: Annotated[int, Field(ge=0)]
    found: Annotated[int, Field(ge=0)]

    @model_validator(mode="after")
    def _no_more_than_inspected(self) -> History:
        if self.found > self.inspected:
            raise ValueError(f"found {self.found} of {self.inspected}|no more found than inspected")
        return self


class WaitingPiece(_Stated):
    """A piece that waits for the decision whether it is inspected."""

    piece: Word
    family: Word
    weak_lumen: bool = True
    """Whether a lumen of it is predicted near its limit or not known to be fed; unknown counts as yes."""
    blind_spot: bool = True
    """Whether a surface of it is not known to be reached; unknown counts as yes."""
    last_inspected: CalendarDay | None = None


class InspectionDay(_Stated):
    """What waits, what is known of it, and what the site asks for."""

    format: Literal["patency-inspection/1"]
    floor: Floor
    budget: Annotated[int, Field(ge=0)]
    """How many pieces can be inspected today."""
    sensitivity: Annotated[float, Field(gt=0, le=1)]
    """Chance that an inspection finds what is there; no inspection finds all of it."""
    weak_lumen: Factor
    blind_spot: Factor
    histories: dict[Word, History] = {}
    """Family to what was found so far; a family left out counts as one that was never inspected."""
    pieces: Annotated[list[WaitingPiece], Field(min_length=1)]

    @model_validator(mode="after")
    def _each_piece_once(self) -> InspectionDay:
        names = [one.piece for one in self.pieces]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"piece {twice!r} twice|each piece once")
        return self


@dataclass(frozen=True, slots=True)
class Chosen:
    """A piece to inspect.

    Parameters
    ----------
    piece, family
        Which.
    chance
        Estimated chance that it is soiled.
    why
        The reason in words.
    """

    piece: str
    family: str
    chance: float
    why: str


@dataclass(frozen=True, slots=True)
class InspectionPlan:
    """The pieces to inspect, and what that can find.

    Parameters
    ----------
    chosen
        In the order of their chance.
    floors
        Family to how many of it the floor asks for.
    beyond_budget
        How many more the floor asks for than can be inspected; the floor holds.
    seen_if_one_is_soiled
        Family to the chance that a single soiled piece of it, any one alike, is found.
    expected_findings
        Sum of the chances of the chosen pieces times the sensitivity.
    """

    chosen: tuple[Chosen, ...]
    floors: dict[str, int]
    beyond_budget: int
    seen_if_one_is_soiled: dict[str, float]
    expected_findings: float


def read_inspection(text: str, name: str = "inspection") -> InspectionDay:
    """Read what waits for inspection.

    Parameters
    ----------
    text
        YAML, format ``patency-inspection/1``.
    name
        What the text is called in messages.

    Returns
    -------
    InspectionDay
        The pieces and what is asked for.

    Raises
    ------
    InputErrors
        With every fault at once.
    """
    return read_described(InspectionDay, text, name)


def soiled_chance(day: InspectionDay, piece: WaitingPiece) -> float:
    """Estimate how likely a piece is soiled.

    The share found in its family, with half a finding and half a piece without one added (H. Jeffreys' prior), so that
    a family never inspected counts as one in two; times the site's factors.

    Parameters
    ----------
    day
        What is known.
    piece
        The piece.

    Returns
    -------
    float
        At most 1.
    """
    history = day.histories.get(piece.family, History(inspected=0, found=0))
    chance = (history.found + 0.5) / (history.inspected + 1.0)
    chance *= day.weak_lumen.factor if piece.weak_lumen else 1.0
    chance *= day.blind_spot.factor if piece.blind_spot else 1.0
    return min(chance, 1.0)


def plan_inspection(day: InspectionDay) -> InspectionPlan:
    """Choose the pieces to inspect: of every family the floor, then whatever is most likely soiled.

    Parameters
    ----------
    day
        What waits and what is asked for.

    Returns
    -------
    InspectionPlan
        The pieces. Among equals the one whose last inspection is longest ago comes first, never inspected before all.
    """
    ranked = sorted(day.pieces, key=lambda one: (-soiled_chance(day, one), str(one.last_inspected or ""), one.piece))
    families = sorted({one.family for one in day.pieces})
    floors = {family: _floor(day.floor, _count(day.pieces, family)) for family in families}
    left = dict(floors)
    chosen: dict[str, Chosen] = {}
    for piece in ranked:
        if left[piece.family] > 0:
            left[piece.family] -= 1
            why = f"floor of the site, {floors[piece.family]} of this family ({day.floor.source})"
            chosen[piece.piece] = _chosen(day, piece, why)
    for piece in ranked:
        if len(chosen) >= day.budget:
            break
        if piece.piece not in chosen:
            chosen[piece.piece] = _chosen(day, piece, "most likely soiled of those left")
    seen = {
        family: day.sensitivity * sum(one.family == family for one in chosen.values()) / _count(day.pieces, family)
        for family in families
    }
    return InspectionPlan(
        tuple(sorted(chosen.values(), key=lambda one: (-one.chance, one.piece))),
        floors,
        max(0, sum(floors.values()) - day.budget),
        seen,
        day.sensitivity * math.fsum(one.chance for one in chosen.values()),
    )


def _chosen(day: InspectionDay, piece: WaitingPiece, why: str) -> Chosen:
    signs = [
        f"found {history.found} of {history.inspected}"
        if (history := day.histories.get(piece.family))
        else "family never inspected",
        *(["lumen predicted weak or unknown"] if piece.weak_lumen else []),
        *(["blind spot or unknown"] if piece.blind_spot else []),
    ]
    return Chosen(piece.piece, piece.family, soiled_chance(day, piece), f"{why}; {', '.join(signs)}")


def _count(pieces: Iterable[WaitingPiece], family: str) -> int:
    return sum(one.family == family for one in pieces)


def _floor(floor: Floor, pieces: int) -> int:
    return min(pieces, max(floor.least, math.ceil(floor.share * pieces - 1e-9)))


def acceptance_chance(pieces: int, soiled: int, inspected: int, accepted: int) -> float:
    """Tell how likely a lot is accepted: at most so many soiled pieces among those inspected.

    Parameters
    ----------
    pieces
        Pieces of the lot.
    soiled
        How many of them are soiled.
    inspected
        How many are drawn and inspected.
    accepted
        Most soiled pieces found with which the lot is accepted.

    Returns
    -------
    float
        The chance, by the hypergeometric distribution.
    """
    return float(np.minimum(found_chances(pieces, soiled, inspected)[: accepted + 1].sum(), 1.0))


def pieces_to_inspect(pieces: int, soiled: int, confidence: float) -> int:
    """Tell how many pieces have to be drawn so that one of the soiled is among them.

    Parameters
    ----------
    pieces
        Pieces of the lot.
    soiled
        How many soiled ones must not go unnoticed, at least 1 and no more than there are pieces.
    confidence
        Chance with which one is drawn, above 0 and below 1; an inspection that misses some asks for more.

    Returns
    -------
    int
        The least number.
    """
    low, high = 0, pieces - soiled + 1
    while high - low > 1:
        middle = (low + high) // 2
        enough = acceptance_chance(pieces, soiled, middle, 0) <= 1.0 - confidence
        low, high = (low, middle) if enough else (middle, high)
    return high


def inspection_document(plan: InspectionPlan) -> dict[str, Any]:
    """Return a plan of inspection as plain values for JSON, format ``patency-inspection-plan/1``.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    dict
        Mappings, lists, numbers and text only.
    """
    return {
        "format": "patency-inspection-plan/1",
        "pieces": [
            {"piece": one.piece, "family": one.family, "chance": one.chance, "why": one.why} for one in plan.chosen
        ],
        "floors": plan.floors,
        "beyond_budget": plan.beyond_budget,
        "seen_if_one_is_soiled": plan.seen_if_one_is_soiled,
        "expected_findings": plan.expected_findings,
    }

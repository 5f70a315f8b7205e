"""The stages found in a record, as values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patency.catalogue import Stage, StageKind
    from patency.evidence.moist import Moist


class Origin(StrEnum):
    """By what the stages were found."""

    COLUMN = "stage column"
    SIGNALS = "signals"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class StageSpan:
    """Where one stage of the programme lies.

    Parameters
    ----------
    position
        Position of the stage in the programme, counted from 0.
    stage
        The stage as prescribed.
    first
        Position of its first sample.
    last
        Position of its last sample.
    called
        What it is called: its name, with a number behind it where the name comes again.
    """

    position: int
    stage: Stage
    first: int
    last: int
    called: str


@dataclass(frozen=True, slots=True, eq=False)
class StagesFound:
    """The stages of a record.

    Parameters
    ----------
    origin
        By what they were found.
    spans
        The stages found, in the order of the programme.
    moist
        The moist heat that may count, and when the circulation pump ran.
    contradictions
        What in the record contradicts the programme.
    doubts
        Why the stages cannot be told for certain.
    """

    origin: Origin
    spans: tuple[StageSpan, ...]
    moist: Moist
    contradictions: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    def of(self, *kinds: StageKind) -> list[StageSpan]:
        """Return the stages found of certain kinds.

        Parameters
        ----------
        kinds
            The kinds asked for.

        Returns
        -------
        list
            In the order of the programme.
        """
        return [self.spans[place] for place in self.places(*kinds)]

    def places(self, *kinds: StageKind) -> list[int]:
        """Return the places among those found of the stages of certain kinds.

        Parameters
        ----------
        kinds
            The kinds asked for.

        Returns
        -------
        list
            In the order of the programme.
        """
        return [place for place, span in enumerate(self.spans) if span.stage.kind in kinds]

    @property
    def running(self) -> NDArray[np.bool_] | None:
        """When the circulation pump ran, shape (n,); None when nothing shows it."""
        return self.moist.running

    @property
    def wet(self) -> list[StageSpan]:
        """The stages in which water circulates."""
        return [span for span in self.spans if span.stage.kind.wet]

"""Connectors: what is joined to what, by family, gender and size."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from patency.catalogue.fields import Bore, Described, Name, Source
from patency.catalogue.written import OrWord, WithTolerance
from patency.quantities import Answer, Toleranced


class Gender(StrEnum):
    """Which half of a connection an end is; the male end goes into the female one."""

    MALE = "male"
    FEMALE = "female"


class ConnectorFamily(Described):
    """A kind of connection, such as the small-bore luer taper of ISO 80369-7 or a thread."""

    name: Name
    """What people call it."""
    bore_m: Annotated[Toleranced | Literal["full"], OrWord(WithTolerance("length", above=0.0), "full")] | None = None
    """Passage through a mated pair, where the family fixes it (a luer passes water through about 2 mm); ``full`` states
    that a mated pair narrows nothing, None that nobody has stated it."""
    source: Source
    """Standard, or "common practice"."""


class Connector(Described):
    """One end: family, gender and, where sizes differ within a family, its size with tolerance."""

    family: Name
    """Key of a connector family of the department."""
    gender: Gender
    """Male or female."""
    size_m: Bore | None = None
    """Mating diameter; a flushing sleeve states the tube diameter it grips with its whole range as tolerance."""

    def mates_with(self, other: Connector) -> Answer:
        """Tell whether two ends join.

        Parameters
        ----------
        other
            The other end.

        Returns
        -------
        Answer
            ``no`` for another family, the same gender or sizes further apart than both tolerances allow;
            ``unknown`` when only one of the two states its size.
        """
        if self.family != other.family or self.gender == other.gender:
            return Answer.NO
        if self.size_m is None and other.size_m is None:
            return Answer.YES
        if self.size_m is None or other.size_m is None:
            return Answer.UNKNOWN
        slack = (self.size_m.plus_minus or 0.0) + (other.size_m.plus_minus or 0.0)
        # A nanometre forgives the rounding of decimal fractions, not a misfit.
        fits = abs(self.size_m.nominal - other.size_m.nominal) <= slack + 1e-9
        return Answer.YES if fits else Answer.NO

"""Sets, what waits to be washed today, and validated reference loads."""

from __future__ import annotations

from datetime import date, datetime  # noqa: TC003 - pydantic reads the annotations
from typing import Annotated

from pydantic import Field

from patency.catalogue.fields import Described, Duration, FlowLimit, Name, PressureLimit, Source


class SetType(Described):
    """What is packed and issued together."""

    contents: Annotated[dict[Name, Annotated[int, Field(ge=1, le=99)]], Field(min_length=1)]
    """Instrument type to number."""
    basket_areas: Annotated[int, Field(ge=0, le=20)]
    """Basket areas its loose pieces, pod and optic take."""
    soiled_side_s: Duration | None = None
    """Work before the washer-disinfector."""
    clean_side_s: Duration | None = None
    """Work after it."""
    hold: Name | None = None
    """Why nothing of it may move; None where there is no hold."""


class Waiting(Described):
    """A set that waits."""

    set: Name
    back_at: datetime
    """When it comes back from theatre, local time without zone."""
    washed_by: datetime | None = None
    """When its wash cycle has to be over at the latest; None when nothing presses."""


class Day(Described):
    """A working day to plan."""

    date: date
    shift_starts: datetime
    shift_ends: datetime
    """The last load has to be out by then."""
    waiting: list[Waiting]


class ReferenceLumen(Described):
    """What one lumen was shown to get in a validated reference load."""

    instrument: Name
    piece: Name
    lumen: Name
    flow: FlowLimit | None = None
    shear: PressureLimit | None = None
    """Wall shear stress."""


class ReferenceLoad(Described):
    """A load pattern of the performance qualification."""

    source: Source
    """The validation report."""
    valid_from: date
    valid_until: date | None = None
    carrier: Name
    programme: Name
    lumens: Annotated[list[ReferenceLumen], Field(min_length=1)]

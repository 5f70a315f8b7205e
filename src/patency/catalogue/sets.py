"""Sets, what waits to be washed today, and validated reference loads."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from patency.catalogue.fields import CalendarDay, Described, Duration, LocalTime, Name, Source
from patency.catalogue.stated_limits import FlowLimit, PressureLimit


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
    back_at: LocalTime
    """When it comes back from theatre, local time without zone."""
    washed_by: LocalTime | None = None
    """When its wash cycle has to be over at the latest; None when nothing presses."""

    @model_validator(mode="after")
    def _back_before_it_is_washed(self) -> Waiting:
        if self.washed_by is not None and self.washed_by <= self.back_at:
            raise ValueError(
                f"has to be washed by {self.washed_by} but is back at {self.back_at}|washed_by after back_at"
            )
        return self


class Day(Described):
    """A working day to plan."""

    date: CalendarDay
    shift_starts: LocalTime
    shift_ends: LocalTime
    """The last load has to be out by then."""
    waiting: list[Waiting]

    @model_validator(mode="after")
    def _shift_has_time(self) -> Day:
        if self.shift_ends <= self.shift_starts:
            raise ValueError(
                f"the shift ends at {self.shift_ends} and starts at {self.shift_starts}|an end after the start"
            )
        return self


class ReferenceLumen(Described):
    """What one lumen was shown to get in a validated reference load."""

    instrument: Name
    piece: Name
    lumen: Name
    flow: FlowLimit | None = None
    shear: PressureLimit | None = None
    """Wall shear stress."""

    @model_validator(mode="after")
    def _shows_something(self) -> ReferenceLumen:
        if self.flow is None and self.shear is None:
            raise ValueError("states neither flow nor shear|what the lumen was shown to get")
        return self


class ReferenceLoad(Described):
    """A load pattern of the performance qualification."""

    source: Source
    """The validation report."""
    valid_from: CalendarDay
    valid_until: CalendarDay | None = None
    carrier: Name
    programme: Name
    lumens: Annotated[list[ReferenceLumen], Field(min_length=1)]

    @model_validator(mode="after")
    def _begins_before_it_ends(self) -> ReferenceLoad:
        if self.valid_until is not None and self.valid_until < self.valid_from:
            raise ValueError(f"valid until {self.valid_until}, before {self.valid_from}|valid_until after valid_from")
        return self

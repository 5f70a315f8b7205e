"""Processing instructions, arranged by the activities of ISO 17664-1, versioned and locally approved."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, model_validator

from patency.catalogue.fields import CalendarDay, Described, Duration, Language, Name, Source, Temperature
from patency.catalogue.programmes import WaterQuality
from patency.catalogue.written import OrWord, Plain

if TYPE_CHECKING:
    from datetime import date

PH = Annotated[float, Field(ge=0, le=14)]


class Activity(Described):
    """What the maker says of one activity, in plain steps."""

    steps: Annotated[list[Name], Field(min_length=1)]


class Preparation(Activity):
    """Work by hand before cleaning, with the times it takes."""

    soak_s: Duration | None = None
    """Least time in the bath; None where the instructions state no soak."""
    ultrasound_s: Annotated[float | Literal["forbidden"], OrWord(Plain("time", above=0.0), "forbidden")] | None = None
    """Least time in the ultrasonic bath, or that it is not allowed; not used where nothing is stated (None)."""
    flush_exchanges: Annotated[float, Field(gt=0, le=100)] | None = None
    """Least volume of the flush by hand, as a multiple of the lumen's volume."""


class Cleaning(Activity):
    """Automated cleaning, with the limits a programme must keep."""

    highest_temperature_c: Temperature | None = None
    lowest_ph: PH | None = None
    highest_ph: PH | None = None
    forbidden_agents: list[Name] | None = None
    """Agents named as not allowed; an empty list states that none is, None that nothing is known."""
    water: WaterQuality | None = None
    """Least quality of the water of every wet stage; where it is not stated the purest counts as asked for."""
    final_rinse_water: WaterQuality | None = None
    """Least quality of the last water that touches the piece, that of the last wet stage; not stated, as above."""

    @model_validator(mode="after")
    def _allows_some_ph(self) -> Cleaning:
        if self.lowest_ph is not None and self.highest_ph is not None and self.lowest_ph > self.highest_ph:
            raise ValueError(f"no pH from {self.lowest_ph:g} to {self.highest_ph:g}|lowest_ph below highest_ph")
        return self


class Disinfection(Activity):
    """Thermal disinfection."""

    least_a0_s: Duration | None = None
    highest_temperature_c: Temperature | None = None


class Drying(Activity):
    """Drying in the machine."""

    highest_temperature_c: Temperature | None = None


class Approval(Described):
    """Who approved the local reading of the maker's text."""

    by: Annotated[list[Name], Field(min_length=1)]
    """Pseudonymous staff keys; two persons where the site asks for four eyes."""
    on: CalendarDay


class InstructionsVersion(Described):
    """One version of the instructions for use and its local reading."""

    version: Name
    issued: CalendarDay
    language: Language
    source: Source
    """The document read."""
    approval: Approval | None = None
    """None: nobody has approved the local reading."""
    initial_treatment: Activity | None = None
    """At the point of use."""
    preparation: Preparation | None = None
    """Before cleaning: dismantling, flushing, brushing."""
    cleaning: Cleaning | None = None
    disinfection: Disinfection | None = None
    drying: Drying | None = None
    inspection: Activity | None = None
    """Inspection, maintenance, testing."""
    packaging: Activity | None = None
    sterilization: Activity | None = None
    storage: Activity | None = None
    transportation: Activity | None = None

    @model_validator(mode="after")
    def _issued_before_it_is_approved(self) -> InstructionsVersion:
        if self.approval is not None and self.approval.on < self.issued:
            raise ValueError(f"approved on {self.approval.on} but issued on {self.issued}|approval after the issue")
        return self


class ProcessingInstructions(Described):
    """All versions known of one set of instructions, the newest last."""

    name: Name
    versions: Annotated[list[InstructionsVersion], Field(min_length=1)]

    @model_validator(mode="after")
    def _each_version_once(self) -> ProcessingInstructions:
        names = [version.version for version in self.versions]
        twice = [name for place, name in enumerate(names) if name in names[:place]]
        if twice:
            raise ValueError(f"version {twice[0]} stands twice|every version once")
        return self

    def in_force(self, day: date) -> InstructionsVersion | None:
        """Return the approved version in force on a day.

        Parameters
        ----------
        day
            The day of the decision.

        Returns
        -------
        InstructionsVersion | None
            The approved version issued last and approved by that day; None where there is none.
        """
        valid = [v for v in self.versions if v.approval is not None and v.approval.on <= day and v.issued <= day]
        return max(valid, key=lambda version: version.issued, default=None)

"""Programmes: the prescribed sequence of stages."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field, model_validator

from patency.catalogue.fields import Conductivity, Described, Duration, Name, Temperature, Volume


class StageKind(StrEnum):
    """What a stage is for."""

    FLUSH = "flush"
    CLEAN = "clean"
    RINSE = "rinse"
    DISINFECT = "disinfect"
    DRY = "dry"

    @property
    def wet(self) -> bool:
        """Whether water circulates through the carrier in it."""
        return self is not StageKind.DRY


class WaterQuality(StrEnum):
    """Categories of water, from the least to the most pure (the two of AAMI ST108:2023 that touch instruments)."""

    UTILITY = "utility"
    CRITICAL = "critical"

    def serves(self, asked: WaterQuality) -> bool:
        """Tell whether this water is at least as pure as what is asked for.

        Parameters
        ----------
        asked
            The least quality asked for.

        Returns
        -------
        bool
            Whether it is.
        """
        order = list(WaterQuality)
        return order.index(self) >= order.index(asked)


class Dose(Described):
    """A measured volume of process chemical."""

    agent: Name
    volume_m3: Volume
    ph: Annotated[float, Field(ge=0, le=14)] | None = None
    """Of the solution as used; None when not known."""


class Stage(Described):
    """One stage."""

    name: Name
    kind: StageKind
    hold_s: Duration
    """Time at the set temperature."""
    temperature_c: Temperature
    """Set temperature of water, or of air when drying."""
    doses: list[Dose] | None = None
    """An empty list states that nothing is dosed, None that nobody has stated it."""
    least_conductivity_us_cm: Conductivity | None = None
    """Least that the water of a rinse with a dose conducts at its end, as found at validation; None when not known."""
    highest_conductivity_us_cm: Conductivity | None = None
    """Most that it conducts."""
    water: WaterQuality | None = None
    """Of a wet stage; None when not known, which serves no instructions."""
    pump_speed: Annotated[float, Field(gt=0, le=1.5)] | None = None
    """Speed of the circulation pump over its speed in this kind of machine; None when not known."""

    @property
    def conductivities(self) -> tuple[float | None, float | None]:
        """The least and the most that the water at its end conducts [µS/cm]; None where not known."""
        return self.least_conductivity_us_cm, self.highest_conductivity_us_cm

    @model_validator(mode="after")
    def _conductivities_in_order(self) -> Stage:
        least, highest = self.conductivities
        if least is not None and highest is not None and least > highest:
            raise ValueError(
                f"least conductivity {least:g}, highest {highest:g} µS/cm|the least no more than the highest"
            )
        return self


class Programme(Described):
    """A programme of the department."""

    name: Name
    version: Name
    stages: Annotated[list[Stage], Field(min_length=1)]
    a0_target_s: Duration | None = None
    """A0 the disinfection is designed for; None when not stated."""
    for_lumens: bool
    """Whether water is driven through the carrier's ports."""

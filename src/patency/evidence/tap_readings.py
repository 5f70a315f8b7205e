"""What a pressure sensor showed at its tap, as a value."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TapReading:
    """What a pressure sensor showed in a stage, and how that is carried to the level of the sump's water.

    Parameters
    ----------
    value_pa
        Median reading in the steady part of the stage [Pa].
    more_pa
        What the sensor shows more than the pressure above the surroundings at the level of the sump's water [Pa].
    uncertainty_pa
        Of the sensor, and of the pressure of the surroundings where it counts [Pa]; None where not known.
    told
        What was taken into account, in words.
    assumed
        What had to be assumed because it is not stated, in words; empty where nothing had.
    """

    value_pa: float
    more_pa: float
    uncertainty_pa: float | None
    told: str
    assumed: str

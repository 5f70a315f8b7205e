"""What was observed in one cycle, as plain numbers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StageReading:
    """What one sensor of pressure or flow showed in the steady part of one wet stage.

    Parameters
    ----------
    stage
        The stage.
    sensor
        The sensor's key.
    value
        Gauge pressure reckoned at the level of the sump's water, its velocity head included [Pa], or flow [m³/s].
    """

    stage: str
    sensor: str
    value: float


@dataclass(frozen=True, slots=True)
class Observation:
    """What was observed in one cycle.

    Parameters
    ----------
    readings
        Readings of pressure and flow; a stage and a sensor once at most.
    arms_standing
        Each arm with a sensor: whether it stood in some wet stage.
    """

    readings: tuple[StageReading, ...]
    arms_standing: dict[str, bool]

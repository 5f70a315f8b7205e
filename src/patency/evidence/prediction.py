"""What is known of this very load beside record and programme: its machine, what was predicted, what was seen."""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003 - these types are read at run time where the values are kept
from dataclasses import dataclass, field
from datetime import datetime  # noqa: TC003
from enum import StrEnum

from patency.catalogue import Sensor, SensorOffset  # noqa: TC001
from patency.quantities import Interval  # noqa: TC001


@dataclass(frozen=True, slots=True)
class LoadMachine:
    """The machine the load was planned for.

    Parameters
    ----------
    kind
        What its kind is called.
    names
        The machines of that kind; the load may run in any of them.
    sensors
        The sensors of the kind, on whose record the verdict relies.
    offsets
        Machine to what its sensors were found to show too much, by the sensor's key.
    """

    kind: str
    names: tuple[str, ...]
    sensors: Mapping[str, Sensor]
    offsets: Mapping[str, Mapping[str, SensorOffset]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PredictedPressure:
    """The pressure predicted at the circulation in one wet stage.

    Parameters
    ----------
    pressure_pa
        The interval, above the surroundings, reckoned at the level of the sump's water [Pa].
    one_hose_off_pa
        The largest change of that pressure that a single hose coming off would cause, negative for a fall [Pa]; None
        when not computed.
    """

    pressure_pa: Interval
    one_hose_off_pa: float | None = None


@dataclass(frozen=True, slots=True)
class PressurePrediction:
    """What the flow calculation predicts for the load as planned.

    Parameters
    ----------
    source
        What the prediction was made from, such as the load's identity and the version of the plan.
    stages
        Name of a wet stage to its pressure; a name that comes again in the programme has a number behind it, from 2 on.
    sump_level_m
        Level of the sump's water above the carrier's rails [m]; None when not known.
    """

    source: str
    stages: Mapping[str, PredictedPressure]
    sump_level_m: float | None = None


class Seen(StrEnum):
    """What a person saw at unloading."""

    ALL_IN_PLACE = "every hose and sleeve in place"
    SOMETHING_OFF = "something off"


@dataclass(frozen=True, slots=True)
class EyeCheck:
    """The look at every hose and sleeve at unloading.

    Parameters
    ----------
    seen
        What was seen.
    by
        Who looked.
    at
        When.
    remark
        What was off, in words; empty where nothing was.
    """

    seen: Seen
    by: str
    at: datetime
    remark: str = ""

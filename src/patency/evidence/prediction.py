"""What is known of this very load beside record and programme: its machine, what was predicted, what was seen."""

from __future__ import annotations

from collections.abc import Mapping  # noqa: TC003 - these types are read at run time where the values are kept
from dataclasses import dataclass, field
from datetime import datetime  # noqa: TC003
from enum import StrEnum

from patency.catalogue import Sensor, SensorOffset  # noqa: TC001
from patency.quantities import Interval  # noqa: TC001


@dataclass(frozen=True, slots=True)
class ArmSpeed:
    """How fast a spray arm turns at one pressure; it is driven by its jets.

    Parameters
    ----------
    speed_rpm
        Its speed [rpm].
    at_pa
        The pressure at the circulation, above the surroundings at the level of the sump's water [Pa].
    """

    speed_rpm: float
    at_pa: float


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
    arms
        Arm to how fast it turns; those of which nobody says it are left out.
    """

    kind: str
    names: tuple[str, ...]
    sensors: Mapping[str, Sensor]
    offsets: Mapping[str, Mapping[str, SensorOffset]] = field(default_factory=dict)
    arms: Mapping[str, ArmSpeed] = field(default_factory=dict)


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
class OneHoseOff:
    """How likely the alarm on all readings shows a single hose that came off: the one that shows most.

    Parameters
    ----------
    probability
        Of an alarm [-], as the load's blind spots and its diagnosis have it.
    least
        From which probability on it counts as seen [-].
    false_alarms
        Share of cycles without fault in which the sensors may raise an alarm, all of them together [-].
    compared
        What readings are held against, in words.
    """

    probability: float
    least: float
    false_alarms: float
    compared: str


@dataclass(frozen=True, slots=True)
class WaterAlarm:
    """The alarm on the readings of pressure and flow together, and the earlier cycles it is held against.

    Parameters
    ----------
    machine
        The machine in which these ran.
    columns
        Wet stage and sensor of each reading of a cycle.
    readings
        Each cycle's readings [Pa or m³/s].
    records
        The digest of each cycle's record.
    share
        What share of all false alarms that are allowed falls to it [-].
    """

    machine: str
    columns: tuple[tuple[str, str], ...]
    readings: tuple[tuple[float, ...], ...]
    records: tuple[str, ...]
    share: float


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
    one_hose_off
        What the alarm shows of one; None when not computed.
    alarm
        The alarm and its baseline; None where none is kept.
    """

    source: str
    stages: Mapping[str, PredictedPressure]
    sump_level_m: float | None = None
    one_hose_off: OneHoseOff | None = None
    alarm: WaterAlarm | None = None


class Seen(StrEnum):
    """What a person saw at unloading."""

    ALL_IN_PLACE = "every hose and sleeve in place"
    SOMETHING_OFF = "something off"


@dataclass(frozen=True, slots=True)
class RestOfLoad:
    """What was computed of the sets that stay of a load when others go back, because something of it was off.

    Parameters
    ----------
    sets
        The sets that stay.
    margin
        The least of their lumens: what it reaches over what it has to reach, with what was off off [-].
    source
        What was computed, and against what it is held.
    """

    sets: tuple[str, ...]
    margin: float
    source: str


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
    rest
        The sets that stay; None where none does, or it was not computed, and then nothing that was off is met.
    """

    seen: Seen
    by: str
    at: datetime
    remark: str = ""
    rest: RestOfLoad | None = None

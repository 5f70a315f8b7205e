"""What can go wrong in a simulated cycle."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mishap(StrEnum):
    """What may befall a cycle of the demo day."""

    NOTHING = "as planned"
    TAPER_CAP_FORGOTTEN = "taper cap forgotten"
    HOSE_OFF = "hose off"
    POWER_DIP = "power dip"


@dataclass(frozen=True, slots=True)
class PowerDip:
    """The mains fail for some seconds while a stage holds its temperature.

    Pump and heater stop. The drain valve, held shut by current, lets go a share of the water; when the current is back
    the machine fills up from its warm supply. The heating element ran dry for a moment, so its cut-out stays open for
    the rest of the stage; the hold timer, which asked for the temperature only at the start, runs on.

    Parameters
    ----------
    stage
        Name of the stage.
    after_s
        Time from the start of the hold [s].
    lasts_s
        Length of the dip [s].
    water_lost
        Share of the water that drains away, 0 to 1.
    """

    stage: str
    after_s: float
    lasts_s: float = 15.0
    water_lost: float = 0.25


@dataclass(frozen=True, slots=True)
class SensorError:
    """A sensor reads wrong throughout: reading = truth × factor + offset, on top of its small own offset.

    Parameters
    ----------
    column
        Name of the sensor's column.
    offset
        In the column's unit.
    factor
        Without unit.
    """

    column: str
    offset: float = 0.0
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class MissedDose:
    """A dosing pump draws air: nothing of an agent arrives in a stage.

    Parameters
    ----------
    stage
        Name of the stage.
    agent
        Name of the agent as prescribed.
    """

    stage: str
    agent: str


@dataclass(frozen=True, slots=True)
class ShortHold:
    """The hold timer runs too fast: a stage ends before its time at temperature is up.

    Parameters
    ----------
    stage
        Name of the stage.
    share
        Share of the prescribed time after which it ends.
    """

    stage: str
    share: float


@dataclass(frozen=True, slots=True)
class PumpPause:
    """The pump pauses within a stage and goes on; where it is short nothing is lost by it.

    Parameters
    ----------
    stage
        Name of the stage.
    after_s
        Time from the start of the hold [s].
    lasts_s
        Length of the pause [s].
    """

    stage: str
    after_s: float
    lasts_s: float


@dataclass(frozen=True, slots=True)
class Foam:
    """The pump draws foam, or air past a low water level: pressure is lost and never stands still.

    Parameters
    ----------
    stage
        Name of the stage.
    lost
        Share of the pressure that is lost on average.
    swing
        Share of the pressure by which it swings about that.
    """

    stage: str
    lost: float
    swing: float


@dataclass(frozen=True, slots=True)
class Cavitation:
    """Hot water boils at the suction of the pump: pressure is lost and trembles faster than a recorder can follow.

    Parameters
    ----------
    stage
        Name of the stage.
    lost
        Share of the pressure that is lost on average.
    """

    stage: str
    lost: float


@dataclass(frozen=True, slots=True)
class WeakHeater:
    """Some of the heater's elements are burnt out: the water warms up slowly, and holds its temperature once there.

    Parameters
    ----------
    rise_k_s
        How fast the water warms up at best [K/s].
    """

    rise_k_s: float


@dataclass(frozen=True, slots=True)
class ArmDrags:
    """The bearing of a spray arm is worn, or jets are clogged: it turns more slowly than its pressure says.

    Parameters
    ----------
    share
        Share of its speed that is left.
    """

    share: float


@dataclass(frozen=True, slots=True)
class ArmStuck:
    """A piece stands in the way of a spray arm from a stage on.

    Parameters
    ----------
    stage
        Name of the first stage in which it stands still.
    """

    stage: str


@dataclass(frozen=True, slots=True)
class ClockStep:
    """The recorder's clock is set while it records.

    Parameters
    ----------
    after_s
        When [s].
    by_s
        Forward, or back where negative [s].
    """

    after_s: float
    by_s: float


@dataclass(frozen=True, slots=True)
class LoggerStopped:
    """The recorder writes nothing for a while.

    Parameters
    ----------
    after_s
        When it stops [s].
    lasts_s
        For how long [s].
    """

    after_s: float
    lasts_s: float


@dataclass(frozen=True, slots=True)
class SwappedChannels:
    """Two sensors are wired to each other's columns.

    Parameters
    ----------
    first, second
        Names of the columns.
    """

    first: str
    second: str


Fault = (
    PowerDip
    | SensorError
    | MissedDose
    | ShortHold
    | PumpPause
    | Foam
    | Cavitation
    | WeakHeater
    | ArmDrags
    | ArmStuck
    | ClockStep
    | LoggerStopped
    | SwappedChannels
)

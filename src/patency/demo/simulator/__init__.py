"""A simulator of washer-disinfector cycles, for the demo and for tests; everything in it is invented."""

from patency.demo.simulator.faults import (
    ArmDrags,
    ArmStuck,
    Cavitation,
    ClockStep,
    Fault,
    Foam,
    LoggerStopped,
    Mishap,
    MissedDose,
    PowerDip,
    PumpPause,
    SensorError,
    ShortHold,
    SwappedChannels,
    WeakHeater,
)
from patency.demo.simulator.fleet import FAULTS, SimulatedCycle, earlier_pressures, simulate_one
from patency.demo.simulator.machine import Course, MachineModel, run_cycle
from patency.demo.simulator.sensing import Recorder, SimulatedSensor, sensors_of, simulate, write_down
from patency.demo.simulator.steam import STEAM_FAULTS, SimulatedSteam, simulate_leakage, simulate_steam
from patency.demo.simulator.tuning import dip_leaving

__all__ = [
    "FAULTS",
    "STEAM_FAULTS",
    "ArmDrags",
    "ArmStuck",
    "Cavitation",
    "ClockStep",
    "Course",
    "Fault",
    "Foam",
    "LoggerStopped",
    "MachineModel",
    "Mishap",
    "MissedDose",
    "PowerDip",
    "PumpPause",
    "Recorder",
    "SensorError",
    "ShortHold",
    "SimulatedCycle",
    "SimulatedSensor",
    "SimulatedSteam",
    "SwappedChannels",
    "WeakHeater",
    "dip_leaving",
    "earlier_pressures",
    "run_cycle",
    "sensors_of",
    "simulate",
    "simulate_leakage",
    "simulate_one",
    "simulate_steam",
    "write_down",
]

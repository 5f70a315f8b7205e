"""A simulator of washer-disinfector cycles, for the demo and for tests; everything in it is invented."""

from patency.demo.simulator.faults import Fault, Mishap, MissedDose, PowerDip, SensorError
from patency.demo.simulator.machine import Course, MachineModel, run_cycle
from patency.demo.simulator.sensing import Recorder, SimulatedSensor, sensors_of, simulate
from patency.demo.simulator.tuning import dip_leaving

__all__ = [
    "Course",
    "Fault",
    "MachineModel",
    "Mishap",
    "MissedDose",
    "PowerDip",
    "Recorder",
    "SensorError",
    "SimulatedSensor",
    "dip_leaving",
    "run_cycle",
    "sensors_of",
    "simulate",
]

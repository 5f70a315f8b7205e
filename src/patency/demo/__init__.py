"""The demo: Larkmere, an invented department that is shipped with the package."""

from __future__ import annotations

from importlib import resources

from patency.demo.bench_folder import prepare_bench
from patency.demo.cycle_records import larkmere_record
from patency.demo.day import DemoDay, run_demo_day
from patency.demo.simulator import (
    FAULTS,
    STEAM_FAULTS,
    ArmStuck,
    ClockStep,
    Course,
    Fault,
    Foam,
    LoggerStopped,
    MachineModel,
    Mishap,
    MissedDose,
    PowerDip,
    PumpPause,
    Recorder,
    SensorError,
    ShortHold,
    SimulatedCycle,
    SimulatedSensor,
    SimulatedSteam,
    SwappedChannels,
    dip_leaving,
    earlier_pressures,
    run_cycle,
    sensors_of,
    simulate,
    simulate_leakage,
    simulate_one,
    simulate_steam,
)
from patency.demo.summary import summary_data, summary_text

__all__ = [
    "FAULTS",
    "STEAM_FAULTS",
    "ArmStuck",
    "ClockStep",
    "Course",
    "DemoDay",
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
    "dip_leaving",
    "earlier_pressures",
    "larkmere_record",
    "larkmere_texts",
    "prepare_bench",
    "run_cycle",
    "run_demo_day",
    "sensors_of",
    "simulate",
    "simulate_leakage",
    "simulate_one",
    "simulate_steam",
    "summary_data",
    "summary_text",
]


def larkmere_texts() -> dict[str, str]:
    """Return the files that describe the Larkmere department.

    Everything in them is invented for demonstration; the few limits with a public source name it.

    Returns
    -------
    dict[str, str]
        Name of each YAML file, sorted, to its text.

    Examples
    --------
    >>> "carriers-lapwing.yaml" in larkmere_texts()
    True
    """
    folder = resources.files("patency.demo") / "larkmere"
    files = sorted((file for file in folder.iterdir() if file.name.endswith(".yaml")), key=lambda file: file.name)
    return {file.name: file.read_text(encoding="utf-8") for file in files}

"""The demo: Larkmere, an invented department that is shipped with the package."""

from __future__ import annotations

from importlib import resources

from patency.demo.cycle_records import larkmere_record
from patency.demo.simulator import (
    Course,
    Fault,
    MachineModel,
    Mishap,
    MissedDose,
    PowerDip,
    Recorder,
    SensorError,
    SimulatedSensor,
    dip_leaving,
    run_cycle,
    sensors_of,
    simulate,
)

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
    "larkmere_record",
    "larkmere_texts",
    "run_cycle",
    "sensors_of",
    "simulate",
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

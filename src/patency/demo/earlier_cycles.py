"""Earlier cycles of a load of the demo day, run as planned on the simulated machine, kept as its baseline."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.demo.cycle_records import larkmere_record
from patency.demo.simulator import Mishap, Recorder, sensors_of
from patency.flow import nominal_flow_of_load
from patency.steps import RecordFiles, keep_cycle

if TYPE_CHECKING:
    import numpy as np

    from patency.catalogue import Department
    from patency.evidence import BaselineFile
    from patency.load import Load

CYCLES = 6


def earlier_cycles(department: Department, load: Load, rng: np.random.Generator) -> BaselineFile:
    """Run a load as planned several times and keep what its sensors showed.

    Parameters
    ----------
    department
        Larkmere.
    load
        The load.
    rng
        Source of noise.

    Returns
    -------
    BaselineFile
        The baseline.
    """
    kept: BaselineFile | None = None
    stages = nominal_flow_of_load(department, load).stages
    pressures_pa = {name: stage.circulation_pa.nominal for name, stage in stages.items()}
    kind, offsets = department.machine_kinds[load.machine_kind], department.machines[load.machine].sensor_offsets
    recorder = Recorder(machine=load.machine, programme=load.programme)
    programme = department.programmes[load.programme]
    for number in range(CYCLES):
        sensors = sensors_of(kind, rng, offsets)
        text, description = larkmere_record(Mishap.NOTHING, programme, pressures_pa, sensors, rng, recorder=recorder)
        files = RecordFiles(text, description, f"earlier-{number + 1}.csv", f"earlier-{number + 1}.yaml")
        kept = keep_cycle(files, department, load, load.starts.date(), "clean side 2 (invented)", kept).file
    assert kept is not None  # noqa: S101 - there is at least one cycle
    return kept

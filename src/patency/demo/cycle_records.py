"""The cycle records of the demo day: the simulator fed with what truly happened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.demo.simulator import Fault, Mishap, Recorder, SimulatedSensor, dip_leaving, simulate
from patency.demo.truth import TRUTHS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np

    from patency.catalogue import Programme


def larkmere_record(
    mishap: Mishap,
    programme: Programme,
    true_pressures_pa: Mapping[str, float],
    sensors: Sequence[SimulatedSensor],
    rng: np.random.Generator,
    *,
    recorder: Recorder | None = None,
    further_faults: Sequence[Fault] = (),
) -> tuple[str, str]:
    """Simulate the record of one cycle of the demo day.

    Parameters
    ----------
    mishap
        What befell the cycle.
    programme
        The programme.
    true_pressures_pa
        Name of each wet stage to the pressure that truly stood at the circulation [Pa]: computed for the carrier as
        it truly was, with the port open or the hose off.
    sensors
        The machine's sensors.
    rng
        Source of noise.
    recorder
        How the record is written; with a stage column when left out.
    further_faults
        Faults of the machine itself, such as a sensor that reads low.

    Returns
    -------
    tuple
        Text of the record (CSV) and of its description (YAML).
    """
    truth = TRUTHS[mishap]
    faults = list(further_faults)
    if truth.power_dip is not None and truth.a0_left_s is not None:
        faults.append(dip_leaving(truth.a0_left_s, truth.power_dip, programme, true_pressures_pa))
    return simulate(programme, true_pressures_pa, sensors, faults, rng, recorder=recorder)

"""Faults of a wanted size: at which second of the hold the mains must fail for a certain A0 to be left."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.demo.simulator.machine import MachineModel, run_cycle
from patency.evidence import a0

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Programme
    from patency.demo.simulator.faults import PowerDip


def dip_leaving(
    wanted_a0_s: float,
    dip: PowerDip,
    prescription: Programme,
    true_pressures_pa: Mapping[str, float],
    machine: MachineModel | None = None,
) -> PowerDip:
    """Move a power dip along the hold until the load is left with a certain A0: the later it comes, the more is left.

    Parameters
    ----------
    wanted_a0_s
        The A0 that the load should truly reach [s].
    dip
        The dip, whenever it comes.
    prescription
        The programme.
    true_pressures_pa
        Name of each wet stage to the pressure at the circulation [Pa].
    machine
        The machine; one of common size when left out.

    Returns
    -------
    PowerDip
        The dip at the whole second that comes nearest from below.

    Raises
    ------
    ValueError
        When no moment of the hold leaves so little or so much.
    """
    stage = next(stage for stage in prescription.stages if stage.name == dip.stage)

    def left(after_s: int) -> float:
        course = run_cycle(prescription, true_pressures_pa, [replace(dip, after_s=float(after_s))], machine)
        wet = course.pressure_pa.size - sum(word == "dry" for word in course.stages)
        return a0(course.time_s[:wet], course.load_c[:wet]).a0_s

    early, late = 0, int(stage.hold_s)
    if not left(early) <= wanted_a0_s <= left(late):
        message = (
            f"a dip in {dip.stage!r} leaves an A0 of {left(early):.0f} to {left(late):.0f} s, not {wanted_a0_s:.0f} s"
        )
        raise ValueError(message)
    while late - early > 1:
        middle = (early + late) // 2
        early, late = (middle, late) if left(middle) <= wanted_a0_s else (early, middle)
    return replace(dip, after_s=float(early))

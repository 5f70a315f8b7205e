"""One simulated cycle seen by two recorders, the second with a clock and sensors of its own."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import read_department
from patency.demo import larkmere_texts
from patency.demo.simulator import MachineModel, Recorder, run_cycle, sensors_of, write_down
from patency.evidence import read_description, read_record

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.evidence import CycleRecord

RECORDER = Recorder(machine="Alder", programme="gentle_lumen")


@cache
def larkmere() -> Department:
    return read_department(larkmere_texts())


def two_recorders(
    seed: int, *, offset_s: float, drift: float, step_s: int = 2, reads_high: dict[str, float] | None = None
) -> tuple[CycleRecord, CycleRecord, float]:
    """Simulate a cycle; the logger's time t is that of the machine at offset + (1 + drift) t.

    The last of the three is the true time, by the machine, of the logger's first sample.
    """
    department, chance = larkmere(), np.random.default_rng(seed)
    programme = department.programmes["gentle_lumen"]
    kind = department.machine_kinds["four-arm lumen washer"]
    pressures = {stage.name: float(chance.uniform(17e3, 26e3)) for stage in programme.stages if stage.kind.wet}
    course = run_cycle(programme, pressures, [], MachineModel(), chance)
    text, description = write_down(course, sensors_of(kind, chance), [], chance, RECORDER)
    machine = read_record(text, read_description(description))
    own = [
        replace(sensor, offset=sensor.offset + (reads_high or {}).get(sensor.column, 0.0))
        for sensor in sensors_of(kind, chance)
        if sensor.quantity in {"temperature", "pressure"}
    ]
    text, description = write_down(course, own, [], chance, replace(RECORDER, stage_column=None, interval_s=step_s))
    written = _on_its_clock(text, offset_s, drift)
    first_s = float(written.splitlines()[1].partition(",")[0])
    return machine, read_record(written, read_description(description)), offset_s + (1.0 + drift) * first_s


def _on_its_clock(text: str, offset_s: float, drift: float) -> str:
    head, *rows = text.splitlines()
    lines = [head]
    for row in rows:
        stamp, rest = re.fullmatch(r"([^,]*)(,.*)", row).groups()  # type: ignore[union-attr]
        own = (float(stamp) - offset_s) / (1.0 + drift)
        if own >= 0.0:
            lines.append(f"{own:.3f}{rest}")
    return "\n".join(lines) + "\n"

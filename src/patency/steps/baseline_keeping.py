"""Keeps a baseline: adds a cycle that somebody looked at to the earlier ones of the same load."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from patency.errors import InputError
from patency.evidence import (
    ALARM_CRITERION,
    BaselineColumn,
    BaselineCycle,
    BaselineFile,
    CriterionState,
    judge,
    read_stages,
    write_baseline,
)
from patency.flow import flow_of_load
from patency.load import load_kind
from patency.steps.cycle_judging import machine_of, prediction_of
from patency.steps.kept_baselines import baseline_of
from patency.texts import people_quantity

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.catalogue import Department
    from patency.evidence import LoadMachine
    from patency.load import Load
    from patency.steps.cycle_judging import RecordFiles


@dataclass(frozen=True, slots=True)
class BaselineKept:
    """A baseline with one cycle more.

    Parameters
    ----------
    file
        The baseline.
    left_out
        What of the record could not be used and why, one sentence each.
    """

    file: BaselineFile
    left_out: tuple[str, ...]

    @property
    def text(self) -> str:
        """The file's text."""
        return write_baseline(self.file)

    @property
    def lines(self) -> list[str]:
        """What it holds, for people."""
        kept, known = self.file, baseline_of(self.file)
        lines = [f"{kept.carrier}, {kept.programme}, {kept.machine}: {known.cycles} cycles of the same load"]
        scatter = known.scatter if known.cycles > 1 else np.full(len(kept.columns), np.nan)
        for column, mean, spread in zip(kept.columns, known.mean, scatter, strict=True):
            told = "not known yet" if np.isnan(spread) else people_quantity(float(spread), column.unit)
            lines.append(
                f"  {column.sensor}, {column.stage}: mean {people_quantity(float(mean), column.unit)}, scatter {told}"
            )
        why = known.why_not_for_the_alarm
        lines.append(f"the alarm cannot be raised yet: {why}" if why else "the alarm can be raised against it")
        return [*lines, *(f"not used: {what}" for what in self.left_out)]

    @property
    def data(self) -> dict[str, Any]:
        """The same for programs."""
        known = baseline_of(self.file)
        return {
            "format": "patency-baseline-kept/1",
            "baseline": self.file.model_dump(mode="json"),
            "mean": known.mean.tolist(),
            "scatter": known.scatter.tolist() if known.cycles > 1 else None,
            "left_out": list(self.left_out),
        }


def keep_cycle(
    files: RecordFiles, department: Department, load: Load, on: date, seen_by: str, before: BaselineFile | None
) -> BaselineKept:
    """Add a cycle to the baseline of its load.

    Parameters
    ----------
    files
        The cycle's record.
    department
        The department.
    load
        The load as planned.
    on
        The day.
    seen_by
        Who saw at unloading that every hose and sleeve was in place.
    before
        The baseline so far; None begins one.

    Returns
    -------
    BaselineKept
        The baseline with this cycle.

    Raises
    ------
    InputError
        When the record is of another machine or load, is in the baseline already, missed a criterion, or has not the
        readings that a cycle of this baseline has.
    """
    record = files.read()
    prediction = prediction_of(department, load, flow_of_load(department, load))
    machine, limits = machine_of(department, load), department.limits.cycle
    programme, named = department.programmes[load.programme], record.description.machine
    if prediction is None:
        expected = "every part on the way of the water described: patency site check lists what is not"
        raise InputError(f"load {load.id}", "something on the way of the water is not stated", expected)
    if named not in machine.names:
        raise InputError(files.record_name, f"it names the machine {named!r}", f"one of {', '.join(machine.names)}")
    judged = judge(record, programme, limits, prediction, on=on, programme_key=load.programme, machine=machine)
    missed = {one.name for one in judged.criteria if one.state is CriterionState.NOT_MET} - {ALARM_CRITERION}
    if missed:
        raise InputError(files.record_name, f"the cycle missed: {', '.join(sorted(missed))}", "a cycle without fault")
    read = read_stages(record, programme, limits, prediction, machine, on=on)
    shown = {(one.stage, one.sensor): one.value for one in read.water}
    if not shown:
        why = "; ".join(read.left_out) or "it has no pressure or flow of the water's course"
        raise InputError(files.record_name, f"nothing to keep: {why}", "a pressure or flow in a wet stage")
    begun = _begun(load, named or "", machine, list(shown))
    so_far = begun if before is None else before
    _refuse_another(so_far, begun)
    if record.sha256 in {cycle.record for cycle in so_far.cycles}:
        raise InputError(files.record_name, "it is in the baseline already", "each record once")
    missing = [f"{one.sensor} in {one.stage}" for one in so_far.columns if (one.stage, one.sensor) not in shown]
    if missing:
        what = "; ".join([f"no reading of {', '.join(missing)}", *read.left_out])
        raise InputError(files.record_name, what, "every reading that the baseline has")
    readings = tuple(shown[one.stage, one.sensor] for one in so_far.columns)
    cycle = BaselineCycle(record=record.sha256, kept_on=on, seen_by=seen_by, readings=readings)
    cycles = (*so_far.cycles, cycle)
    whole = BaselineFile.model_validate({**dict(so_far), "count": len(cycles), "cycles": cycles})
    return BaselineKept(whole, read.left_out)


def _begun(load: Load, named: str, machine: LoadMachine, columns: Sequence[tuple[str, str]]) -> BaselineFile:
    """Begin a baseline that has no cycle yet."""
    units: dict[str, Literal["Pa", "m3/s"]] = {"pressure": "Pa", "flow": "m3/s"}
    return BaselineFile.model_construct(
        format="patency-baseline/1",
        load_kind=load_kind(load),
        carrier=load.carrier,
        programme=load.programme,
        machine=named,
        columns=tuple(
            BaselineColumn(stage=stage, sensor=sensor, unit=units[machine.sensors[sensor].quantity])
            for stage, sensor in columns
        ),
        count=0,
        cycles=(),
    )


def _refuse_another(before: BaselineFile, this: BaselineFile) -> None:
    """Refuse a baseline of another load kind or machine."""
    if before.load_kind != this.load_kind:
        what = f"it is of another kind of load (of {before.carrier}, {before.programme})"
        raise InputError("baseline", what, "one of the same lumens on the same ports, capped and open alike")
    if before.machine != this.machine:
        raise InputError("baseline", f"it is of {before.machine}", f"one of {this.machine}, in which the record ran")

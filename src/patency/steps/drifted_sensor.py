"""Judges released loads again with what a sensor was found to show too much taken off its readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError, InputErrors
from patency.evidence import LoadLookedAt, corrected, judge_steam, lost_criteria, read_drifted
from patency.steps.cycle_judging import read_record_files
from patency.steps.files import read_text
from patency.steps.judging_against import against_load
from patency.steps.load_planning import read_planned
from patency.steps.site_reading import read_site

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from patency.catalogue import Department
    from patency.evidence import Criterion, CycleRecord, ReleasedLoad, SensorCorrection
    from patency.load import Plan


def look_at_loads(file: Path, folder: Path, plan: Path | None) -> list[LoadLookedAt]:
    """Judge the loads of a drifted sensor again.

    Parameters
    ----------
    file
        What was found of the sensor, and the loads; their records lie as seen from it.
    folder
        The department's folder.
    plan
        The plan of the washed loads; None where there are none.

    Returns
    -------
    list
        One for each load. A load that cannot be judged again is listed with the reason and does not stand.

    Raises
    ------
    InputErrors
        With every fault of the file, the department or the plan.
    """
    stated = read_drifted(read_text(file), str(file))
    if plan is None:
        department, planned = read_site(folder).department, None
    else:
        department, planned = read_planned(plan, folder)
    return [_looked_at(load, stated.sensor, department, planned, file.parent) for load in stated.loads]


def _looked_at(
    load: ReleasedLoad, sensor: SensorCorrection, department: Department, plan: Plan | None, beside: Path
) -> LoadLookedAt:
    try:
        record = read_record_files(beside / load.record, beside / load.description).read()
        fixed = corrected(record, [sensor], load.on)
        if fixed is record:
            return LoadLookedAt(load, (), _not_concerned(record, sensor, load))
        before, after = (_criteria(one, load, department, plan) for one in (record, fixed))
    except InputErrors as faults:
        return LoadLookedAt(load, (), "; ".join(fault.line for fault in faults.faults))
    except InputError as fault:
        return LoadLookedAt(load, (), fault.line)
    return LoadLookedAt(load, lost_criteria(before, after))


def _not_concerned(record: CycleRecord, sensor: SensorCorrection, load: ReleasedLoad) -> str:
    """Say why nothing was corrected: no reason where the day lies outside those of the sensor."""
    if record.description.machine != sensor.machine:
        return f"the record names {record.description.machine!r}, not {sensor.machine!r}"
    if sensor.column not in record.traces:
        return f"the record has no column {sensor.column!r}"
    return "" if not sensor.concerns(sensor.machine, load.on) else "the readings were not corrected"


def _criteria(
    record: CycleRecord, load: ReleasedLoad, department: Department, plan: Plan | None
) -> Sequence[Criterion]:
    if load.load is not None:
        if plan is None:
            raise InputError("--plan", "not given", f"the plan that load {load.load!r} belongs to")
        planned = {one.id: one for one in plan.loads}.get(load.load)
        if planned is None:
            raise InputError("load", f"no load {load.load!r} in this plan", ", ".join(one.id for one in plan.loads))
        return against_load(department, planned, load.on).judge(record).criteria
    programme = department.steam_programmes.get(load.programme or "")
    if programme is None or load.programme is None:
        known = ", ".join(department.steam_programmes) or "none described"
        raise InputError("programme", f"no steam programme {load.programme!r}", f"one of: {known}")
    limits = department.limits.steam
    return judge_steam(record, programme, limits, on=load.on, programme_key=load.programme).criteria

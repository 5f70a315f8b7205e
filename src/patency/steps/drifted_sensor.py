"""Judges released loads again with what a sensor was found to show too much taken off its readings."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from patency.errors import InputError, InputErrors
from patency.evidence import LoadLookedAt, corrected, judge_steam, lost_criteria, read_drifted
from patency.ledger import Kind, LoadRecord, open_ledger
from patency.steps.cycle_judging import read_record_files
from patency.steps.files import read_text
from patency.steps.judging_against import against_load
from patency.steps.load_planning import read_planned
from patency.steps.site_reading import read_site
from patency.steps.used_since import loads_of_sensor, used_since

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from patency.catalogue import Department
    from patency.evidence import Criterion, CycleRecord, DriftedSensor, ReleasedLoad, SensorCorrection
    from patency.ledger import Ledger
    from patency.load import Plan


def look_at_loads(file: Path, folder: Path, plan: Path | None, ledger: str | None = None) -> list[LoadLookedAt]:
    """Judge the loads of a drifted sensor again, and ask a ledger what of them was used since.

    Parameters
    ----------
    file
        What was found of the sensor, and the loads; their records lie as seen from it.
    folder
        The department's folder.
    plan
        The plan of the washed loads; None where there are none.
    ledger
        Where the ledger is kept: the path of a file, or ``postgresql://...``; None where none is asked, and then only
        what the file says was used is known.

    Returns
    -------
    list
        One for each load of the file, then one for each released load that the ledger has of the sensor's machine and
        days and the file does not name. A load that cannot be judged again is listed with the reason and does not
        stand.

    Raises
    ------
    InputErrors
        With every fault of the file, the department or the plan, or where there is no ledger.
    """
    stated = read_drifted(read_text(file), str(file))
    if plan is None:
        department, planned = read_site(folder).department, None
    else:
        department, planned = read_planned(plan, folder)
    looked = [_looked_at(load, stated.sensor, department, planned, file.parent) for load in stated.loads]
    if ledger is None:
        return looked
    with closing(open_ledger(ledger)) as known:
        joined = [_joined(one, load, stated, known) for one, load in zip(looked, stated.loads, strict=True)]
        named = {load.ledger_key for load in stated.loads}
        left_out = [one for one in loads_of_sensor(known, stated.sensor) if one.load not in named]
        return joined + [_left_out(one, known) for one in left_out]


def _joined(looked: LoadLookedAt, load: ReleasedLoad, stated: DriftedSensor, ledger: Ledger) -> LoadLookedAt:
    """Add what the ledger knows of a load; a load that is another one there than here does not stand."""
    key, machine = load.ledger_key, stated.sensor.machine
    record = ledger.find(LoadRecord, key) if key else None
    if record is None or record.started is None:
        named = "in_ledger does not say what the ledger calls it" if key is None else f"no load {key!r} ran"
        return _doubted(looked, f"what was used is not known: {named}")
    since = used_since(ledger, record)
    told = replace(looked, used=(*(looked.used or ()), *since.used), not_used=since.not_used)
    day = _day_of(record, ledger)
    if record.machine != machine:
        told = _doubted(told, f"in the ledger load {key} ran in {record.machine!r}, not in {machine!r}")
    if day != load.on:  # else the correction of another day would have been taken off, or none
        told = _doubted(told, f"in the ledger load {key} ran on {day}, the file says {load.on}")
    return told


def _day_of(record: LoadRecord, ledger: Ledger) -> date:
    """Tell on which day a load was started, by the zone of this machine as in `loads_of_sensor`."""
    started = ledger.story(Kind.LOAD, record.load, event="load started")[-1]
    return datetime.fromisoformat(started["at"]).astimezone().date()


def _doubted(looked: LoadLookedAt, why: str) -> LoadLookedAt:
    return replace(looked, why_not="; ".join(one for one in (looked.why_not, why) if one))


def _left_out(record: LoadRecord, ledger: Ledger) -> LoadLookedAt:
    since = used_since(ledger, record)
    why = f"the ledger has it of {record.machine!r} and these days, the file does not name it"
    return LoadLookedAt(record.load, "", why_not=why, used=since.used, not_used=since.not_used)


def _looked_at(
    load: ReleasedLoad, sensor: SensorCorrection, department: Department, plan: Plan | None, beside: Path
) -> LoadLookedAt:
    looked = LoadLookedAt(load.name, load.record, used=load.used)
    try:
        record = read_record_files(beside / load.record, beside / load.description).read()
        fixed = corrected(record, [sensor], load.on)
        if fixed is record:
            return replace(looked, why_not=_not_concerned(record, sensor, load))
        before, after = (_criteria(one, load, department, plan) for one in (record, fixed))
    except InputErrors as faults:
        return replace(looked, why_not="; ".join(fault.line for fault in faults.faults))
    except InputError as fault:
        return replace(looked, why_not=fault.line)
    return replace(looked, lost=lost_criteria(before, after))


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

"""Says what a record is judged against: the site's limits, and the load with its programme where one is named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import CycleLimits
from patency.errors import InputError
from patency.evidence import CycleAgainst
from patency.flow import alarm_of_site, flow_of_load
from patency.steps.cycle_judging import machine_of, prediction_of
from patency.steps.fault_finding import faults_of_one
from patency.steps.kept_baselines import baseline_of_record, read_baselines
from patency.steps.load_planning import read_planned
from patency.steps.plan_loads import load_of_plan

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from patency.catalogue import Department
    from patency.flow import Baseline
    from patency.load import Load


def against_site(department: Department | None, on: date) -> CycleAgainst:
    """Say what a record is judged against when nobody says which load it belongs to.

    Parameters
    ----------
    department
        The department; None where no site was given.
    on
        The day of the decision.

    Returns
    -------
    CycleAgainst
        The site's limits, or none.
    """
    return CycleAgainst(limits=department.limits.cycle if department else CycleLimits(), on=on)


def against_load(department: Department, load: Load, on: date, baseline: Baseline | None = None) -> CycleAgainst:
    """Say what the record of a load's cycle is judged against.

    Parameters
    ----------
    department
        The department.
    load
        The load as planned.
    on
        The day of the decision.
    baseline
        Earlier cycles of the same load; None where none are kept, and no alarm is raised.

    Returns
    -------
    CycleAgainst
        Programme, limits, predicted pressures and the machine; nobody has looked at the unloading yet.
    """
    spots = faults_of_one(department, load, on, alarm_of_site(department.limits.cycle), baseline).spots
    return CycleAgainst(
        limits=department.limits.cycle,
        on=on,
        programme=department.programmes[load.programme],
        programme_key=load.programme,
        prediction=prediction_of(department, load, flow_of_load(department, load), spots, baseline),
        machine=machine_of(department, load),
    )


def judged_against(
    department: Department | None,
    folder: Path | None,
    plan: Path | None,
    load_id: str | None,
    on: date,
    baseline: Path | None = None,
) -> CycleAgainst:
    """Say what records are judged against, from what was named.

    Parameters
    ----------
    department
        The department; None where no site was given.
    folder
        Its folder.
    plan
        The plan; None where none was named.
    load_id
        The load in it.
    on
        The day of the decision.
    baseline
        The file of earlier cycles of the same load; None where none are kept.

    Returns
    -------
    CycleAgainst
        Of the load where one was named, else of the site.

    Raises
    ------
    InputError
        When only some of site, plan and load are named, the plan has no such load, or the baseline is of another.
    """
    if (plan is None) != (load_id is None) or (plan is not None and folder is None):
        raise InputError("--plan", "not all of site, plan and load are named", "--plan, --load and --site together")
    if plan is None or folder is None or load_id is None:
        if baseline is not None:
            raise InputError(
                "--baseline", "no load is named that it is of", "--baseline with --plan, --load and --site"
            )
        return against_site(department, on)
    planned_for, planned = read_planned(plan, folder)
    load = load_of_plan(planned, load_id)
    kept = None if baseline is None else baseline_of_record(load, *read_baselines([baseline]))
    return against_load(planned_for, load, on, kept)

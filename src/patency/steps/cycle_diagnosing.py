"""Says what the pressures and arms of a load's cycle can have been; never that all lumens were fed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow import nominal_flow_of_load, read_rates
from patency.steps.cycle_judging import machine_of, prediction_of
from patency.steps.files import read_text
from patency.steps.record_diagnosing import CycleDiagnosed, diagnose_record

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from patency.catalogue import Department
    from patency.flow import Baseline, Rates
    from patency.load import Load
    from patency.steps.cycle_judging import RecordFiles


def diagnose_cycle(
    files: RecordFiles,
    department: Department,
    load: Load,
    on: date,
    baseline: Baseline | None = None,
    rates: Rates | None = None,
) -> CycleDiagnosed:
    """Rank what the record of a load's cycle can have been.

    Parameters
    ----------
    files
        The record.
    department
        The department.
    load
        The load as planned.
    on
        The day of the decision, on which limits have to hold.
    baseline
        Earlier cycles of the same load; None to hold readings against what is computed.
    rates
        How often things go wrong; the shipped assumptions where left out.

    Returns
    -------
    CycleDiagnosed
        The diagnosis.

    Raises
    ------
    InputError
        When nothing in the record can be weighed, or the site leaves out what the calculation needs.
    InputErrors
        With every fault of the record or its description.
    """
    prediction = prediction_of(department, load, nominal_flow_of_load(department, load))
    machine = machine_of(department, load)
    return diagnose_record(files.read(), department, load, prediction, machine, on, baseline, rates)


def read_fault_rates(path: Path) -> Rates:
    """Read how often each thing goes wrong in a department.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Rates
        What it states, in place of the shipped assumptions.

    Raises
    ------
    InputErrors
        With every fault of the file.
    """
    return read_rates(read_text(path), str(path))

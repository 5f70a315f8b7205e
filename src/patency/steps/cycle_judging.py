"""Judges a cycle record: by itself, or against the load it belongs to."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.catalogue import CycleLimits
from patency.evidence import (
    NO_LIMIT,
    ArmSpeed,
    LoadMachine,
    OneHoseOff,
    PredictedPressure,
    PressurePrediction,
    WaterAlarm,
    evidence_document,
    judge,
    judge_alone,
    read_columns,
    read_description,
    read_record,
)
from patency.flow import (
    AGAINST_THE_MODEL,
    Alarm,
    FaultKind,
    alarm_of_site,
    envelope_of_load,
    false_alarms_of_each,
    fed,
    flow_of_load,
)
from patency.papers import load_file, plot_record
from patency.steps.envelope_words import envelope_summary
from patency.steps.eye_check_words import unseen_summary
from patency.steps.fault_finding import faults_of_one
from patency.steps.files import read_bytes, read_text
from patency.steps.interlocking import judged_with_tests
from patency.steps.load_file_printing import load_file_as_files
from patency.steps.parquet_files import PARQUET_SUFFIX, read_parquet_columns
from patency.steps.record_diagnosing import diagnosed_on_a_page
from patency.steps.second_source import judged_with_logger
from patency.steps.weakest import weakest_lumens

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from patency.catalogue import Department, MachineKind
    from patency.evidence import CycleRecord, Evidence, EyeCheck
    from patency.flow import Baseline, BlindSpots, LoadFlow
    from patency.load import Load
    from patency.papers import LoadFile
    from patency.steps.interlocking import RelyingOn

_WEAKEST_SHOWN = 8
_HOSE_OFF = {FaultKind.HOSE_OFF_PORT, FaultKind.HOSE_OFF_PIECE}
_NO_SITE = "no site was given, so there is no limit (--site)"


@dataclass(frozen=True, slots=True, eq=False)
class RecordColumns:
    """A record that came as a Parquet file.

    Parameters
    ----------
    columns
        Column to its cells: text, or numbers with not-a-number where there is none.
    sha256
        Digest of the file, in hexadecimal.
    """

    columns: Mapping[str, tuple[str, ...] | NDArray[np.float64]]
    sha256: str


@dataclass(frozen=True, slots=True)
class RecordFiles:
    """A record and its description as they came.

    Parameters
    ----------
    record
        The record: its text, or its columns where it came as a Parquet file.
    description
        The description's text.
    record_name, description_name
        What faults are named after.
    logger
        The record of an independent logger of the same cycle; None where there is none.
    """

    record: str | RecordColumns
    description: str
    record_name: str
    description_name: str
    logger: RecordFiles | None = None

    def read(self) -> CycleRecord:
        """Read the record.

        Returns
        -------
        CycleRecord
            The record.

        Raises
        ------
        InputErrors
            With every fault of the description, or the fault that makes the record unusable.
        """
        description = read_description(self.description, self.description_name)
        if isinstance(self.record, RecordColumns):
            return read_columns(self.record.columns, description, self.record.sha256, self.record_name)
        return read_record(self.record, description, self.record_name)


@dataclass(frozen=True, slots=True)
class CycleJudged:
    """What came of judging the cycle of one load.

    Parameters
    ----------
    evidence
        Every criterion with its state.
    file
        The load file as people read it.
    """

    evidence: Evidence
    file: LoadFile

    def files(self, printed: datetime) -> dict[str, bytes]:
        """Set the load file on paper, as a page and as data.

        Parameters
        ----------
        printed
            When, with its zone.

        Returns
        -------
        dict[str, bytes]
            File name to content.
        """
        return load_file_as_files(self.file, "load", evidence_document(self.evidence), printed)


def read_record_files(record: Path, description: Path, logger: tuple[Path, Path] | None = None) -> RecordFiles:
    """Read a record and its description: a Parquet file by the ending of its name, CSV otherwise.

    Parameters
    ----------
    record
        The record.
    description
        What its columns hold.
    logger
        The record of an independent logger and its description; None where there is none.

    Returns
    -------
    RecordFiles
        Both as they came.

    Raises
    ------
    InputError
        When one of them cannot be read or is larger than one cycle can be.
    """
    text = read_text(description)
    beside = None if logger is None else read_record_files(*logger)
    if record.suffix.lower() != PARQUET_SUFFIX:
        return RecordFiles(read_text(record), text, str(record), str(description), beside)
    columns = read_parquet_columns(record)
    digest = hashlib.sha256(read_bytes(record)).hexdigest()
    return RecordFiles(RecordColumns(columns, digest), text, str(record), str(description), beside)


def judge_record(files: RecordFiles, limits: CycleLimits | None, on: date) -> Evidence:
    """Judge a record by itself: what it shows without programme and load.

    Parameters
    ----------
    files
        The record.
    limits
        The site's limits; None where no site was given.
    on
        The day of the decision.

    Returns
    -------
    Evidence
        A0 and completeness; all else is not evaluated.
    """
    if limits is not None:
        return judge_alone(files.read(), limits, on=on)
    alone = judge_alone(files.read(), CycleLimits(), on=on)
    criteria = tuple(replace(one, why=_NO_SITE) if one.why == NO_LIMIT else one for one in alone.criteria)
    return alone.model_copy(update={"criteria": criteria})


def judge_cycle(
    files: RecordFiles,
    department: Department,
    load: Load,
    on: date,
    eye_check: EyeCheck | None = None,
    interlock: RelyingOn | None = None,
    baseline: Baseline | None = None,
) -> CycleJudged:
    """Judge the record of a load's cycle against its programme, the site's limits and the flow predicted for this load.

    Parameters
    ----------
    files
        The record.
    department
        The department.
    load
        The load as planned.
    on
        The day of the decision.
    eye_check
        What was seen at unloading; None where nobody has entered it.
    interlock
        The calendar of tests; None leaves open whether they are in date.
    baseline
        Earlier cycles of the same load; None where none are kept, and no alarm is raised.

    Returns
    -------
    CycleJudged
        The evidence and the load file.
    """
    load_flow = flow_of_load(department, load)
    found = faults_of_one(department, load, on, alarm_of_site(department.limits.cycle), baseline)
    prediction = prediction_of(department, load, load_flow, found.spots, baseline)

    def judging(one: CycleRecord) -> Evidence:
        return judge(
            one,
            department.programmes[load.programme],
            department.limits.cycle,
            prediction,
            on=on,
            eye_check=eye_check,
            programme_key=load.programme,
            machine=machine_of(department, load),
        )

    logger = None if files.logger is None else files.logger.read()
    record, evidence = judged_with_logger(files.read(), logger, judging)
    evidence = judged_with_tests(evidence, interlock, load.programme)
    replies = fed(department, load, load_flow, on)
    lumens = weakest_lumens(department, load, load_flow, replies, _WEAKEST_SHOWN)
    plot = plot_record(record, evidence)
    machine = machine_of(department, load)
    diagnosed = diagnosed_on_a_page(record, department, load, prediction, machine, on, baseline)
    unseen = unseen_summary(found.spots) if found.spots.blind else ""
    envelope = envelope_summary(envelope_of_load(department, load, load_flow, on))
    return CycleJudged(evidence, load_file(department, load, evidence, lumens, plot, envelope, unseen, diagnosed))


def machine_of(department: Department, load: Load) -> LoadMachine:
    """Describe the machine a load was planned for.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    LoadMachine
        Its kind, the machines of that kind and their sensors.
    """
    kind = department.machine_kinds[load.machine_kind]
    machines = {name: each for name, each in department.machines.items() if each.kind == load.machine_kind}
    offsets = {name: machine.sensor_offsets for name, machine in machines.items()}
    return LoadMachine(kind.name, tuple(machines), kind.sensors, offsets, _arm_speeds(kind))


def _arm_speeds(kind: MachineKind) -> dict[str, ArmSpeed]:
    """Say how fast the arms of a kind of machine turn, as far as that is stated."""
    return {
        name: ArmSpeed(arm.rotation_rpm, arm.rotation_at_pa)
        for name, arm in kind.arms.items()
        if arm.rotation_rpm is not None and arm.rotation_at_pa is not None
    }


def prediction_of(
    department: Department,
    load: Load,
    load_flow: LoadFlow,
    spots: BlindSpots | None = None,
    baseline: Baseline | None = None,
) -> PressurePrediction | None:
    """Say which pressure to expect in each wet stage of a load, and what the alarm on its readings can show.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    load_flow
        The water in it.
    spots
        What the sensors see of its faults; None where that was not worked out.
    baseline
        Earlier cycles of the same load; None where none are kept.

    Returns
    -------
    PressurePrediction | None
        Its source, each stage, and the level at which pressures are reckoned; None where something on the way of the
        water is not stated.
    """
    if load_flow.network.unstated:
        return None
    changes = load_flow.hose_off_pressure_change_pa
    kind = department.machine_kinds[load.machine_kind]
    return PressurePrediction(
        source=f"computed for load {load.id} as planned",
        stages={
            name: PredictedPressure(
                pressure_pa=stage.circulation_pa,
                one_hose_off_pa=max(changes[name], key=abs) if name in changes else None,
            )
            for name, stage in load_flow.stages.items()
        },
        sump_level_m=kind.pump.sump_level_m,
        one_hose_off=None if spots is None else one_hose_off(spots),
        alarm=None
        if baseline is None
        else WaterAlarm(
            machine=baseline.machine,
            columns=baseline.columns,
            readings=tuple(tuple(row) for row in baseline.readings.tolist()),
            records=baseline.records,
            share=false_alarms_of_each(department, kind, Alarm(false_alarms=1.0)),
        ),
    )


def one_hose_off(spots: BlindSpots) -> OneHoseOff | None:
    """Say how likely the alarm shows the one hose off that shows most.

    Parameters
    ----------
    spots
        What the sensors see of a load's faults.

    Returns
    -------
    OneHoseOff | None
        By the comparison that decides what is blind, or by the computed value where nothing is compared; None where
        nothing hangs on a hose.
    """
    compared = spots.comparison if spots.comparison in spots.probability else AGAINST_THE_MODEL.name
    hoses = [row for row, fault in enumerate(spots.faults) if fault.kind in _HOSE_OFF]
    if not hoses:
        return None
    most = float(spots.probability[compared][hoses].max())
    return OneHoseOff(most, spots.alarm.least_probability, spots.alarm.false_alarms, compared)

"""Judges the record of a steam sterilizer: a cycle, or an air-leakage test."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.evidence import SteamAgainst, judge_leakage, steam_document
from patency.papers import plot_record, steam_file
from patency.steps.interlocking import judged_with_tests
from patency.steps.load_file_printing import load_file_as_files
from patency.steps.second_source import judged_with_logger

if TYPE_CHECKING:
    from datetime import date, datetime, tzinfo

    from patency.catalogue import Department
    from patency.evidence import CycleRecord, EnteredChecks, SteamEvidence
    from patency.papers import LoadFile
    from patency.steps.cycle_judging import RecordFiles
    from patency.steps.interlocking import RelyingOn


@dataclass(frozen=True, slots=True)
class SteamJudged:
    """What came of judging a record of a steam sterilizer.

    Parameters
    ----------
    evidence
        Every criterion with its state.
    file
        The load file as people read it.
    """

    evidence: SteamEvidence
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
        return load_file_as_files(self.file, "steam", steam_document(self.evidence), printed)


def judge_steam_cycle(
    files: RecordFiles,
    department: Department,
    programme: str,
    on: date,
    *,
    name: str,
    checks: EnteredChecks | None = None,
    interlock: RelyingOn | None = None,
    zone: tzinfo | None = None,
) -> SteamJudged:
    """Judge the record of a cycle of a steam sterilizer against its programme and the site's limits.

    Parameters
    ----------
    files
        The record.
    department
        The department.
    programme
        Key of the programme that should have run.
    on
        The day of the decision.
    name
        What the load is called.
    checks
        The tests and looks as entered; None where nothing was.
    interlock
        The calendar of tests; None leaves open whether they are in date.
    zone
        In which the times of the checks are told; None for the local time of this machine.

    Returns
    -------
    SteamJudged
        The evidence and the load file.

    Raises
    ------
    InputError
        When the department has no such programme.
    InputErrors
        With every fault of description or record.
    """
    machines = files.read()
    against = begun(against_steam(department, programme, on, checks), machines, zone)

    logger = None if files.logger is None else files.logger.read()
    record, evidence = judged_with_logger(machines, logger, against.judge)
    evidence = judged_with_tests(evidence, interlock, programme)
    plot = plot_record(record, evidence)
    machine = record.description.machine or "a machine the record does not name"
    return SteamJudged(evidence, steam_file(department, name, evidence, machine, plot))


def against_steam(department: Department, programme: str, on: date, checks: EnteredChecks | None) -> SteamAgainst:
    """Say what the record of a cycle of a steam sterilizer is judged against.

    Parameters
    ----------
    department
        The department.
    programme
        Key of the programme that should have run.
    on
        The day of the decision.
    checks
        The tests and looks as entered; None where nothing was.

    Returns
    -------
    SteamAgainst
        Limits, programme and what was entered.

    Raises
    ------
    InputError
        When the department has no such programme.
    """
    prescribed = department.steam_programmes.get(programme)
    if prescribed is None:
        known = ", ".join(department.steam_programmes) or "none described"
        raise InputError("--programme", f"no steam programme {programme!r}", f"one of: {known}")
    limits = department.limits.steam
    return SteamAgainst(limits=limits, on=on, programme=prescribed, programme_key=programme, entered=checks)


def begun(against: SteamAgainst, record: CycleRecord, zone: tzinfo | None = None) -> SteamAgainst:
    """Take the beginning of the cycle from its record where that tells it, in the time in which the checks are told.

    Parameters
    ----------
    against
        What the cycle is judged against.
    record
        Its record.
    zone
        In which the times of the checks are told; None for the local time of this machine.

    Returns
    -------
    SteamAgainst
        The same with the beginning of the cycle.
    """
    if record.started is None or against.entered is None:
        return against
    began = record.started.astimezone(zone).replace(tzinfo=None)
    return against.model_copy(update={"entered": against.entered.model_copy(update={"cycle_began": began})})


def judge_steam_leakage(files: RecordFiles, department: Department, on: date) -> SteamEvidence:
    """Judge the record of an air-leakage test against the site's limits.

    Parameters
    ----------
    files
        The record of the test alone.
    department
        The department.
    on
        The day of the decision.

    Returns
    -------
    SteamEvidence
        Start and rise of the pressure.
    """
    return judge_leakage(files.read(), department.limits.steam, on=on)

"""``patency evidence``."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup
from patency.cli.archive import archive_group, rejudge_command
from patency.cli.cut import cut_command
from patency.cli.interlock import calendar_option, moment_of
from patency.cli.watch import watch_command

if TYPE_CHECKING:
    from patency.evidence import Evidence, SteamEvidence


logger_option = click.option(
    "--logger",
    nargs=2,
    metavar="LOGGER DESCRIPTION",
    type=click.Path(path_type=Path),
    help="The record of an independent logger of the same cycle, and what its columns mean.",
)


@click.group("evidence", cls=PatencyGroup, short_help="Judge the record of a cycle.")
def evidence() -> None:
    """Look at what a cycle record proves."""


evidence.add_command(archive_group)
evidence.add_command(cut_command)
evidence.add_command(rejudge_command)
evidence.add_command(watch_command)


@evidence.command("judge", short_help="Judge a washer-disinfector's record.")
@click.argument("record", metavar="RECORD", type=click.Path(path_type=Path))
@click.option("--description", required=True, type=click.Path(path_type=Path), help="What the record's columns mean.")
@click.option("--site", "folder", type=click.Path(path_type=Path), help="The department's folder: limits, programmes.")
@click.option("--plan", type=click.Path(path_type=Path), help="The plan the load belongs to; needs --site and --load.")
@click.option("--load", "load_id", help="The load whose cycle this is; needs --site and --plan.")
@click.option("--baseline", type=click.Path(path_type=Path), help="Earlier cycles of the same load, for the alarm.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which limits have to hold; today if left out.")
@logger_option
@calendar_option
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Write the load file there.")
def evidence_judge(
    *,
    record: Path,
    description: Path,
    folder: Path | None,
    plan: Path | None,
    load_id: str | None,
    baseline: Path | None,
    on: datetime | None,
    logger: tuple[Path, Path] | None,
    calendar: Path | None,
    out: Path | None,
) -> Answer:
    """Judge the cycle record RECORD, by itself or against the load it belongs to.

    With --site, --plan and --load every criterion is judged: programme, limits and the pressure predicted for this
    very load. Without them only what the record shows by itself is. Ends with 0 when the verdict is met, with 1 when
    a criterion is missed or not evaluated. The verdict is no release.
    """
    from patency.evidence import PRESSURE_CRITERION, evidence_document
    from patency.steps import (
        Interlock,
        baseline_of_record,
        judge_cycle,
        judge_record,
        load_of_plan,
        read_baselines,
        read_planned,
        read_record_files,
        read_site,
        write_all,
    )

    if (plan is None) != (load_id is None) or (plan is not None and folder is None):
        raise click.UsageError("--plan, --load and --site belong together")
    if out is not None and plan is None:
        raise click.UsageError("--out writes the load file, which needs --site, --plan and --load")
    if calendar is not None and plan is None:
        raise click.UsageError("--calendar says what a load relies on, which needs --site, --plan and --load")
    if baseline is not None and plan is None:
        raise click.UsageError("--baseline is of a load, which needs --site, --plan and --load")
    if logger is not None and plan is None:
        raise click.UsageError("--logger is judged against a load, which needs --site, --plan and --load")
    files = read_record_files(record, description, logger)
    day = on.date() if on else _today()
    lines = []
    if folder is None or plan is None or load_id is None:
        limits = read_site(folder).department.limits.cycle if folder else None
        judged = judge_record(files, limits, day)
    else:
        department, planned = read_planned(plan, folder)
        load = load_of_plan(planned, load_id)
        interlock = None if calendar is None else Interlock.of(calendar, moment_of(on))
        kept = None if baseline is None else baseline_of_record(load, *read_baselines([baseline]))
        cycle = judge_cycle(files, department, load, day, interlock=interlock, baseline=kept)
        judged = cycle.evidence
        if out is not None:
            write_all(out, cycle.files(datetime.now(UTC)))
        if any(one.name == PRESSURE_CRITERION and one.state.value == "not met" for one in judged.criteria):
            lines = [f"next: patency diagnose ranks what the pressure of load {load_id} can have been"]
    outcome = Outcome.ACCEPTABLE if judged.verdict.value == "met" else Outcome.FALLS_SHORT
    return Answer("\n".join([_words(judged), *lines]), evidence_document(judged), outcome)


@evidence.command("steam", short_help="Judge a steam sterilizer's record.")
@click.argument("record", metavar="RECORD", type=click.Path(path_type=Path))
@click.option("--description", required=True, type=click.Path(path_type=Path), help="What the record's columns mean.")
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--programme", help="Key of the steam programme that should have run.")
@click.option("--leakage", is_flag=True, help="The record is that of an air-leakage test.")
@click.option(
    "--checks", type=click.Path(path_type=Path), help="The machine's tests and the look at the load, as entered."
)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which limits have to hold; today if left out.")
@logger_option
@calendar_option
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Write the load file there.")
def evidence_steam(
    *,
    record: Path,
    description: Path,
    folder: Path,
    programme: str | None,
    leakage: bool,
    checks: Path | None,
    on: datetime | None,
    logger: tuple[Path, Path] | None,
    calendar: Path | None,
    out: Path | None,
) -> Answer:
    """Judge the record RECORD of a steam sterilizer: a cycle, or an air-leakage test.

    A cycle is judged by air removal, plateau, saturation, drying and the tests entered. Ends with 0 when the verdict
    is met, with 1 when a criterion is missed or not evaluated. The verdict is no release.
    """
    from patency.evidence import read_entered, steam_document
    from patency.steps import (
        Interlock,
        judge_steam_cycle,
        judge_steam_leakage,
        read_record_files,
        read_site,
        read_text,
        write_all,
    )

    more = any(one is not None for one in (out, checks, calendar, logger))
    if leakage == (programme is not None) or (leakage and more):
        raise click.UsageError(
            "give either --programme, with --checks, --logger, --calendar, --out as you like, or --leakage"
        )
    files = read_record_files(record, description, logger)
    day = on.date() if on else _today()
    department = read_site(folder).department
    if programme is None:
        judged = judge_steam_leakage(files, department, day)
    else:
        entered = read_entered(read_text(checks), str(checks)) if checks else None
        interlock = None if calendar is None else Interlock.of(calendar, moment_of(on))
        cycle = judge_steam_cycle(
            files, department, programme, day, name=record.stem, checks=entered, interlock=interlock
        )
        judged = cycle.evidence
        if out is not None:
            write_all(out, cycle.files(datetime.now(UTC)))
    outcome = Outcome.ACCEPTABLE if judged.verdict.value == "met" else Outcome.FALLS_SHORT
    lethality = [f"F0 ({name}): {value / 60:.1f} min, told only" for name, value in judged.f0_s.items()]
    return Answer("\n".join([*lethality, *_criteria_words(judged)]), steam_document(judged), outcome)


def _today() -> date:
    return datetime.now().astimezone().date()


def _words(judged: Evidence) -> str:
    lines = [f"A0 ({name}): {value:.0f} s from the raw values" for name, value in judged.a0_s.items()]
    return "\n".join([*lines, *_criteria_words(judged)])


def _criteria_words(judged: Evidence | SteamEvidence) -> list[str]:
    from patency.texts import people_quantity

    order = {"not met": 0, "not evaluated": 1, "met": 2}
    lines = []
    for one in sorted(judged.criteria, key=lambda criterion: order[criterion.state.value]):
        of = ", ".join(word for word in (one.stage, one.sensor) if word)
        value = "" if one.value is None else f" {people_quantity(one.value, one.unit)}"
        lines.append(f"{one.state.value:<14}{one.name}{f' ({of})' if of else ''}:{value} - {one.why}")
    lines += [f"noticed       {finding.text}" for finding in judged.findings]
    return [*lines, f"verdict: {judged.verdict.value}. Release is the decision of a qualified person."]

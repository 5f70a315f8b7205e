"""``patency evidence archive`` and ``patency evidence rejudge``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand, PatencyGroup
from patency.cli.interlock import calendar_option, moment_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from patency.evidence import CycleAgainst, Outlined, SteamAgainst
    from patency.steps import CycleChanged, Rejudged

_PATH = click.Path(path_type=Path)
_DAY = click.DateTime(["%Y-%m-%d"])


@click.group("archive", cls=PatencyGroup, short_help="Keep records with their verdicts.")
def archive_group() -> None:
    """Keep raw records bit for bit beside their verdicts, in Parquet by site, machine and month."""


@archive_group.command("add", short_help="Judge records and keep them.")
@click.argument("archive", metavar="ARCHIVE", type=_PATH)
@click.argument("records", metavar="RECORD...", type=_PATH, nargs=-1, required=True)
@click.option("--description", required=True, type=_PATH, help="What the records' columns mean.")
@click.option("--site", "folder", type=_PATH, help="The department's folder: limits, programmes.")
@click.option("--plan", type=_PATH, help="The plan the load belongs to; needs --site and --load.")
@click.option("--load", "load_id", help="The load whose cycle these are; needs --site and --plan.")
@click.option("--baseline", type=_PATH, help="Earlier cycles of the same load, for the alarm.")
@click.option("--programme", help="Key of the steam programme, for records of a steam sterilizer; needs --site.")
@click.option("--checks", type=_PATH, help="Tests of the sterilizer and the look at the load, as entered.")
@click.option("--on", type=_DAY, help="Day on which limits have to hold; today if left out.")
@calendar_option
def archive_add(
    *,
    archive: Path,
    records: tuple[Path, ...],
    description: Path,
    folder: Path | None,
    plan: Path | None,
    load_id: str | None,
    baseline: Path | None,
    programme: str | None,
    checks: Path | None,
    on: datetime | None,
    calendar: Path | None,
) -> Answer:
    """Judge each RECORD and keep it in the folder ARCHIVE with its verdict; one that is there already stays as it is.

    A record that cannot be used is told with its place, and the others are kept. Ends with 1 where one could not.
    """
    from patency.evidence import read_entered
    from patency.steps import Interlock, add_to_archive, against_steam, judged_against, read_site, read_text

    if calendar is not None and plan is None and programme is None:
        raise click.UsageError("--calendar says what a load relies on, which needs --site, --plan and --load")
    if programme is not None and (folder is None or plan is not None or baseline is not None):
        raise click.UsageError("--programme is that of a steam sterilizer, which needs --site alone")
    if checks is not None and programme is None:
        raise click.UsageError("--checks are those of a steam sterilizer, which needs --programme")
    department = read_site(folder).department if folder else None
    against: CycleAgainst | SteamAgainst
    if department is not None and programme is not None:
        entered = read_entered(read_text(checks), str(checks)) if checks else None
        against = against_steam(department, programme, _day(on), entered)
    else:
        against = judged_against(department, folder, plan, load_id, _day(on), baseline)
    site = department.site if department else None
    interlock = None if calendar is None else Interlock.of(calendar, moment_of(on))
    added = add_to_archive(archive, records, site, (read_text(description), str(description)), against, interlock)
    lines = [f"{one.name}: {one.verdict or 'there already'}" for one in added.kept]
    lines += [f"refused: {line}" for line in added.refused]
    data = {
        "format": "patency-archive-added/1",
        "kept": [{"record": one.name, "sha256": one.sha256, "verdict": one.verdict} for one in added.kept],
        "refused": list(added.refused),
    }
    return Answer("\n".join(lines), data, Outcome.FALLS_SHORT if added.refused else Outcome.ACCEPTABLE)


@archive_group.command("verify", short_help="Check that all is as it was put there.")
@click.argument("archive", metavar="ARCHIVE", type=_PATH)
def archive_verify(*, archive: Path) -> Answer:
    """Check every cycle of ARCHIVE: the digest of its raw record, its samples against the record read anew."""
    from patency.steps import verify_archive

    check = verify_archive(archive)
    words = f"{check.cycles} cycles with {check.samples} samples in {check.parts} parts"
    last = f"{words}, as they were put there" if not check.faults else f"{words}; {len(check.faults)} faults"
    data = {
        "format": "patency-archive-check/1",
        "parts": check.parts,
        "cycles": check.cycles,
        "samples": check.samples,
        "faults": list(check.faults),
    }
    outcome = Outcome.FALLS_SHORT if check.faults else Outcome.ACCEPTABLE
    return Answer("\n".join([*check.faults, last]), data, outcome)


@archive_group.command("pack", short_help="Pack small parts together.")
@click.argument("archive", metavar="ARCHIVE", type=_PATH)
def archive_pack(*, archive: Path) -> Answer:
    """Pack the small parts of ARCHIVE together, so that it is quicker to read; no cycle is changed."""
    from patency.steps import pack_archive

    before, after = pack_archive(archive)
    data = {"format": "patency-archive-packed/1", "parts_before": before, "parts": after}
    return Answer(f"{before} parts before, {after} now", data)


@click.command("rejudge", cls=PatencyCommand, short_help="Judge an archive again under other limits.")
@click.argument("archive", metavar="ARCHIVE", type=_PATH)
@click.option("--site", "folder", required=True, type=_PATH, help="The department's folder with the limits of today.")
@click.option("--corrections", type=_PATH, help="What was found of sensors; needs no change of limits.")
@click.option("--on", type=_DAY, help="Day on which limits have to hold; today if left out.")
@calendar_option
@click.option("--everything", is_flag=True, help="Judge all criteria again, even those the change cannot touch.")
@click.option("--processes", default=2, type=click.IntRange(1, 64), help="How many share the work; 2 if left out.")
def rejudge_command(
    *,
    archive: Path,
    folder: Path,
    corrections: Path | None,
    on: datetime | None,
    calendar: Path | None,
    everything: bool,
    processes: int,
) -> Answer:
    """Judge every cycle in ARCHIVE again and list those that would be decided otherwise; ARCHIVE stays as it is.

    Limits are those of --site; programme, prediction, machine and the look at unloading stay what they were, and so
    do the tests of machines unless --calendar is given: it is asked where they stood when each cycle ran. Ends with 1
    where a verdict changes.
    """
    from patency.evidence import read_corrections
    from patency.steps import Interlock, Revision, read_site, read_text, rejudge_archive

    department = read_site(folder).department
    found = read_corrections(read_text(corrections), str(corrections)) if corrections else ()
    interlock = None if calendar is None else Interlock.of(calendar, moment_of(on))
    revision = Revision(_day(on), department.limits.cycle, found, everything, interlock, department.limits.steam)
    judged = rejudge_archive(archive, revision, site=department.site, processes=processes)
    outcome = Outcome.FALLS_SHORT if judged.changed else Outcome.ACCEPTABLE
    return Answer("\n".join(_words(judged)), _data(judged, department.site), outcome)


def _words(judged: Rejudged) -> Iterator[str]:
    for one in judged.changed:
        yield f"{one.name} ({one.machine}, {one.day}): {one.judged.before.value} before, {one.judged.after.value} now"
        for change in one.judged.changes:
            asked = change.after or change.before
            of = ", ".join(word for word in (asked.stage, asked.sensor) if word) if asked else ""
            name = f"{asked.name if asked else ''}{f' ({of})' if of else ''}"
            yield f"    {name}: {_told(change.before)} before, {_told(change.after)} now"
    yield (
        f"{judged.cycles} cycles, {judged.judged} judged again: {len(judged.changed)} would be decided otherwise, "
        f"{judged.elsewhere} keep their verdict though a criterion changes"
    )


def _told(one: Outlined | None) -> str:
    from patency.texts import people_quantity

    if one is None:
        return "not asked"
    value = "" if one.value is None else f"{people_quantity(one.value, one.unit)}, "
    return f"{value}{one.state}"


def _data(judged: Rejudged, site: str) -> dict[str, object]:
    return {
        "format": "patency-rejudged/1",
        "site": site,
        "cycles": judged.cycles,
        "judged_again": judged.judged,
        "criteria_only": judged.elsewhere,
        "samples": judged.samples,
        "changed": [_changed(one) for one in judged.changed],
    }


def _changed(one: CycleChanged) -> dict[str, object]:
    return {
        "record": one.name,
        "sha256": one.sha256,
        "machine": one.machine,
        "day": one.day,
        "before": one.judged.before.value,
        "after": one.judged.after.value,
        "criteria": [
            {
                "name": asked.name,
                "stage": asked.stage,
                "sensor": asked.sensor,
                "unit": asked.unit,
                "before": change.before and {"value": change.before.value, "state": change.before.state},
                "after": change.after and {"value": change.after.value, "state": change.after.state},
            }
            for change in one.judged.changes
            if (asked := change.after or change.before)
        ],
    }


def _day(on: datetime | None) -> date:
    return on.date() if on else datetime.now().astimezone().date()

"""``patency baseline``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from patency.cli.answers import Answer, PatencyCommand


@click.command("baseline", cls=PatencyCommand, short_help="Keep what a load's sensors showed.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.argument("record", metavar="RECORD", type=click.Path(path_type=Path))
@click.option("--description", required=True, type=click.Path(path_type=Path), help="What the record's columns mean.")
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--load", "load_id", required=True, help="The load whose cycle this is.")
@click.option("--seen-by", required=True, help="Who saw at unloading that every hose and sleeve was in place.")
@click.option("--file", "kept", required=True, type=click.Path(path_type=Path), help="The baseline, begun if missing.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which limits have to hold; today if left out.")
def baseline_command(
    *,
    plan: Path,
    record: Path,
    description: Path,
    folder: Path,
    load_id: str,
    seen_by: str,
    kept: Path,
    on: datetime | None,
) -> Answer:
    """Add the cycle record RECORD of a load of PLAN to the baseline of its load.

    A baseline is what pressures and flows showed in cycles of the same lumens on the same ports in the same machine, of
    which somebody saw at unloading that everything was in place. Later cycles are held against it: by the alarm of the
    verdict, by the diagnosis, and for the glances that an alarm saves. A cycle that missed a criterion is refused.
    """
    from patency.steps import keep_cycle, load_of_plan, read_baselines, read_planned, read_record_files, write_all

    files = read_record_files(record, description)
    department, planned = read_planned(plan, folder)
    load = load_of_plan(planned, load_id)
    before = read_baselines([kept])[0] if kept.exists() else None
    day = on.date() if on else datetime.now().astimezone().date()
    found = keep_cycle(files, department, load, day, seen_by, before)
    written = write_all(kept.parent, {kept.name: found.text.encode()})
    return Answer("\n".join([*found.lines, *(str(path) for path in written)]), found.data)

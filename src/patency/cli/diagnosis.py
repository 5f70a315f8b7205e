"""``patency diagnose``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand


@click.command("diagnose", cls=PatencyCommand, short_help="Rank what went wrong in a recorded cycle.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.argument("record", metavar="RECORD", type=click.Path(path_type=Path))
@click.option("--description", required=True, type=click.Path(path_type=Path), help="What the record's columns mean.")
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--load", "load_id", required=True, help="The load whose cycle this is.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which limits have to hold; today if left out.")
def diagnose_command(
    *, plan: Path, record: Path, description: Path, folder: Path, load_id: str, on: datetime | None
) -> Answer:
    """Rank what the pressures and arms in the cycle record RECORD of a load of PLAN can have been, with probabilities.

    One cause or two at once; what these sensors cannot tell apart stands together, and of every cause it is said
    whether they can show it at all. No record shows that all lumens were fed. Ends with 0 when the most probable
    explanation cannot be told from as planned, with 1 when it can or nothing explains the record.
    """
    from patency.steps import RecordFiles, diagnose_cycle, load_of_plan, read_planned, read_text

    files = RecordFiles(read_text(record), read_text(description), str(record), str(description))
    department, planned = read_planned(plan, folder)
    load = load_of_plan(planned, load_id)
    found = diagnose_cycle(files, department, load, on.date() if on else datetime.now().astimezone().date())
    outcome = Outcome.ACCEPTABLE if found.looks_as_planned else Outcome.FALLS_SHORT
    return Answer("\n".join(found.lines), found.data, outcome)

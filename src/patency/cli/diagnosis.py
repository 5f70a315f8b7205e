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
@click.option("--baseline", type=click.Path(path_type=Path), help="Earlier cycles of the same load to hold it against.")
@click.option("--rates", type=click.Path(path_type=Path), help="How often each thing goes wrong, as counted here.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which limits have to hold; today if left out.")
def diagnose_command(
    *,
    plan: Path,
    record: Path,
    description: Path,
    folder: Path,
    load_id: str,
    baseline: Path | None,
    rates: Path | None,
    on: datetime | None,
) -> Answer:
    """Rank what the pressures, flows and arms in the cycle record RECORD of a load of PLAN can have been.

    One cause or two at once, with probabilities; what these sensors cannot tell apart stands together, and of every
    cause it is said whether they can show it at all. Readings are held against what is computed, or against --baseline.
    No record shows that all lumens were fed. Ends with 0 when the most probable explanation cannot be told from as
    planned, with 1 when it can or nothing explains the record.
    """
    from patency.steps import (
        baseline_of_record,
        diagnose_cycle,
        load_of_plan,
        read_baselines,
        read_fault_rates,
        read_planned,
        read_record_files,
    )

    files = read_record_files(record, description)
    department, planned = read_planned(plan, folder)
    load = load_of_plan(planned, load_id)
    kept = None if baseline is None else baseline_of_record(load, *read_baselines([baseline]))
    counted = None if rates is None else read_fault_rates(rates)
    day = on.date() if on else datetime.now().astimezone().date()
    found = diagnose_cycle(files, department, load, day, kept, counted)
    outcome = Outcome.ACCEPTABLE if found.looks_as_planned else Outcome.FALLS_SHORT
    return Answer("\n".join(found.lines), found.data, outcome)

"""``patency evidence cut``."""

from __future__ import annotations

from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand

_PATH = click.Path(path_type=Path)


@click.command("cut", cls=PatencyCommand, short_help="Cut cycles out of a large file.")
@click.argument("record", metavar="FILE", type=_PATH)
@click.option("--description", required=True, type=_PATH, help="What the file's columns mean.")
@click.option("--cycle-column", help="Cut every cycle out; this column names the cycle of each row.")
@click.option("--from", "begin", help="Cut one record out: from this time, as the file writes it.")
@click.option("--until", "end", help="Until this time, as the file writes it.")
@click.option("--out", required=True, type=_PATH, help="Write the records there.")
def cut_command(
    *, record: Path, description: Path, cycle_column: str | None, begin: str | None, end: str | None, out: Path
) -> Answer:
    """Cut cycles out of FILE, a CSV of any size: a logger's weeks, or many cycles one after the other.

    Each record has the header and its rows as they stand; it is told at which line of FILE it begins. Ends with 1
    where a cycle could not be cut out.
    """
    from patency.steps import cut_cycles, cut_time

    if (cycle_column is None) == (begin is None) or (begin is None) != (end is None):
        raise click.UsageError("give either --cycle-column, or --from and --until")
    if cycle_column is not None:
        done = cut_cycles(record, description, cycle_column, out)
    else:
        done = cut_time(record, description, begin or "", end or "", out)
    lines = [f"{one.name}: lines {one.first_line} to {one.last_line}, {one.size} bytes" for one in done.records]
    data = {
        "format": "patency-cut/1",
        "records": [
            {"record": one.name, "first_line": one.first_line, "last_line": one.last_line, "bytes": one.size}
            for one in done.records
        ],
        "faults": list(done.faults),
    }
    outcome = Outcome.FALLS_SHORT if done.faults else Outcome.ACCEPTABLE
    return Answer("\n".join([*lines, *done.faults, f"{len(done.records)} records"]), data, outcome)

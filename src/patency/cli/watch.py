"""``patency evidence watch``."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.interlock import calendar_option, now

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.steps import RecordTaken

_PATH = click.Path(path_type=Path)


@click.command("watch", cls=PatencyCommand, short_help="Judge records as they arrive in a folder.")
@click.argument("folder", metavar="FOLDER", type=_PATH)
@click.option("--description", required=True, type=_PATH, help="What the records' columns mean.")
@click.option("--out", required=True, type=_PATH, help="Write a result for each record there.")
@click.option("--site", type=_PATH, help="The department's folder: limits, programmes.")
@click.option("--plan", type=_PATH, help="Judge a record named as a load of this plan against that load; needs --site.")
@click.option(
    "--baseline", "baselines", type=_PATH, multiple=True, help="Earlier cycles of a load, for the alarm; for each load."
)
@click.option("--programme", help="Key of the steam programme, for records of a steam sterilizer; needs --site.")
@click.option("--checks", type=_PATH, help="Tests of the sterilizer as entered, read anew at each look.")
@calendar_option
@click.option("--archive", type=_PATH, help="Keep the records there too.")
@click.option("--settle", default=2.0, type=click.FloatRange(0, 3600), help="Seconds a file must rest; 2 if left out.")
@click.option("--every", default=5.0, type=click.FloatRange(0.1, 3600), help="Seconds between looks; 5 if left out.")
@click.option("--once", is_flag=True, help="Judge what is complete now, and end.")
def watch_command(
    *,
    folder: Path,
    description: Path,
    out: Path,
    site: Path | None,
    plan: Path | None,
    baselines: tuple[Path, ...],
    programme: str | None,
    checks: Path | None,
    calendar: Path | None,
    archive: Path | None,
    settle: float,
    every: float,
    once: bool,
) -> Answer:
    """Watch FOLDER and judge each record once, when its file is complete; go on until stopped.

    A record L1.csv is judged against the load L1 of --plan, with --programme every record against that programme of a
    steam sterilizer, any other by itself. One that cannot be used is refused with its place, and the next is taken.
    Ends with 1 where one was refused or its verdict is not met.
    """
    from patency.steps import ToHoldAgainst, watch_folder

    named = ToHoldAgainst(site, plan, baselines, programme, checks, calendar)
    watch = watch_folder(folder, out, description, named, archive, settle, now)
    arrived: list[RecordTaken] = []
    try:
        for rest in [settle, 0.0] if once else _always(every):
            for one in watch.look(time.time()):
                click.echo(one.line, err=True)
                arrived.append(one)
            time.sleep(rest)
    except KeyboardInterrupt:
        pass
    good = all(one.verdict == "met" or one.same_as for one in arrived)
    data = {
        "format": "patency-watched/1",
        "arrived": [
            {"record": one.name, "verdict": one.verdict, "refused": list(one.refused), "same_as": one.same_as}
            for one in arrived
        ],
    }
    return Answer(f"{len(arrived)} records", data, Outcome.ACCEPTABLE if good else Outcome.FALLS_SHORT)


def _always(every: float) -> Iterator[float]:
    while True:
        yield every

"""``patency demo``."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.progress import tell

_SEED = 20260512


@click.command("demo", cls=PatencyCommand, short_help="Do the main job for an invented department.")
@click.option("--out", required=True, type=click.Path(file_okay=False, path_type=Path), help="Where to write.")
def demo_command(out: Path) -> Answer:
    """Do the main job on the demo day of Larkmere, an invented department: plan, check, print, run, judge."""
    import numpy as np

    from patency.demo import larkmere_texts, run_demo_day, summary_data, summary_text

    day = run_demo_day(out, larkmere_texts(), np.random.default_rng(_SEED), datetime.now(UTC), tell)
    tell("")
    return Answer(
        summary_text(day), summary_data(day), Outcome.FALLS_SHORT if day.check.findings else Outcome.ACCEPTABLE
    )

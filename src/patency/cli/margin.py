"""``patency margin``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand

if TYPE_CHECKING:
    from datetime import datetime


@click.command("margin", cls=PatencyCommand, short_help="Tell how likely lumens fall short.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--load", "load_id", help="One load of the plan only; all where left out.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which reference loads have to be in date.")
@click.option("--samples", default=10_000, show_default=True, help="How many samples of each load.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(min=0), help="Same seed, same answer.")
@click.option(
    "--accept",
    default=0.0,
    show_default=True,
    type=click.FloatRange(0, 1),
    help="Share of samples in which a lumen may fall short.",
)
def margin_command(
    *, plan: Path, folder: Path, load_id: str | None, on: datetime | None, samples: int, seed: int, accept: float
) -> Answer:
    """Tell how likely the lumens of the plan file PLAN fall short, weakest first, and what limits each.

    Everything that has a tolerance or is not known is drawn at random within it, for each sample anew, and every
    sample is solved in every wet stage. Ends with 0 when no lumen falls short more often than --accept, with 1 when one
    does or something about it is not known.
    """
    from patency.steps import margin_words, sample_margins

    found = sample_margins(plan, folder, load_id, on.date() if on else None, samples=samples, seed=seed)
    lines = []
    for name, load in found.loads.items():
        lines.append(f"load {name}: {load.samples} samples, seed {seed}; ranges hold 95 % of them")
        lines += [f"load {name}: {margin_words(lumen)}" for lumen in load.lumens]
    lines.append("Predictions are calculations, not measurements.")
    return Answer("\n".join(lines), found.data, Outcome.ACCEPTABLE if found.all_within(accept) else Outcome.FALLS_SHORT)

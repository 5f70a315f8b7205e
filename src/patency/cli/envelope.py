"""``patency envelope``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand

if TYPE_CHECKING:
    from datetime import datetime

_DOUBTFUL_FIRST = ("outside", "unknown", "inside")


@click.command("envelope", cls=PatencyCommand, short_help="Compare loads with what was validated.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--load", "load_id", help="One load of the plan only; all where left out.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day on which reference loads have to be in date.")
def envelope_command(plan: Path, folder: Path, load_id: str | None, on: datetime | None) -> Answer:
    """Tell whether the loads of the plan file PLAN are inside what the department validated, lumen by lumen.

    For each lumen that is not, the nearest reference load and exactly what differs; then the fewest lumens and the
    probes to propose for the next qualification. Reference data that are missing or out of date leave a lumen unknown,
    which never counts as inside. Ends with 0 when every lumen is inside, with 1 when one is not.
    """
    from patency.steps import check_envelope, envelope_summary, lumen_words, proposal_lines

    found = check_envelope(plan, folder, load_id, on.date() if on else None)
    lines = []
    for load in found.loads:
        lines.append(f"load {load.load_id}: {envelope_summary(load)}")
        doubtful_first = sorted(load.lumens, key=lambda lumen: _DOUBTFUL_FIRST.index(lumen.standing.value))
        lines += [f"load {load.load_id}: {lumen_words(lumen)}" for lumen in doubtful_first]
    for proposal in found.requalifications:
        lines += proposal_lines(proposal)
    lines.append("Predictions are calculations, not measurements. A qualified person decides what to qualify.")
    return Answer("\n".join(lines), found.data, Outcome.ACCEPTABLE if found.all_inside else Outcome.FALLS_SHORT)

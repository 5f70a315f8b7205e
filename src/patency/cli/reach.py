"""``patency reach``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.progress import tell

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.steps import ReachShown


@click.command("reach", cls=PatencyCommand, short_help="Compute what the jets strike in loads.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--load", "load_id", help="One load of the plan only; all where left out.")
def reach_command(plan: Path, folder: Path, load_id: str | None) -> Answer:
    """Compute what the jets of the arms strike of every piece in the loads of the plan file PLAN.

    For each piece the share of its surface struck directly, the zones in shadow and what shadows them; where less is
    struck than the site asks for, the smallest change that would help. Ends with 1 when a piece is not reached or
    nobody knows. That a surface is struck says nothing of what is left on it.
    """
    from patency.steps import reach_document, reach_of_plan, read_meshes, read_planned

    department, read = read_planned(plan, folder)
    shown = reach_of_plan(department, read, read_meshes(department, folder), load_id, tell)
    tell("")
    lines = [line for one in shown for line in _words(one)]
    lines.append("Predictions are calculations, not measurements. Struck says nothing of what is left on a surface.")
    outcome = Outcome.ACCEPTABLE if all(one.all_reached for one in shown) else Outcome.FALLS_SHORT
    return Answer("\n".join(lines), reach_document(read, shown), outcome)


def _words(one: ReachShown) -> Iterator[str]:
    names = {key: f"load {one.load.id}: {key[0]}, {one.words[key]} ({place})" for key, place in one.places.items()}
    for key, reply in one.replies.items():
        yield f"{names[key]}: {reply.answer.value}: {reply.why}"
        if key in one.changes:
            change = one.changes[key]
            yield f"    {change.words}: {100 * change.struck_share:.0f} % would be struck"
    for key, reply in one.held.items():
        if reply.answer.value != "yes":
            yield f"{names[key]}: held: {reply.answer.value}: {reply.why}"

"""``patency plan`` and ``patency sheet``."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.progress import tell

if TYPE_CHECKING:
    from patency.load import Plan


@click.command("plan", cls=PatencyCommand)
@click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Write plan.json there.")
@click.option("--seconds", default=60.0, show_default=True, help="Longest time to search for better plans and proofs.")
def plan_command(folder: Path, out: Path | None, seconds: float) -> Answer:
    """Plan the loads for the sets that wait in the department described in SITE.

    Ends with 1 when a set is left out or a lumen of the plan is not fed; the reasons are listed.
    """
    from patency.load import write_plan
    from patency.steps import plan_site, write_all

    _, plan = plan_site(folder, seconds, tell)
    tell("")
    if out is not None:
        write_all(out, {"plan.json": write_plan(plan).encode()})
    falls_short = plan.left_out or plan.conflicts
    return Answer(
        _words(plan), plan.model_dump(mode="json"), Outcome.FALLS_SHORT if falls_short else Outcome.ACCEPTABLE
    )


@click.command("sheet", cls=PatencyCommand)
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--out", required=True, type=click.Path(file_okay=False, path_type=Path), help="Where to write.")
def sheet_command(plan: Path, folder: Path, out: Path) -> Answer:
    """Print the load sheet of every load of the plan file PLAN, as PDF and as a web page."""
    from patency.steps import print_sheets, read_planned, write_all

    department, read = read_planned(plan, folder)
    sheets = print_sheets(
        department, read, datetime.now(UTC), lambda done, total: tell(f"printing load sheets {done} of {total}")
    )
    tell("")
    written = [str(path) for path in write_all(out, sheets)]
    return Answer("\n".join(written), {"written": written})


def _words(plan: Plan) -> str:
    proof = "proven fewest" if plan.proven_fewest else f"at least {plan.loads_at_least}"
    lines = [f"{plan.site}, {plan.day}: {len(plan.loads)} loads, {proof}"]
    for load in plan.loads:
        lumens = sum(len(piece.lumens) for piece in load.pieces)
        when = f"{load.starts:%H:%M} to {load.ends:%H:%M}"
        lines += [
            f"load {load.id}: {load.carrier} in {load.machine}, {load.programme}, {when}: {', '.join(load.sets)}",
            f"load {load.id}: {lumens} lumens connected, {len(load.capped_ports)} ports capped",
        ]
        lines += [f"load {load.id}: port {port} stays open, no cap is left" for port in load.open_ports]
    lines += [f"left out: {one.set}: {one.why}" for one in plan.left_out]
    return "\n".join([*lines, *plan.conflicts])

"""``patency check``."""

from __future__ import annotations

from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand


@click.command("check", cls=PatencyCommand, short_help="Check a plan a second time.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option(
    "--site",
    "folder",
    required=True,
    metavar="SITE",
    type=click.Path(path_type=Path),
    help="Folder with the YAML files of the department.",
)
def check_command(plan: Path, folder: Path) -> Answer:
    """Check the plan file PLAN a second time, rule by rule, apart from everything that makes plans.

    Ends with 0 when no rule is broken, with 1 when one is, with 2 when plan or department cannot be used. What a
    missing datum leaves open is listed and counts as no until a person with the authority decides; it breaks no rule,
    so it alone ends with 0. patency site check, which looks for what is missing, ends with 1.
    """
    from patency.steps import check_plan_file

    found = check_plan_file(plan, folder)
    lines = [finding.line for finding in found.findings]
    lines += [f"open: {point.line}" for point in found.open_points]
    lines += found.other_fits
    lines.append(
        f"{found.site}: loads: {found.loads}, rules checked: {found.rules}, "
        f"places that break one: {len(found.findings)}, left open by missing data: {len(found.open_points)}"
    )
    return Answer("\n".join(lines), found.data, Outcome.FALLS_SHORT if found.findings else Outcome.ACCEPTABLE)

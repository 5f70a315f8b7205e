"""``patency self-check``."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand


@click.command("self-check", cls=PatencyCommand, short_help="Compare with published values.")
@click.option("--pdf", type=click.Path(dir_okay=False, path_type=Path), help="Also write the table as PDF, to file it.")
def self_check_command(pdf: Path | None) -> Answer:
    """Compare this installation with published values: what, source, expected, computed, tolerance, versions."""
    from patency.papers import report_pdf, report_text
    from patency.steps import self_check, self_check_data, self_check_report

    outcome = self_check(datetime.now(UTC))
    report = self_check_report(outcome)
    if pdf is not None:
        pdf.write_bytes(report_pdf(report, outcome.at))
    return Answer(
        report_text(report), self_check_data(outcome), Outcome.ACCEPTABLE if outcome.all_agree else Outcome.FALLS_SHORT
    )

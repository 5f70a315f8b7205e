"""The command ``patency`` with all its commands; each imports what it needs inside itself."""

from __future__ import annotations

import click

from patency.cli.answers import PatencyGroup
from patency.cli.baseline import baseline_command
from patency.cli.checking import check_command
from patency.cli.commission import commission
from patency.cli.demonstration import demo_command
from patency.cli.diagnosis import diagnose_command
from patency.cli.envelope import envelope_command
from patency.cli.evidence import evidence
from patency.cli.faults import faults_command
from patency.cli.flow import flow_command
from patency.cli.interlock import calendar
from patency.cli.ledger import ledger
from patency.cli.margin import margin_command
from patency.cli.monitoring import monitor
from patency.cli.planning import plan_command, sheet_command
from patency.cli.reach import reach_command
from patency.cli.self_checking import self_check_command
from patency.cli.serving import serve_command
from patency.cli.site import site


@click.group("patency", cls=PatencyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="patency")
def main() -> None:
    """Plan how every lumen is connected in a washer-disinfector, compute its flow, judge the cycle's record.

    Follow the instructions for use and your department's validated process. Predictions are calculations,
    not measurements. Release is the decision of a qualified person; not evaluated is not passed.
    """


main.add_command(calendar)
main.add_command(baseline_command)
main.add_command(check_command)
main.add_command(commission)
main.add_command(demo_command)
main.add_command(diagnose_command)
main.add_command(envelope_command)
main.add_command(evidence)
main.add_command(faults_command)
main.add_command(flow_command)
main.add_command(ledger)
main.add_command(margin_command)
main.add_command(monitor)
main.add_command(plan_command)
main.add_command(reach_command)
main.add_command(self_check_command)
main.add_command(serve_command)
main.add_command(sheet_command)
main.add_command(site)

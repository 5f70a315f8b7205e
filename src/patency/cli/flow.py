"""``patency flow``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand

if TYPE_CHECKING:
    from patency.flow import FlowResult


@click.command("flow", cls=PatencyCommand, short_help="Solve one network of pipes by itself.")
@click.argument("network", metavar="NETWORK", type=click.Path(path_type=Path))
def flow_command(network: Path) -> Answer:
    """Solve the network file NETWORK: the flow in every outlet, what happens in every segment.

    Ends with 1 when an open outlet stays dry.
    """
    from patency.flow import result_to_dict
    from patency.steps import solve_network

    result = solve_network(network)
    outcome = Outcome.FALLS_SHORT if result.dry_outlets else Outcome.ACCEPTABLE
    return Answer(_words(result), result_to_dict(result), outcome)


def _words(result: FlowResult) -> str:
    lines = [f"{'outlet or link':<24}{'mL/min':>12}{'m/s':>9}{'Re':>9}{'shear Pa':>10}   (last segment)"]
    for name, flow in result.flows_m3_s.items():
        last = result.segments[name][-1]
        shear = "-" if last.wall_shear_pa is None else f"{last.wall_shear_pa:.2f}"
        lines.append(f"{name:<24}{flow * 6e7:>12.2f}{last.velocity_m_s:>9.3f}{last.reynolds:>9.0f}{shear:>10}")
    lines += [f"{name} is open and stays dry" for name in result.dry_outlets]
    lines.append(f"{result.iterations} iterations, mass balance within {result.mass_balance_error_m3_s:.1e} m³/s")
    return "\n".join(lines)

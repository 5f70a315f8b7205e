"""``patency flow``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.progress import tell

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.flow import FlowResult
    from patency.papers import LumenBar
    from patency.steps import FlowShown


@click.command("flow", cls=PatencyCommand, short_help="Compute the flow in loads, or in one network.")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--site", "folder", type=click.Path(path_type=Path), help="The department's folder: FILE is a plan.")
@click.option("--load", "load_id", help="One load of the plan only; all where left out.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Draw each load's lumens and manifold there."
)
def flow_command(file: Path, folder: Path | None, load_id: str | None, out: Path | None) -> Answer:
    """Compute the flow in the plan FILE's loads, or with no --site in the network FILE by itself.

    Of a plan: flow and wall shear of every connected lumen with interval and limit, in the order of the ports; ends
    with 1 when a piece is not fed or nobody knows. Of a network: the flow in every outlet, what happens in every
    segment; ends with 1 when an open outlet stays dry.
    """
    if folder is not None:
        return _flow_of_loads(file, folder, load_id, out)
    if load_id is not None or out is not None:
        raise click.UsageError("--load and --out need --site, the folder of the plan's department")
    from patency.flow import result_to_dict
    from patency.steps import solve_network

    result = solve_network(file)
    outcome = Outcome.FALLS_SHORT if result.dry_outlets else Outcome.ACCEPTABLE
    return Answer(_words(result), result_to_dict(result), outcome)


def _flow_of_loads(plan: Path, folder: Path, load_id: str | None, out: Path | None) -> Answer:
    from patency.steps import flow_document, flow_of_plan, flow_pictures, read_planned, write_all

    department, read = read_planned(plan, folder)
    shown = flow_of_plan(department, read, load_id, tell)
    tell("")
    lines = [line for one in shown for line in _load_words(one)]
    lines.append("Predictions are calculations, not measurements.")
    if out is not None:
        lines += [str(path) for path in write_all(out, flow_pictures(shown))]
    outcome = Outcome.ACCEPTABLE if all(one.all_fed for one in shown) else Outcome.FALLS_SHORT
    return Answer("\n".join(lines), flow_document(read, shown), outcome)


def _load_words(one: FlowShown) -> Iterator[str]:
    for name, stage in one.water.stages.items():
        pressure = stage.circulation_pa
        ends = f"{pressure.low / 100:.0f}–{pressure.high / 100:.0f}"
        yield f"load {one.load.id}, {name}: {pressure.nominal / 100:.0f} mbar ({ends}) at the circulation"
    yield from (f"load {one.load.id}: {_bar_words(bar)}" for bar in one.bars)
    for (name, piece), reply in one.replies.items():
        if reply.answer.value != "yes":
            yield f"load {one.load.id}: {name}, {piece}: fed: {reply.answer.value}: {reply.why}"


def _bar_words(bar: LumenBar) -> str:
    from patency.texts import people_flow, people_shear

    flow = f"flow {people_flow(bar.flow_m3_s.low)} to {people_flow(bar.flow_m3_s.high)}"
    if bar.least_flow is not None:
        flow += f", limit {people_flow(bar.least_flow.value)}{'' if bar.least_flow.in_date else ' (out of date)'}"
    shear = "shear not known over a nozzle"
    if bar.shear_pa is not None:
        shear = f"shear {people_shear(bar.shear_pa.low)} to {people_shear(bar.shear_pa.high)}"
    if bar.least_shear is not None:
        shear += f", limit {people_shear(bar.least_shear.value)}{'' if bar.least_shear.in_date else ' (out of date)'}"
    return f"{bar.name}: {flow}; {shear}"


def _words(result: FlowResult) -> str:
    lines = [f"{'outlet or link':<24}{'mL/min':>12}{'m/s':>9}{'Re':>9}{'shear Pa':>10}   (last segment)"]
    for name, flow in result.flows_m3_s.items():
        last = result.segments[name][-1]
        shear = "-" if last.wall_shear_pa is None else f"{last.wall_shear_pa:.2f}"
        lines.append(f"{name:<24}{flow * 6e7:>12.2f}{last.velocity_m_s:>9.3f}{last.reynolds:>9.0f}{shear:>10}")
    lines += [f"{name} is open and stays dry" for name in result.dry_outlets]
    lines.append(f"{result.iterations} iterations, mass balance within {result.mass_balance_error_m3_s:.1e} m³/s")
    return "\n".join(lines)

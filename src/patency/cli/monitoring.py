"""``patency monitor``."""

from __future__ import annotations

from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup

_PATH = click.Path(path_type=Path)
_OUT = click.Path(file_okay=False, path_type=Path)


@click.group("monitor", cls=PatencyGroup, short_help="Follow results and cycles over weeks.")
def monitor() -> None:
    """See what many results and many cycles tell together."""


@monitor.command("charts", short_help="Chart results of inspection and tests.")
@click.argument("results", metavar="RESULTS", type=_PATH)
@click.option("--settings", required=True, type=_PATH, help="What is charted and how.")
@click.option(
    "--by",
    type=click.Choice(["all", "family", "position", "machine"]),
    default="all",
    show_default=True,
    help="One chart for each of these.",
)
@click.option("--out", type=_OUT, help="Draw the charts there.")
def charts(results: Path, settings: Path, by: str, out: Path | None) -> Answer:
    """Chart the results in the table RESULTS: residual protein, ATP, TOC, visual findings.

    Each chart says how often it gives a false alarm, and each signal names the samples it rests on. Ends with 1 when a
    chart signals.
    """
    from patency.steps import chart_table, write_all

    found = chart_table(results, settings, by)
    if out is not None:
        write_all(out, found.pictures())
    return Answer("\n".join(found.lines), found.data, Outcome.FALLS_SHORT if found.signals else Outcome.ACCEPTABLE)


@monitor.command("drift", short_help="Tell whether a machine drifts.")
@click.argument("evidence", metavar="EVIDENCE...", nargs=-1, required=True, type=_PATH)
@click.option(
    "--run-length",
    default=500.0,
    show_default=True,
    type=click.FloatRange(20, 100_000),
    help="Cycles until a false alarm of one chart, on the average.",
)
@click.option(
    "--weight",
    default=0.1,
    show_default=True,
    type=click.FloatRange(0.01, 1),
    help="Weight of the newest cycle in the moving average.",
)
@click.option("--out", type=_OUT, help="Draw the charts that signal there.")
def drift(evidence: tuple[Path, ...], run_length: float, weight: float, out: Path | None) -> Answer:
    """Follow phase times, doses, pressures, speeds and temperatures over the cycles in the files EVIDENCE.

    The files are those that ``patency evidence judge --json`` and ``--out`` write. Ends with 1 when a chart signals.
    """
    from patency.steps import Charted, chart_drift, write_all

    found = chart_drift(evidence, run_length, weight)
    moved = Charted(tuple(one for one in found.charts if one.chart.signals))
    if out is not None:
        write_all(out, moved.pictures())
    alarms = sum(one.chart.false_alarm_chance for one in found.charts)
    counts = (
        f"{len(found.charts)} charts of {len(evidence)} cycles, {len(moved.charts)} with a signal; "
        f"{alarms:.1f} would be expected if nothing changed"
    )
    return Answer(
        "\n".join([*moved.lines, counts]), found.data, Outcome.FALLS_SHORT if found.signals else Outcome.ACCEPTABLE
    )


@monitor.command("inspection", short_help="Choose the pieces to inspect.")
@click.argument("waiting", metavar="WAITING", type=_PATH)
def inspection(waiting: Path) -> Answer:
    """Choose which pieces in the file WAITING are inspected: the most likely soiled, never fewer than the site's floor.

    Ends with 1 when the floor asks for more than can be inspected; the floor is listed all the same.
    """
    from patency.evidence import inspection_document
    from patency.steps import plan_inspections

    plan = plan_inspections(waiting)
    lines = [f"{one.piece}: {one.family}, soiled with a chance of {one.chance:.1%}; {one.why}" for one in plan.chosen]
    lines += [
        f"{family}: a single soiled piece would be found with a chance of {chance:.0%}"
        for family, chance in plan.seen_if_one_is_soiled.items()
    ]
    if plan.beyond_budget:
        lines.append(f"the floor asks for {plan.beyond_budget} more than can be inspected today")
    outcome = Outcome.FALLS_SHORT if plan.beyond_budget else Outcome.ACCEPTABLE
    return Answer("\n".join(lines), inspection_document(plan), outcome)


@monitor.command("wet-packs", short_help="Tell where wet packs come from.")
@click.argument("packs", metavar="PACKS", type=_PATH)
@click.option(
    "--level",
    default=0.05,
    show_default=True,
    type=click.FloatRange(0.0001, 0.5),
    help="Chance of a false alarm in all comparisons together.",
)
def wet_packs(packs: Path, level: float) -> Answer:
    """Compare positions, families, machines and programmes in the table PACKS by how often packs were wet.

    Ends with 1 when one stands out.
    """
    from patency.evidence import wet_document
    from patency.steps import find_wet_patterns

    patterns = find_wet_patterns(packs)
    out = [one for one in patterns if one.adjusted <= level]
    lines = [
        f"{'stands out' if one in out else 'by chance':<14}{one.trait} {one.value}: {one.wet} of {one.of} wet, "
        f"{one.expected:.1f} expected; chance {one.adjusted:.3f}"
        for one in patterns
    ]
    return Answer("\n".join(lines), wet_document(patterns), Outcome.FALLS_SHORT if out else Outcome.ACCEPTABLE)

"""``patency commission``: make the flow calculation this department's own by measurement."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup
from patency.cli.commission_watch import watch

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from patency.flow import BenchFit, ComparedReading, Confounded, Proposal
    from patency.steps import FittedBench

_SITE = click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))
_MEASUREMENTS = click.argument("measurements", metavar="MEASUREMENTS", type=click.Path(path_type=Path))
_TABLE = click.option("--csv", "table", type=click.Path(path_type=Path), help="Take the readings from this table.")

_PLAN = click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
_BY = click.option("--by", required=True, help="Who answers for the fit.")
_DAY = click.DateTime(["%Y-%m-%d"])
_ON = click.option("--on", "day", type=_DAY, help="Day of the fit; today where it is left out.")
_KEEP = click.option(
    "--keep", is_flag=True, help="Write the fit beside the department's description, where it is used."
)
_DESPITE = click.option("--despite-drift", help="Why to take what drifts all the same.")
_PLOT = click.option(
    "--plot", type=click.Path(path_type=Path), help="Draw measured beside predicted into this SVG file."
)


@click.group(cls=PatencyGroup, short_help="Fit flow to bench measurements.")
def commission() -> None:
    """Measure on the bench and fit pump and resistances: propose, form, fit; let kept cycles update it; watch."""


@commission.command(short_help="Propose what to measure.")
@_SITE
@click.option("--carrier", required=True, help="The carrier to measure.")
@click.option("--machine-kind", required=True, help="The kind of machine it stands in.")
@click.option("--readings", default=12, show_default=True, type=click.IntRange(1, 60), help="How many readings.")
@click.option("--gauge", "gauges", multiple=True, help="Where a pressure can be read: circulation, dock, a circuit.")
@click.option("--meter", is_flag=True, help="There is a flow meter behind the pump.")
@click.option("--temperature", default=20.0, show_default=True, help="Temperature of the water on the bench, °C.")
@click.option(
    "--best-at",
    default="volume",
    show_default=True,
    type=click.Choice(["volume", "variances"]),
    help="Least volume of what stays possible (D-optimal), or least sum of variances (A-optimal).",
)
@click.option("--out", type=click.Path(path_type=Path), help="Write the measurements to be made into this file.")
def propose(
    folder: Path,
    carrier: str,
    machine_kind: str,
    readings: int,
    gauges: tuple[str, ...],
    meter: bool,  # noqa: FBT001 - click hands options over by name
    temperature: float,
    best_at: str,
    out: Path | None,
) -> Answer:
    """Propose which ports and pressures to measure so that pump and resistances become known best.

    Each reading says what it teaches. Without --gauge the pressure is read at the circulation's own sensor.
    """
    from patency.catalogue import write_described
    from patency.flow import Criterion
    from patency.steps import propose_bench, write_all

    proposal = propose_bench(
        folder,
        carrier,
        machine_kind,
        gauges or ("circulation",),
        meter=meter,
        count=readings,
        criterion=Criterion(best_at),
        temperature_c=temperature,
    )
    text = write_described(proposal.measurements)
    written = [str(path) for path in write_all(out.parent, {out.name: text.encode()})] if out is not None else []
    data = {
        "format": "patency-proposal/1",
        "measurements": proposal.measurements.model_dump(mode="json", by_alias=True, exclude_defaults=True),
        "lessons": [asdict(lesson) for lesson in proposal.lessons],
        "learned": [asdict(lesson) for lesson in proposal.learned],
        "cannot_be_told_apart": [group.words for group in proposal.confounded],
        "written": written,
    }
    return Answer("\n".join([*_proposed(proposal), *written]), data)


def _proposed(proposal: Proposal) -> list[str]:
    lines = []
    for number, (reading, lesson) in enumerate(
        zip(proposal.measurements.readings, proposal.lessons, strict=True), start=1
    ):
        teaches = f"{lesson.name} ± {lesson.before * 100:.0f} % to ± {lesson.after * 100:.0f} %"
        lines.append(f"{number}. {reading.setup}: {reading.instrument} at {reading.at}: {teaches}")
    lines += ["", "what stays in doubt, before and after all readings:"]
    lines += [f"  {one.name}: ± {one.before * 100:.1f} %, then ± {one.after * 100:.1f} %" for one in proposal.learned]
    return [*lines, *_apart(proposal.confounded)]


def _apart(groups: Sequence[Confounded]) -> list[str]:
    """Say in one line of what the readings say next to nothing, then what they cannot tell apart."""
    silent = [group.names[0] for group in groups if len(group.names) == 1]
    told = [group.words for group in groups if len(group.names) > 1]
    return [f"the readings say next to nothing about {', '.join(silent)}", *told] if silent else told


@commission.command(short_help="Print the form for the bench.")
@_SITE
@_MEASUREMENTS
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The PDF to write.")
def form(folder: Path, measurements: Path, out: Path) -> Answer:
    """Print the form for the readings in MEASUREMENTS: set-ups, what to expect, room to write."""
    from patency.steps import print_bench_form, write_all

    pdf = print_bench_form(folder, measurements, datetime.now(UTC))
    written = [str(path) for path in write_all(out.parent, {out.name: pdf})]
    return Answer("\n".join(written), {"format": "patency-written/1", "written": written})


@commission.command(short_help="Fit pump and resistances to readings.")
@_SITE
@_MEASUREMENTS
@_TABLE
@_BY
@_ON
@_DESPITE
@_KEEP
@_PLOT
def fit(
    folder: Path,
    measurements: Path,
    table: Path | None,
    by: str,
    day: datetime | None,
    despite_drift: str | None,
    keep: bool,  # noqa: FBT001 - click hands options over by name
    plot: Path | None,
) -> Answer:
    """Fit pump and resistances to the readings in MEASUREMENTS, starting from the fit in force.

    Readings of a port that gives less and less are refused, unless --despite-drift says why they shall count. Ends
    with 1 when a reading stands out or all of them together are improbable; look at those before you keep the fit.
    """
    from patency.steps import fit_bench

    found = fit_bench(folder, measurements, table, by, _of(day) or _today(), despite_drift)
    return _fit_answer(found, folder if keep else None, plot)


@commission.command(short_help="Let kept cycles update the fit.")
@_SITE
@_PLAN
@click.argument("baselines", metavar="BASELINE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@_BY
@_ON
@click.option("--since", type=_DAY, help="First day of the cycles that count.")
@click.option("--until", type=_DAY, help="Last day of the cycles that count.")
@_DESPITE
@_KEEP
@_PLOT
def update(
    folder: Path,
    plan: Path,
    baselines: tuple[Path, ...],
    by: str,
    day: datetime | None,
    since: datetime | None,
    until: datetime | None,
    despite_drift: str | None,
    keep: bool,  # noqa: FBT001 - click hands options over by name
    plot: Path | None,
) -> Answer:
    """Let what the sensors showed in kept cycles of known loads update the fit.

    BASELINE is a file of cycles as `patency baseline` keeps them, PLAN a plan that has a load like theirs. Give all
    cycles that shall count: the fit starts from that to bench readings, never from another to cycles. Cycles that
    drift, as `patency commission watch` sees it, are refused: leave them out with --since or --until, or say with
    --despite-drift why they shall count. Ends with 1 when a reading stands out or all of them together are improbable;
    look at those before you keep the fit.
    """
    from patency.steps import fit_cycles

    days = (_of(since), _of(until))
    found = fit_cycles(folder, plan, baselines, by, _of(day) or _today(), days=days, despite_drift=despite_drift)
    return _fit_answer(found, folder if keep else None, plot)


def _of(day: datetime | None) -> date | None:
    return None if day is None else day.date()


def _today() -> date:
    return datetime.now(UTC).astimezone().date()


def _fit_answer(found: FittedBench, keep_in: Path | None, plot: Path | None) -> Answer:
    """Write what shall be written of a fit, and tell it."""
    from patency.steps import write_all

    written = []
    if keep_in is not None:
        written += write_all(keep_in, {found.file: found.text.encode()})
    if plot is not None:
        written += write_all(plot.parent, {plot.name: found.plot.encode()})
    names = [str(path) for path in written]
    doubtful = any(one.stands_out for one in found.fit.readings) or found.fit.improbability < _IMPROBABLE
    return Answer(
        "\n".join([*_fitted(found), *names]),
        _fit_data(found, names),
        Outcome.FALLS_SHORT if doubtful else Outcome.ACCEPTABLE,
    )


_IMPROBABLE = 0.01  # one in a hundred sound benches is doubted for nothing


def _fitted(found: FittedBench) -> list[str]:
    fit, entry = found.fit, found.entry
    lines = [f"{entry.carrier} in {entry.machine_kind}, fit {entry.number}: {entry.source}, id {entry.id[:12]}"]
    for row in fit.before.of_interest:
        low, factor, high = fit.interval(row)
        lines.append(f"  {fit.after.names[row]}: {factor:.3f} ({low:.3f} to {high:.3f})")
    lines += _apart(fit.confounded)
    lines += [f"{'reading':<40}{'measured':>12}{'predicted':>12}{'described':>12}  deviation"]
    lines += [_compared(one) for one in fit.readings]
    lines.append(
        f"readings that deviate at least as much are to be expected in {fit.improbability * 100:.0f} % of all benches"
    )
    return lines


def _compared(one: ComparedReading) -> str:
    reading = one.reading
    factor, unit = (1e-2, "mbar") if reading.instrument == "gauge" else (6e4, "L/min")
    values = "".join(f"{value * factor:>12.4g}" for value in (one.measured, one.predicted, one.described))
    mark = "  stands out: look at it again" if one.stands_out else ""
    return f"{f'{reading.setup}: {reading.at}, {unit}'[:39]:<40}{values}{one.deviation:>+9.1f} sd{mark}"


def _fit_data(found: FittedBench, written: list[str]) -> dict[str, object]:
    fit: BenchFit = found.fit
    return {
        "format": "patency-fit/1",
        "fit": found.entry.model_dump(mode="json", by_alias=True),
        "readings": [
            {
                "setup": one.reading.setup,
                "instrument": one.reading.instrument,
                "at": one.reading.at,
                "measured": one.measured,
                "predicted": one.predicted,
                "described": one.described,
                "deviation": one.deviation,
                "stands_out": one.stands_out,
            }
            for one in fit.readings
        ],
        "cannot_be_told_apart": [group.words for group in fit.confounded],
        "improbability": fit.improbability,
        "written": written,
    }


commission.add_command(watch)

"""``patency commission``: make the flow calculation this department's own by measurement."""

from __future__ import annotations

import math
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup

if TYPE_CHECKING:
    from patency.flow import BenchFit, ComparedReading, Proposal, WatchedPort
    from patency.steps import FittedBench

_SITE = click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))
_MEASUREMENTS = click.argument("measurements", metavar="MEASUREMENTS", type=click.Path(path_type=Path))
_TABLE = click.option("--csv", "table", type=click.Path(path_type=Path), help="Take the readings from this table.")


@click.group(cls=PatencyGroup, short_help="Fit flow to bench measurements.")
def commission() -> None:
    """Measure on the bench and fit pump and resistances: propose, form, fit, watch."""


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
    return [*lines, *(group.words for group in proposal.confounded)]


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
@click.option("--by", required=True, help="Who answers for the fit.")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="Day of the fit; today where it is left out.")
@click.option("--keep", is_flag=True, help="Write the fit beside the department's description, where it is used.")
@click.option("--plot", type=click.Path(path_type=Path), help="Draw measured beside predicted into this SVG file.")
def fit(
    folder: Path,
    measurements: Path,
    table: Path | None,
    by: str,
    day: datetime | None,
    keep: bool,  # noqa: FBT001 - click hands options over by name
    plot: Path | None,
) -> Answer:
    """Fit pump and resistances to the readings in MEASUREMENTS, starting from the fit in force.

    Ends with 1 when a reading stands out or all of them together are improbable; look at those before you keep the fit.
    """
    from patency.steps import fit_bench, write_all

    found = fit_bench(folder, measurements, table, by, (day or datetime.now(UTC).astimezone()).date())
    written = []
    if keep:
        written += write_all(folder, {found.file: found.text.encode()})
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
    lines += [group.words for group in fit.confounded]
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


@commission.command(short_help="Flag ports that slowly clog.")
@_SITE
@_MEASUREMENTS
@_TABLE
@click.option(
    "--false-alarm-in",
    default=1000,
    show_default=True,
    type=click.IntRange(10, 100000),
    help="Mean number of readings of a port until it is flagged though nothing happened.",
)
def watch(folder: Path, measurements: Path, table: Path | None, false_alarm_in: int) -> Answer:
    """Compare later bucket readings of ports with the fit in force, and flag a port that slowly clogs.

    Readings a fit was made from are left out: they say nothing new.
    Ends with 1 when a port is flagged.
    """
    from patency.steps import watch_bench

    found = watch_bench(folder, measurements, table, false_alarm_in)
    flagged = [one for one in found.ports if one.drift.flagged_at is not None]
    data = {
        "format": "patency-watch/1",
        "false_alarm_in": false_alarm_in,
        "ports": [_watched_data(one) for one in found.ports],
        "left_out": found.left_out,
    }
    left_out = [f"left out: {found.left_out}"] if found.left_out else []
    return Answer(
        "\n".join([*left_out, *map(_watched, found.ports)]),
        data,
        Outcome.FALLS_SHORT if flagged else Outcome.ACCEPTABLE,
    )


def _watched(one: WatchedPort) -> str:
    last = f"last {one.flows_m3_s[-1] * 6e4:.3g} L/min, {(one.last_share - 1.0) * 100:+.1f} % of predicted"
    where = f"{one.setup}, port {one.port}: {len(one.days)} readings, {last}"
    if one.drift.flagged_at is None or one.drift.began_at is None:
        return f"{where}: as it was"
    since = one.days[one.drift.began_at]
    return f"{where}: gives less and less since about {since}, flagged on {one.days[one.drift.flagged_at]}"


def _watched_data(one: WatchedPort) -> dict[str, object]:
    drift = one.drift
    return {
        "setup": one.setup,
        "port": one.port,
        "days": [str(day) for day in one.days],
        "flows_m3_s": list(one.flows_m3_s),
        "predicted_m3_s": one.predicted_m3_s,
        "sums": [value if math.isfinite(value) else None for value in drift.sums],
        "flagged_on": None if drift.flagged_at is None else str(one.days[drift.flagged_at]),
        "since": None if drift.began_at is None else str(one.days[drift.began_at]),
    }

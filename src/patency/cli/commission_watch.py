"""``patency commission watch``: flag ports that slowly clog, and sensors whose readings drift from cycle to cycle."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.errors import InputError

if TYPE_CHECKING:
    from patency.flow import Drift, WatchedFault, WatchedPort, WatchedSensor


@click.command(cls=PatencyCommand, short_help="Flag what slowly clogs or drifts.")
@click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))
@click.argument("measurements", metavar="[MEASUREMENTS]", required=False, type=click.Path(path_type=Path))
@click.option("--csv", "table", type=click.Path(path_type=Path), help="Take the readings from this table.")
@click.option("--plan", type=click.Path(path_type=Path), help="A plan that has loads like those of the baselines.")
@click.option("--baseline", "baselines", multiple=True, type=click.Path(path_type=Path), help="Kept cycles of a load.")
@click.option(
    "--false-alarm-in",
    default=1000,
    show_default=True,
    type=click.IntRange(10, 100000),
    help="Mean number of readings of a port, or cycles of a sensor, until it is flagged though nothing happened.",
)
def watch(
    folder: Path,
    measurements: Path | None,
    table: Path | None,
    plan: Path | None,
    baselines: tuple[Path, ...],
    false_alarm_in: int,
) -> Answer:
    """Watch later bucket readings of ports, and what sensors showed in kept cycles (--plan, --baseline), for a drift.

    Readings a fit was made from are left out: they say nothing new. Of kept cycles it is said, too, which faults would
    show in them and which would not. Ends with 1 when something is flagged.
    """
    from patency.steps import watch_bench, watch_kept_cycles

    if measurements is None and not baselines:
        raise InputError("commission watch", "nothing to watch", "MEASUREMENTS, or --plan and --baseline")
    if (plan is None) == bool(baselines):
        raise InputError("commission watch", "one of --plan and --baseline alone", "both or neither")
    bench = watch_bench(folder, measurements, table, false_alarm_in) if measurements is not None else None
    sensors = watch_kept_cycles(folder, plan, baselines, false_alarm_in) if plan is not None else ()
    ports = () if bench is None else bench.ports
    left_out = "" if bench is None else bench.left_out
    lines = [f"left out: {left_out}"] if left_out else []
    lines += [_watched(one) for one in ports]
    lines += [line for one in sensors for line in _cycles(one)]
    data = {
        "format": "patency-watch/1",
        "false_alarm_in": false_alarm_in,
        "ports": [_watched_data(one) for one in ports],
        "sensors": [_sensor_data(one) for one in sensors],
        "left_out": left_out,
    }
    flagged = any(one.drift.flagged_at is not None for one in ports) or any(one.flagged for one in sensors)
    return Answer("\n".join(lines), data, Outcome.FALLS_SHORT if flagged else Outcome.ACCEPTABLE)


def _watched(one: WatchedPort) -> str:
    last = f"last {one.flows_m3_s[-1] * 6e4:.3g} L/min, {(one.last_share - 1.0) * 100:+.1f} % of predicted"
    where = f"{one.setup}, port {one.port}: {len(one.days)} readings, {last}"
    return f"{where}: {one.drifts or 'as it was'}"


def _watched_data(one: WatchedPort) -> dict[str, object]:
    return {
        "setup": one.setup,
        "port": one.port,
        "days": [str(day) for day in one.days],
        "flows_m3_s": list(one.flows_m3_s),
        "predicted_m3_s": one.predicted_m3_s,
        **_drift_data(one.drift, [str(day) for day in one.days]),
    }


def _drift_data(drift: Drift, days: list[str]) -> dict[str, object]:
    return {
        "sums": [value if math.isfinite(value) else None for value in drift.sums],
        "flagged_on": None if drift.flagged_at is None else days[drift.flagged_at],
        "since": None if drift.began_at is None else days[drift.began_at],
    }


def _cycles(one: WatchedSensor) -> list[str]:
    """Say of a sensor whether it drifts, and what would show in it."""
    factor, unit = (1e-2, "mbar") if one.measured == "pressure" else (6e4, "L/min")
    last = (
        f"last {one.values[-1] * factor:.4g} {unit}, {(one.values[-1] / one.values[0] - 1.0) * 100:+.1f} % of the first"
    )
    where = f"load {one.load_id} in {one.machine}, {one.sensor}: {len(one.days)} cycles, {last}"
    kinds: dict[str, list[WatchedFault]] = {}
    for fault in one.faults:
        kinds.setdefault(fault.fault.kind, []).append(fault)
    seen = ", ".join(_observable(kind, alike) for kind, alike in kinds.items() if any(f.cycles for f in alike))
    unseen = ", ".join(
        f"{kind} ({count} of {len(alike)})"
        for kind, alike in kinds.items()
        if (count := sum(fault.cycles is None for fault in alike))
    )
    lines = [
        f"{where}: {one.drifts or 'as it was'}",
        f"  one cycle scatters by {one.scatter * 100:.2g} %",
        f"  what comes now and stays is flagged after so many cycles: {seen or 'nothing'}",
    ]
    return [*lines, f"  cannot be seen in {one.sensor} of this load: {unseen}"] if unseen else lines


def _observable(kind: str, alike: list[WatchedFault]) -> str:
    seen = [fault.cycles for fault in alike if fault.cycles is not None]
    low, high = (str(one) for one in (min(seen), max(seen)))
    cycles = low if low == high else f"{low} to {high}"
    return f"{kind} ({len(seen)} of {len(alike)}: {cycles})" if len(alike) > 1 else f"{kind} ({cycles})"


def _sensor_data(one: WatchedSensor) -> dict[str, object]:
    days = [str(day) for day in one.days]
    return {
        "load": one.load_id,
        "machine": one.machine,
        "sensor": one.sensor,
        "measured": str(one.measured),
        "days": days,
        "values": list(one.values),
        "scatter": one.scatter,
        "falling": _drift_data(one.falling, days),
        "rising": _drift_data(one.rising, days),
        "faults": [
            {
                "fault": fault.fault.name,
                "moved": fault.moved if math.isfinite(fault.moved) else None,
                "flagged_after_cycles": fault.cycles,
            }
            for fault in one.faults
        ],
    }

"""``patency faults``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.progress import tell

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.flow import Advice, Option, SensorAdvice
    from patency.steps import LoadFaults


@click.command("faults", cls=PatencyCommand, short_help="Find single faults that no sensor sees.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--load", "load_id", help="One load of the plan only; all where left out.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write a table and a matrix of all faults for each load there.",
)
@click.option(
    "--false-alarms",
    type=float,
    help="Share of cycles without fault that may alarm; else the site's, else 1 %.",
)
@click.option(
    "--least", default=0.99, show_default=True, help="Probability of an alarm from which a fault counts as seen."
)
@click.option(
    "--baseline",
    "baselines",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Earlier cycles of a load that are kept; can be given several times.",
)
@click.option("--assume", type=click.Choice(["model", "same-load"]), help="Count as seen what an alarm would show.")
@click.option("--sensors", is_flag=True, help="Try which further sensors, or orifices, would show most.")
def faults_command(
    plan: Path,
    folder: Path,
    load_id: str | None,
    out: Path | None,
    false_alarms: float | None,
    least: float,
    baselines: tuple[Path, ...],
    assume: str | None,
    sensors: bool,  # noqa: FBT001 - a flag of the command line
) -> Answer:
    """Work out every single fault of the loads of the plan file PLAN: a hose off, a lumen blocked, a cap missing.

    For each kind: how many lumens fall below their need, the most of its flow that one takes from another lumen, and
    how likely the sensors raise an alarm; then the fewest glances that show what no sensor sees. Without a baseline of
    earlier cycles of the load nobody raises an alarm on pressures and flows: they count as showing nothing. --assume
    tells what an alarm would save, held against the computed value or against earlier cycles as they are assumed to
    scatter. With --out the same of every single fault is written. Ends with 1 when neither a sensor nor a glance shows
    some fault, or some lumen is not judged.
    """
    from patency.flow import AGAINST_THE_MODEL, AGAINST_THE_SAME_LOAD, Alarm, alarm_of_site
    from patency.steps import (
        fault_pictures,
        faults_document,
        faults_of_plan,
        read_baselines,
        read_planned,
        with_advice,
        write_all,
    )

    department, read = read_planned(plan, folder)
    assumed = {"model": AGAINST_THE_MODEL.name, "same-load": AGAINST_THE_SAME_LOAD.name}.get(assume or "")
    share = alarm_of_site(department.limits.cycle).false_alarms if false_alarms is None else false_alarms
    kept = read_baselines(baselines)
    found = faults_of_plan(department, read, Alarm(share, least), load_id, kept, assumed, tell)
    if sensors:
        tell("trying further sensors")
        found = [with_advice(department, one) for one in found]
    tell("")
    lines = [line for one in found for line in _words(one)]
    if out is not None:
        tables = {f"load-{one.load.id}-faults.txt": "\n".join([*_table(one), ""]).encode() for one in found}
        lines += [str(path) for path in write_all(out, fault_pictures(found) | tables)]
    short = any(one.spots.unseen or one.effects.not_judged for one in found)
    outcome = Outcome.FALLS_SHORT if short else Outcome.ACCEPTABLE
    return Answer("\n".join(lines), faults_document(read, found), outcome)


def _words(one: LoadFaults) -> Iterator[str]:
    effects, spots, load = one.effects, one.spots, one.load.id
    seen = len(spots.faults) - len(spots.blind)
    yield (
        f"load {load}: {len(spots.faults)} single faults; the sensors see {seen} "
        f"({spots.comparison}, {spots.alarm.false_alarms * 100:g} % false alarms), "
        f"glances show {len(spots.blind) - len(spots.unseen)} of the others, nobody sees {len(spots.unseen)}"
    )
    if spots.not_known:
        yield f"load {load}: pressures and flows count as showing nothing: {spots.not_known}"
    yield from _kinds(one)
    yield from (
        f"load {load}: beyond the pump's run-out: {effects.faults[k].name}" for k in effects.beyond_run_out.nonzero()[0]
    )
    yield from (f"load {load}: not computed: {words}" for words in effects.not_computed)
    yield from (f"load {load}: not judged: {words}" for words in effects.not_judged_told)
    proof = "no list is shorter" if len(spots.checks) == spots.least_checks else f"at least {spots.least_checks}"
    yield f"load {load}: {len(spots.checks)} glances show what no sensor sees ({proof}):"
    for check in spots.checks:
        of_what = ", ".join(part for part in (check.level, check.set, check.piece) if part)
        yield f"  {check.when}: {check.look}{f' ({of_what})' if of_what else ''}: {', '.join(check.places)}"
    unseen: dict[str, list[str]] = {}
    for k in spots.unseen:
        unseen.setdefault(spots.faults[k].kind.value, []).append(spots.faults[k].place)
    for kind, places in unseen.items():
        where = f": {', '.join(places)}" if any(places) else ""
        yield f"load {load}: seen by no sensor and by no glance: {kind}{where}"
    if one.advice is not None:
        yield from _advice_words(load, one.advice)


_COLUMNS = """\
short: lumens that fall below their need and did not before; taken: the most of its flow that the fault takes from a
lumen that does not hang on it; alarm: how likely the sensors raise an alarm, held against the computed value;
same load: the same, held against earlier cycles of the same load."""
_KINDS = """\
Of each kind the worst fault by short and taken is named; alarm and same load are those of the fault of the kind that
the sensors show least. Every fault by itself: --out or --json."""


def _kinds(one: LoadFaults) -> Iterator[str]:
    """Tell of each kind of fault how many there are, how many the sensors see, and its worst."""
    from patency.steps import loss_of_others

    effects, spots = one.effects, one.spots
    model, same = list(spots.probability.values())[:2]
    rows: dict[str, list[int]] = {}
    for row, fault in enumerate(effects.faults):
        rows.setdefault(fault.kind.value, []).append(row)
    yield from (*_COLUMNS.splitlines(), *_KINDS.splitlines())
    yield f"{'kind of fault':<32}{'faults':>7}{'seen':>6}{'short':>7}{'taken':>9}{'alarm':>8}{'same load':>11}  worst"
    for kind, alike in rows.items():
        short = {row: int(effects.falls_short[row].sum()) for row in alike}
        worst = max(alike, key=lambda row: (short[row], loss_of_others(effects, row)))
        numbers = _numbers(short[worst], loss_of_others(effects, worst), model[alike].min(), same[alike].min())
        seen = sum(row not in spots.blind for row in alike)
        yield f"{kind:<32}{len(alike):>7}{seen:>6}{numbers}  {effects.faults[worst].place}".rstrip()


def _table(one: LoadFaults) -> Iterator[str]:
    """Tell of every fault by itself what it does and how likely it is seen."""
    from patency.steps import loss_of_others

    effects = one.effects
    model, same = list(one.spots.probability.values())[:2]
    yield from _COLUMNS.splitlines()
    yield f"{'fault':<66}{'short':>7}{'taken':>9}{'alarm':>8}{'same load':>11}"
    for row, fault in enumerate(effects.faults):
        short = int(effects.falls_short[row].sum())
        yield f"{fault.name:<66}{_numbers(short, loss_of_others(effects, row), model[row], same[row])}"


def _numbers(short: int, taken: float, model: float, same: float) -> str:
    return f"{short:>7}{f'{taken * 100:.1f} %':>9}{f'{model * 100:.0f} %':>8}{f'{same * 100:.0f} %':>11}"


def _advice_words(load: str, advice: SensorAdvice) -> Iterator[str]:
    for built, by_comparison in (("as built", advice.as_built), ("with orifices", advice.with_orifices)):
        for name, choice in by_comparison.items():
            yield f"load {load}, {built}, {name}: of {choice.faults} faults"
            yield from (f"  {words}" for words in _choice_words(choice))
    bores = ", ".join(f"{name} {bore * 1e3:.1f} mm" for name, bore in advice.orifice_bores_m.items())
    yield f"load {load}: orifices: {bores}; they cost a lumen up to {advice.largest_flow_loss * 100:.0f} % of its flow"


def _choice_words(choice: Advice) -> Iterator[str]:
    def words(option: Option) -> str:
        return f"{option.seen} seen with {' and '.join(option.sensors) or 'the fitted sensors'}"

    yield words(choice.as_fitted)
    yield f"best one further: {words(choice.best_one)}"
    yield f"best two further: {words(choice.best_two)}; one after the other: {words(choice.greedy_two)}"
    yield f"a pressure sensor at every place: {choice.all_pressures.seen} seen"

"""``patency plan`` and ``patency sheet``."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyCommand
from patency.cli.interlock import at_option, calendar_option, now
from patency.cli.progress import tell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.load import PieceReplies, Plan


@click.command("plan", cls=PatencyCommand, short_help="Plan loads for the sets that wait.")
@click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Write plan.json and answers.json there.")
@click.option(
    "--seconds",
    default=60.0,
    show_default=True,
    type=click.FloatRange(min=0),
    help="Longest time for all of it; what it cuts short is said.",
)
@click.option(
    "--stay-fed",
    metavar="FAULT",
    multiple=True,
    help="Plan so that lumens stay fed in every single fault of this kind; can be given several times.",
)
@click.option(
    "--by-reach/--as-fed",
    default=True,
    show_default=True,
    help="Move pieces that run into something or that jets strike too little of; or leave them as the water asks.",
)
@calendar_option
@at_option
def plan_command(
    *,
    folder: Path,
    out: Path | None,
    seconds: float,
    stay_fed: tuple[str, ...],
    by_reach: bool,
    calendar: Path | None,
    at: datetime | None,
) -> Answer:
    """Plan the loads for the sets that wait in the department described in SITE.

    With --out the plan is written, and beside it answers.json: the six questions asked of every piece, each answer
    with its numbers, limits and sources. With --stay-fed the plan that does not ask for it is made too; the difference
    is what it costs, and what would buy it is said. Pieces that break a rule of room where they are, or of which jets
    strike less than the site asks for, are tried elsewhere (--by-reach); every move is listed with what it costs the
    lumens. When --seconds are over, what has begun is finished; what is not done then is listed, and answers that ask
    for it are unknown. With --calendar machines and programmes blocked by a test are not planned with, and loads that
    would start after a test ran out are named. Ends with 1 when a set is left out, a piece is not known to be fed, or a
    test blocks something; the reasons are listed.
    """
    from patency.load import write_plan
    from patency.plan import TimeLimit
    from patency.steps import (
        Interlock,
        answers_document,
        answers_of_load,
        blocked_at,
        plan_site,
        write_all,
    )

    limit = TimeLimit.from_now(seconds, monotonic)
    interlock = None if calendar is None else Interlock.of(calendar, at or now())
    department, plan, looks = plan_site(folder, limit, tell, stay_fed, interlock, by_reach=by_reach)
    barred = [] if interlock is None else blocked_at(interlock, folder, plan)
    tell("answering the six questions")
    answers = {load.id: answers_of_load(department, plan, load, looks) for load in plan.loads}
    tell("")
    plan = plan.model_copy(update={"cut_short": limit.cut_short})
    written: list[Path] = []
    if out is not None:
        document = json.dumps(answers_document(plan, answers), indent=1, ensure_ascii=False, allow_nan=False)
        written = write_all(out, {"plan.json": write_plan(plan).encode(), "answers.json": document.encode()})
    thirsty = _not_fed(answers)
    falls_short = plan.left_out or plan.conflicts or thirsty or barred
    return Answer(
        "\n".join([_words(plan, answers), *thirsty, *barred, *_next_steps(written, folder)]),
        plan.model_dump(mode="json"),
        Outcome.FALLS_SHORT if falls_short else Outcome.ACCEPTABLE,
    )


@click.command("sheet", cls=PatencyCommand, short_help="Print the load sheets of a plan.")
@click.argument("plan", metavar="PLAN", type=click.Path(path_type=Path))
@click.option("--site", "folder", required=True, type=click.Path(path_type=Path), help="The department's folder.")
@click.option("--out", required=True, type=click.Path(file_okay=False, path_type=Path), help="Where to write.")
@click.option(
    "--baseline",
    "baselines",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Earlier cycles of a load that are kept; can be given several times.",
)
def sheet_command(plan: Path, folder: Path, out: Path, baselines: tuple[Path, ...]) -> Answer:
    """Print the load sheet of every load of the plan file PLAN, as PDF and as a web page.

    The list of what people look at leaves out what the alarm of the verdict shows where a baseline of the load is kept.
    """
    from patency.steps import Looks, print_sheets, read_baselines, read_meshes, read_planned, write_all

    department, read = read_planned(plan, folder)
    kept = read_baselines(baselines)
    looks = Looks(department, read_meshes(department, folder))
    sheets = print_sheets(
        department,
        read,
        datetime.now(UTC),
        lambda done, total: tell(f"printing load sheets {done} of {total}"),
        kept,
        looks,
    )
    tell("")
    written = [str(path) for path in write_all(out, sheets)]
    return Answer("\n".join(written), {"written": written})


def _words(plan: Plan, answers: dict[str, list[PieceReplies]]) -> str:
    from patency.steps import answer_counts
    from patency.texts import people_count

    proof = "proven fewest" if plan.proven_fewest else f"at least {plan.loads_at_least}"
    lines = [f"{plan.site}, {plan.day}: {people_count(len(plan.loads), 'load')}, {proof}"]
    for load in plan.loads:
        lumens = sum(len(piece.lumens) for piece in load.pieces)
        capped = people_count(len(load.capped_ports), "port")
        when = f"{load.starts:%H:%M} to {load.ends:%H:%M}"
        lines += [
            f"load {load.id}: {load.carrier} in {load.machine}, {load.programme}, {when}: {', '.join(load.sets)}",
            f"load {load.id}: {people_count(lumens, 'lumen')} connected, {capped} capped",
        ]
        counts = answer_counts(answers[load.id])
        told = (f"{question} {_counted(counted)}" for question, counted in counts.items())
        lines.append(f"load {load.id}: {'; '.join(told)}")
        lines += [f"load {load.id}: port {port} stays open, no cap is left" for port in load.open_ports]
    lines += [f"left out: {one.set}: {one.why}" for one in plan.left_out]
    lines += [f"moved by what the jets strike: {one}" for one in plan.moved_for_reach]
    cut = (f"cut short by the time limit: {one}" for one in plan.cut_short)
    return "\n".join([*lines, *_stays_fed(plan), *plan.conflicts, *cut])


def _next_steps(written: Sequence[Path], folder: Path) -> list[str]:
    """Say what was written and what comes next."""
    if not written:
        return ["nothing was written; --out DIRECTORY writes the plan, which check and sheet need"]
    return [
        *(f"written: {path}" for path in written),
        f"next: patency check {written[0]} --site {folder}",
        f"then: patency sheet {written[0]} --site {folder} --out {written[0].parent}",
    ]


def _stays_fed(plan: Plan) -> list[str]:
    """Say in which faults the lumens were asked to stay fed, what that costs, and what would buy it."""
    asked = plan.stays_fed
    if asked is None:
        return []
    faults = ", ".join(asked.fault_kinds)
    nothing = "nothing" if not asked.not_computed else "nothing, as far as it can be computed"
    return [
        *([f"staying fed in every single fault ({faults}) costs {nothing}"] if not asked.costs else []),
        *(f"staying fed in every single fault ({faults}) costs: {cost}" for cost in asked.costs),
        *(f"would buy it: {change}" for change in asked.would_buy),
        *(f"would not do: {change}" for change in asked.would_not_do),
        *(f"not known to stay fed: {what}" for what in asked.not_computed),
    ]


def _not_fed(answers: dict[str, list[PieceReplies]]) -> list[str]:
    """Name every piece that is not known to be fed: unknown counts as no."""
    from patency.load import Question
    from patency.quantities import Answer as Reply

    asked = [(load, one, one.replies[Question.FED]) for load, replies in answers.items() for one in replies]
    return [
        f"load {load}: {one.set}, {one.piece}: fed {reply.answer}: {reply.why}"
        for load, one, reply in asked
        if reply.answer is not Reply.YES
    ]


def _counted(counted: dict[str, int]) -> str:
    return ", ".join(f"{number} {answer}" for answer, number in counted.items() if number)

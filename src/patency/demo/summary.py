"""The demo day on one screen."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from patency.catalogue import Placing
from patency.load import Question
from patency.quantities import Answer

if TYPE_CHECKING:
    from patency.demo.day import DemoDay
    from patency.load import Load

_NAMED = 2


def summary_text(day: DemoDay) -> str:
    """Tell what came of the day: loads, sets, weakest lumens, caps and sleeves, verdicts, files.

    Parameters
    ----------
    day
        The day.

    Returns
    -------
    str
        At most about forty lines.
    """
    plan = day.plan
    proof = "proven fewest" if plan.proven_fewest else f"at least {plan.loads_at_least}"
    lines = [f"{plan.site}, {plan.day:%d %B %Y}: {len(plan.loads)} loads, {proof}", ""]
    for load in plan.loads:
        lines += _load_lines(day, load)
    replies = [reply for one in day.answers.values() for piece in one for reply in piece.replies.values()]
    counts = Counter((reply.question, reply.answer) for reply in replies)
    told = (
        f"{question} " + ", ".join(f"{counts[question, one]} {one}" for one in Answer if counts[question, one])
        for question in Question
    )
    lines += [f"The six questions, over all pieces: {'; '.join(told)}"]
    open_ones = Counter((reply.question, reply.why) for reply in replies if reply.answer is Answer.UNKNOWN)
    lines += [f"{question} is unknown of {count}: {why}" for (question, why), count in open_ones.most_common(_NAMED)]
    lines += [f"Left out: {one.set}: {one.why}" for one in plan.left_out]
    check = f"{len(day.check.findings)} rules broken of {day.check.rules}"
    lines += [
        f"Second check of the plan: {check}, {len(day.check.open_points)} places left open by missing data",
        "",
        f"Everything is in {day.folder}: sheets/ to load from, files/ to decide by,",
        "plan.json, answers.json (the six questions with their numbers), records/, site/, truth/.",
        "Predictions are calculations, not measurements. Release is the decision of a qualified person.",
    ]
    return "\n".join(lines)


def _load_lines(day: DemoDay, load: Load) -> list[str]:
    cycle = day.cycles[load.id]
    weakest = cycle.file.lumens[0]
    doubtful = [one for one in cycle.file.criteria if one.state != "met"]
    names = [one.name for one in doubtful[:_NAMED]]
    more = f" and {len(doubtful) - _NAMED} more" if len(doubtful) > _NAMED else ""
    when = f"{load.starts:%H:%M} to {load.ends:%H:%M}"
    return [
        f"Load {load.id}  {load.carrier}, {when}, {load.programme}: {', '.join(load.sets)}",
        f"        {_counts(load)}",
        f"        weakest lumen {weakest.port}: {weakest.piece}, {weakest.flow}, {weakest.shear}",
        f"        record: {cycle.file.verdict.upper()}" + (f" ({'; '.join(names)}{more})" if names else ""),
    ]


def _counts(load: Load) -> str:
    lumens = [connection for piece in load.pieces for connection in piece.lumens]
    links = [link for connection in lumens for link in connection.chain]
    sleeves = sum(link.startswith("flushing_sleeve") for link in links)
    pods = len({piece.set for piece in load.pieces if piece.placing is Placing.POD})
    return (
        f"{len(load.pieces)} pieces, {len(lumens)} lumens connected, {sleeves} sleeves, "
        f"{len(load.capped_ports)} caps, {pods} pods"
    )


def summary_data(day: DemoDay) -> dict[str, Any]:
    """Return the same as plain values for JSON.

    Parameters
    ----------
    day
        The day.

    Returns
    -------
    dict
        Format ``patency-demo/1``.
    """
    return {
        "format": "patency-demo/1",
        "folder": str(day.folder),
        "loads_at_least": day.plan.loads_at_least,
        "proven_fewest": day.plan.proven_fewest,
        "left_out": [one.model_dump() for one in day.plan.left_out],
        "rules_broken": len(day.check.findings),
        "loads": [
            {
                "id": load.id,
                "carrier": load.carrier,
                "sets": list(load.sets),
                "lumens_connected": sum(len(piece.lumens) for piece in load.pieces),
                "verdict": day.cycles[load.id].evidence.verdict.value,
            }
            for load in day.plan.loads
        ],
    }

"""Better margins within a load: what came out weak moves nearer to the feed, as long as the weakest margin grows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.plan.port_groups import lumen_kinds

if TYPE_CHECKING:
    from patency.plan.port_groups import LumenKind
    from patency.plan.posing import Posed
    from patency.plan.search.problem import Run
    from patency.plan.water import Verdict

# Thirst of the weakest lumen in each trial, against ten for a step of the walk.
STRENGTHS = (5.0, 20.0, 100.0)


def thirst_after(posed: Posed, run: Run, verdict: Verdict, strength: float) -> dict[LumenKind, float]:
    """Return how thirsty each kind of lumen of a load is after its flow was computed.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load.
    verdict
        What the flow said.
    strength
        Thirst of the weakest.

    Returns
    -------
    dict[LumenKind, float]
        In proportion to the weakest margin over its own.
    """
    weakest = verdict.weakest
    if weakest is None:
        return {}
    thirst: dict[LumenKind, float] = {}
    for name in run.sets:
        for piece in posed.pieces[name]:
            margin = verdict.margins.get((name, piece.key))
            if margin is not None and margin > 0:
                for kind in lumen_kinds(piece):
                    thirst[kind] = max(thirst.get(kind, 0.0), strength * weakest / margin)
    return thirst


def better(one: Verdict, other: Verdict) -> bool:
    """Tell whether one verdict is better than another: fewer lumens short, then the weakest margin larger.

    Parameters
    ----------
    one
        A verdict.
    other
        The verdict it is compared with.

    Returns
    -------
    bool
        True when the first is better by more than rounding.
    """
    if len(one.short) != len(other.short):
        return len(one.short) < len(other.short)
    return (one.weakest or 0.0) > (other.weakest or 0.0) * (1 + 1e-6)

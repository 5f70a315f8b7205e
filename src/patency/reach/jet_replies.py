"""What jets and geometry add to the answers to **reached** and **held**."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.load import Figure, Question, Reply
from patency.quantities import Answer, worst
from patency.reach.faults import Rule
from patency.reach.jets.struck import Wetting
from patency.reach.outside import may_be_out

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from patency.catalogue import LoadLimits
    from patency.quantities import Limit
    from patency.reach.jets.struck import PieceStrikes, ZoneStrikes
    from patency.reach.load_reach import LoadReach
    from patency.reach.solids.placed import PieceKey

NOT_COMPUTED = "which jets strike it is not computed: look at its outer surfaces when unloading"
_OF_HELD = (Rule.MOVED, Rule.ON_LIGHTER)
_ZONES_TOLD = 3
_SHADOWED = 0.5
_SMALLEST_ZONE_M2 = 4e-6


def with_jets(replies: Mapping[PieceKey, Reply], found: LoadReach | None, limits: LoadLimits) -> dict[PieceKey, Reply]:
    """Add to each answer to **reached** what was computed of jets and places.

    Parameters
    ----------
    replies
        Set and piece to the answer as far as room and drainage go.
    found
        What was computed; None where it was not.
    limits
        The site's limits: ``struck_share`` is the least share that counts.

    Returns
    -------
    dict[PieceKey, Reply]
        Set and piece to the whole answer.
    """
    return {
        key: joined(Question.REACHED, [reply, *_of_jets(key, found, limits.struck_share)])
        for key, reply in replies.items()
    }


def with_forces(replies: Mapping[PieceKey, Reply], found: LoadReach) -> dict[PieceKey, Reply]:
    """Add to each answer to **held** what the jets can move and what lies on lighter pieces.

    Parameters
    ----------
    replies
        Set and piece to the answer as far as states, nets and tipping go.
    found
        What was computed.

    Returns
    -------
    dict[PieceKey, Reply]
        Set and piece to the whole answer.
    """
    whole = {}
    for key, reply in replies.items():
        faults = [one.words for one in found.faults if one.piece == key and one.rule in _OF_HELD]
        more = [Reply(Question.HELD, Answer.NO, "; ".join(faults))] if faults else []
        figures: tuple[Figure, ...] = ()
        if found.strikes and key in found.strikes.pieces:
            push = found.strikes.arms.forces_times * found.strikes.pieces[key].push_n
            figures = (Figure("largest push of the jets", push, "N"),)
        joint = joined(Question.HELD, [reply, *more])
        whole[key] = Reply(joint.question, joint.answer, joint.why, (*joint.figures, *figures))
    return whole


def _of_jets(key: PieceKey, found: LoadReach | None, least: Limit | None) -> Iterator[Reply]:
    if found is None:
        yield Reply(Question.REACHED, Answer.UNKNOWN, NOT_COMPUTED)
        return
    faults = [one.words for one in found.faults if one.piece == key and one.rule not in _OF_HELD]
    if faults:
        yield Reply(Question.REACHED, Answer.NO, "; ".join(faults))
    elif doubt := may_be_out(found.arranged, key):
        yield Reply(Question.REACHED, Answer.UNKNOWN, doubt)
    gaps = found.gaps(key)
    strikes = found.strikes.pieces.get(key) if found.strikes else None
    if gaps or strikes is None:
        yield Reply(Question.REACHED, Answer.UNKNOWN, "; ".join(gaps) or NOT_COMPUTED)
        return
    yield _judged(strikes, least)


def _judged(strikes: PieceStrikes, least: Limit | None) -> Reply:
    """Hold the share that is struck directly against the least one, rinsed patches left out of both."""
    share = strikes.struck_share
    figures: tuple[Figure, ...] = (
        Figure("share of the surface struck directly", share, "1", limit=least),
        Figure("share wetted only by reflection", strikes.share(Wetting.REFLECTED), "1"),
        Figure("share that water does not get to in this calculation", _away(strikes), "1"),
        Figure("strongest impact pressure", float(strikes.pressure_pa.max(initial=0.0)), "Pa"),
    )
    told = "; ".join(shadow_words(zone) for zone in shadowed_zones(strikes)[:_ZONES_TOLD])
    why = f"jets strike {100 * share:.0f} % of its surface directly" + (f"; shadowed: {told}" if told else "")
    if alone := strikes.share(Wetting.INJECTED):
        figures = (*figures, Figure("share struck only by free jets of open ports", alone, "1"))
        why += f"; {100 * alone:.1f} % struck only by the free jet of open port {' and '.join(strikes.steady.ports)}"
    if least is None:
        return Reply(Question.REACHED, Answer.UNKNOWN, f"{why}; the site states no least share", figures)
    if share < least.value:
        asked = f", at least {100 * least.value:.0f} % are asked for"
        return Reply(Question.REACHED, Answer.NO, why.replace(" directly", f" directly{asked}", 1), figures)
    return Reply(Question.REACHED, Answer.YES, why, figures)


def shadowed_zones(strikes: PieceStrikes) -> list[ZoneStrikes]:
    """List the zones of a piece of which jets strike less than half directly.

    Parameters
    ----------
    strikes
        What the jets strike of it.

    Returns
    -------
    list[ZoneStrikes]
        The one with the largest area that is not struck first; zones of a few square millimetres are left out.
    """
    zones = [one for one in strikes.zones if one.struck_share < _SHADOWED and one.area_m2 >= _SMALLEST_ZONE_M2]
    return sorted(zones, key=lambda one: -one.area_m2 * (1.0 - one.struck_share))


def shadow_words(zone: ZoneStrikes) -> str:
    """Say of a zone how much of it is struck and what shadows it.

    Parameters
    ----------
    zone
        The zone.

    Returns
    -------
    str
        Such as ``under the handle (18 %, no jet points there)``.
    """
    by = " and ".join(zone.shadowed_by)
    reason = f"in the shadow of {by}" if by else "no jet points there"
    return f"{zone.name} ({100 * zone.struck_share:.0f} %, {reason})"


def _away(strikes: PieceStrikes) -> float:
    return strikes.share(Wetting.SHELTERED) + strikes.share(Wetting.COVERED)


def joined(question: Question, replies: Iterable[Reply]) -> Reply:
    """Make one reply of several that must all be yes.

    Parameters
    ----------
    question
        The question the whole answers.
    replies
        The parts, at least one.

    Returns
    -------
    Reply
        The worst answer with the reasons of the parts that gave it, and the figures of all.
    """
    parts = list(replies)
    answer = worst(part.answer for part in parts)
    why = "; ".join(part.why for part in parts if part.answer is answer)
    return Reply(question, answer, why, tuple(figure for part in parts for figure in part.figures))

"""Whether a piece that leans in an inclined stand stays there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.load import Figure, Question, Reply
from patency.quantities import STANDARD_GRAVITY_M_S2, Answer
from patency.reach.placement import stretches

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.catalogue import Body, LoadLimits, PieceType
    from patency.reach.placement import Standing

_UPRIGHT_DEG = 89.9


def tipping(piece: PieceType, stands: Standing, limits: LoadLimits) -> Reply:
    """Answer whether the weight behind the support holds down what leans over beyond it.

    The piece rests with its foot at the port and on its support; what lies beyond the support tips it, what lies
    between foot and support holds it. Both moments are taken about the support. How the mass is spread over the drawn
    bodies is not in the catalogue: once every body counts as solid (mass as length times width squared), once as a
    shell (mass as length times width), and the worse of the two decides; an assumption without source. The
    pull of a hose is not counted: the reserve has to cover it. Jets are another thing, see ``held``.

    Parameters
    ----------
    piece
        The piece.
    stands
        Its axis, see ``standing``.
    limits
        The site's limits: ``tipping_reserve`` is the least ratio of holding to tipping moment.

    Returns
    -------
    Reply
        To **held**. An upright piece has no tipping moment. ``no`` when it does not reach its support or the ratio is
        below the limit; ``unknown`` when mass or limit are not known.
    """
    if stands.inclination_deg >= _UPRIGHT_DEG:
        return Reply(Question.HELD, Answer.YES, "stands upright: its weight does not tip it")
    short_m = stands.support_at_m - stands.foot_m - piece.length_m
    if short_m > 0:
        return Reply(Question.HELD, Answer.NO, f"ends {1000 * short_m:.0f} mm before its support")
    spreads = [_arms_m(piece, stands, spread) for spread in (_as_solid, _as_shell)]
    if all(tipping_m == 0.0 for _, tipping_m in spreads):
        return Reply(Question.HELD, Answer.YES, "nothing of it leans over beyond its support")
    ratios = sorted(holding_m / tipping_m for holding_m, tipping_m in spreads)
    figures = (
        Figure("holding over tipping moment", ratios[0], "1", ratios[0], ratios[-1], limits.tipping_reserve),
        *_moments(piece, stands, spreads),
    )
    return _judged(ratios[0], piece, limits, figures)


def moment_left_n_m(piece: PieceType, stands: Standing) -> float | None:
    """Return by how much the weight behind the support exceeds what leans over beyond it.

    Parameters
    ----------
    piece
        The piece.
    stands
        Its axis, see ``standing``.

    Returns
    -------
    float | None
        Moment about the support with which anything else has to push before it tips [N m], the worse way of spreading
        the mass as in ``tipping``; None where the mass is not known.
    """
    if piece.mass_kg is None:
        return None
    spreads = [_arms_m(piece, stands, spread) for spread in (_as_solid, _as_shell)]
    return piece.mass_kg * STANDARD_GRAVITY_M_S2 * stands.cosine * min(holding - over for holding, over in spreads)


def _judged(ratio: float, piece: PieceType, limits: LoadLimits, figures: tuple[Figure, ...]) -> Reply:
    reserve = limits.tipping_reserve
    # A holding moment below the tipping moment tips over whatever the site asks for.
    least = max(reserve.value, 1.0) if reserve else 1.0
    if ratio < least:
        why = f"its weight holds {ratio:.2f} times what tips it over its support, at least {least:g} is needed"
        return Reply(Question.HELD, Answer.NO, why, figures)
    if piece.mass_kg is None:
        return Reply(Question.HELD, Answer.UNKNOWN, "its mass is not known", figures)
    if reserve is None:
        return Reply(Question.HELD, Answer.UNKNOWN, "the site states no reserve against tipping", figures)
    why = f"its weight holds {ratio:.2f} times what tips it over its support"
    return Reply(Question.HELD, Answer.YES, why, figures)


def _arms_m(piece: PieceType, stands: Standing, spread: Callable[[Body], float]) -> tuple[float, float]:
    """Return the mean lever arms behind and beyond the support, along the axis and weighted by mass."""
    support = stands.support_at_m
    mass = holding = tipping_ = 0.0
    for stretch in stretches(piece, stands):
        density = spread(stretch.body)
        below = max(0.0, support - stretch.begins_m), max(0.0, support - stretch.ends_m)
        above = max(0.0, stretch.begins_m - support), max(0.0, stretch.ends_m - support)
        mass += density * stretch.body.length_m
        holding += density * (below[0] ** 2 - below[1] ** 2) / 2
        tipping_ += density * (above[1] ** 2 - above[0] ** 2) / 2
    return holding / mass, tipping_ / mass


def _moments(piece: PieceType, stands: Standing, spreads: list[tuple[float, float]]) -> tuple[Figure, ...]:
    if piece.mass_kg is None:
        return ()
    weight_n = piece.mass_kg * STANDARD_GRAVITY_M_S2 * stands.cosine
    return (
        Figure("least holding moment", weight_n * min(holding for holding, _ in spreads), "N m"),
        Figure("largest tipping moment", weight_n * max(tipping_ for _, tipping_ in spreads), "N m"),
    )


def _as_solid(body: Body) -> float:
    return body.width_m**2


def _as_shell(body: Body) -> float:
    return body.width_m

"""Rules for the last link of a connector chain: a flushing sleeve on a tube, an injector nozzle in a bore."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import BoreSegment, FedBy, FlushingSleeve, InjectorNozzle
from patency.quantities import Answer

if TYPE_CHECKING:
    from patency.catalogue import ChainLink, LoadLimits, Lumen

# Decimal fractions of metres are not exact in binary; a nanometre forgives their rounding, not a misfit.
_ROUNDING_M = 1e-9


@dataclass(frozen=True, slots=True)
class EndFit:
    """How the last link of a chain meets a lumen.

    Parameters
    ----------
    answer
        Whether it does; ``unknown`` where a datum is missing.
    why
        What decided, in words.
    depth_m
        Least and largest depth [m] to which an injector nozzle can stand inside the bore; None for other links.
    """

    answer: Answer
    why: str
    depth_m: tuple[float, float] | None = None


def end_fit(link: ChainLink, lumen: Lumen, limits: LoadLimits) -> EndFit:
    """Answer whether a last link feeds a lumen.

    Parameters
    ----------
    link
        The last link of a chain.
    lumen
        The lumen.
    limits
        The site's limits on how a load is arranged.

    Returns
    -------
    EndFit
        A lumen that is fed by an injector nozzle takes nothing else, any other lumen takes no nozzle.
    """
    if isinstance(link, InjectorNozzle):
        if lumen.fed_by is not FedBy.INJECTOR_NOZZLE:
            return EndFit(Answer.NO, "this lumen needs a connection that carries all its water")
        return nozzle_fit(link, lumen, limits)
    if lumen.fed_by is FedBy.INJECTOR_NOZZLE:
        return EndFit(Answer.NO, "this lumen needs an injector nozzle inside its open end")
    far = link.grips if isinstance(link, FlushingSleeve) else link.far
    if lumen.inlet is None:
        return EndFit(Answer.UNKNOWN, "the connector at the lumen's inlet is not stated")
    joins = far.mates_with(lumen.inlet)
    if joins is not Answer.YES:
        return EndFit(joins, "its end does not join the inlet" if joins is Answer.NO else "one of two sizes is missing")
    return sleeve_fit(link, lumen) if isinstance(link, FlushingSleeve) else EndFit(Answer.YES, "the ends join")


def sleeve_fit(sleeve: FlushingSleeve, lumen: Lumen) -> EndFit:
    """Answer whether a flushing sleeve holds on a tube and leaves its side holes free.

    Parameters
    ----------
    sleeve
        The sleeve; that it grips the tube's size is settled by its connector.
    lumen
        The lumen through the tube.

    Returns
    -------
    EndFit
        ``no`` when the tube offers less length than the sleeve has to cover or a side hole lies beneath it,
        ``unknown`` when the length a sleeve may cover is not stated, or whether there are side holes.
    """
    overlap = sleeve.least_overlap_m
    if lumen.grip_m is None:
        return EndFit(Answer.UNKNOWN, "the length a sleeve may cover is not stated")
    if overlap > lumen.grip_m + _ROUNDING_M:
        return EndFit(Answer.NO, f"it has to cover {_mm(overlap)}, the tube offers {_mm(lumen.grip_m)}")
    if lumen.side_holes is None:
        return EndFit(Answer.UNKNOWN, "whether there are side holes that it would cover is not stated")
    for holes in lumen.side_holes:
        if holes.from_inlet_m < overlap - _ROUNDING_M:
            return EndFit(Answer.NO, f"it would cover the side holes at {_mm(holes.from_inlet_m)}")
    return EndFit(Answer.YES, f"it covers {_mm(overlap)} of {_mm(lumen.grip_m)}")


def nozzle_fit(nozzle: InjectorNozzle, lumen: Lumen, limits: LoadLimits) -> EndFit:
    """Answer whether an injector nozzle can stand in the open end of a lumen, and how deep.

    Parameters
    ----------
    nozzle
        The nozzle.
    lumen
        The lumen.
    limits
        The site's limits: widest nozzle as a share of the bore, least depth.

    Returns
    -------
    EndFit
        With the range of depths: at least the site's least depth and deep enough for every side hole of the nozzle,
        at most the nozzle's length and the length of bore that is wide enough for it. Nominal dimensions count.
    """
    if limits.nozzle_share_of_bore is None or limits.nozzle_depth is None:
        return EndFit(Answer.UNKNOWN, "the site states no share of the bore or no depth for injector nozzles")
    if nozzle.side_holes is None:
        return EndFit(Answer.UNKNOWN, "whether the nozzle has side holes is not stated")
    share = limits.nozzle_share_of_bore.value
    wide_enough = 0.0
    narrowest = None
    for segment in lumen.segments:
        bore = segment.bore_m.nominal if isinstance(segment, BoreSegment) else 0.0
        if nozzle.outer_m > share * bore + _ROUNDING_M:
            narrowest = bore
            break
        wide_enough += segment.length_m.nominal
    least = max([limits.nozzle_depth.value, *(nozzle.length_m.nominal - h.from_inlet_m for h in nozzle.side_holes)])
    most = min(nozzle.length_m.nominal, wide_enough)
    if wide_enough == 0.0:
        what = f"a bore of {_mm(narrowest)}" if narrowest else "an annulus"
        return EndFit(Answer.NO, f"{_mm(nozzle.outer_m)} is more than {100 * share:.0f} % of {what}")
    if least > most + _ROUNDING_M:
        return EndFit(Answer.NO, f"it has to stand {_mm(least)} inside the bore, only {_mm(most)} are possible")
    return EndFit(
        Answer.YES,
        f"{_mm(nozzle.outer_m)} wide, {_mm(least)} to {_mm(most)} inside the bore",
        (_whole(least), _whole(most)),
    )


def _whole(length_m: float) -> float:
    """Drop what decimal fractions leave behind: nobody sets a slide to less than a micrometre."""
    return round(length_m, 6)


def _mm(length_m: float) -> str:
    return f"{length_m * 1000:.3g} mm"

"""Rules on the last link: a flushing sleeve on a tube, an injector nozzle in a bore."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import AnnulusSegment, FedBy, FlushingSleeve, InjectorNozzle
from patency.plan.checking.finding import mm
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.plan.checking.case import Case, Feed
    from patency.plan.checking.finding import Observation

# Decimal fractions of metres are not exact in binary; a nanometre forgives their rounding, not a misfit.
_ROUNDING_M = 1e-9


def last_link_last(case: Case) -> Iterator[Observation]:
    """Find flushing sleeves and injector nozzles that are followed by another link."""
    for feed in case.feeds():
        for name, link in zip(feed.connection.chain[:-1], feed.links[:-1], strict=True):
            if isinstance(link, FlushingSleeve | InjectorNozzle):
                yield feed.observe(f"{name} can only be the last link of a chain")


def sleeve_grip(case: Case) -> Iterator[Observation]:
    """Find flushing sleeves that cover more of the outside of a piece than it offers."""
    for feed, sleeve in _sleeves(case):
        grip = feed.lumen.grip_m
        if grip is None:
            yield feed.observe("how much of its outside a flushing sleeve may cover is not known", Answer.UNKNOWN)
        elif sleeve.least_overlap_m > grip + _ROUNDING_M:
            yield feed.observe(f"the sleeve has to cover {mm(sleeve.least_overlap_m)}, the piece offers {mm(grip)}")


def sleeve_covers_no_side_hole(case: Case) -> Iterator[Observation]:
    """Find flushing sleeves that cover a side hole."""
    for feed, sleeve in _sleeves(case):
        if feed.lumen.side_holes is None:
            yield feed.observe("whether the sleeve covers a side hole is not known", Answer.UNKNOWN)
            continue
        covered = [hole for hole in feed.lumen.side_holes if hole.from_inlet_m < sleeve.least_overlap_m - _ROUNDING_M]
        if covered:
            nearest = min(hole.from_inlet_m for hole in covered)
            overlap = mm(sleeve.least_overlap_m)
            yield feed.observe(f"the sleeve covers {overlap} and with it the side hole at {mm(nearest)}")


def nozzle_width(case: Case) -> Iterator[Observation]:
    """Find injector nozzles too wide for the bore they stand in."""
    share = case.department.limits.load.nozzle_share_of_bore
    for feed, nozzle in _nozzles(case):
        depth = feed.connection.nozzle_depth_m or 0.0
        bore = _narrowest_m(feed, depth)
        if share is None:
            yield feed.observe("the site does not state how wide an injector nozzle may be", Answer.UNKNOWN)
        elif nozzle.outer_m > share.value * bore + _ROUNDING_M:
            allowed = f"{share.value:.0%} of the bore of {mm(bore)}"
            yield feed.observe(f"the nozzle is {mm(nozzle.outer_m)} wide, allowed are {allowed}")


def nozzle_depth(case: Case) -> Iterator[Observation]:
    """Find injector nozzles that stand too high, too low, or with a side hole outside the bore."""
    least = case.department.limits.load.nozzle_depth
    for feed, nozzle in _nozzles(case):
        depth = feed.connection.nozzle_depth_m
        if depth is None:
            yield feed.observe("how deep the nozzle stands in the bore is not planned")
            continue
        if least is None:
            yield feed.observe("the site does not state how deep an injector nozzle stands", Answer.UNKNOWN)
        elif depth < least.value - _ROUNDING_M:
            yield feed.observe(f"the nozzle stands {mm(depth)} deep, at least {mm(least.value)} are needed")
        if depth > nozzle.length_m.nominal + _ROUNDING_M:
            yield feed.observe(f"the nozzle stands {mm(depth)} deep and is {mm(nozzle.length_m.nominal)} long")
        bore = sum(segment.length_m.nominal for segment in feed.lumen.segments)
        if depth > bore + _ROUNDING_M:
            yield feed.observe(f"the nozzle stands {mm(depth)} deep in a bore {mm(bore)} long")
        if nozzle.side_holes is None:
            yield feed.observe("whether a side hole of the nozzle is outside the bore is not known", Answer.UNKNOWN)
            continue
        if any(nozzle.length_m.nominal - hole.from_inlet_m > depth + _ROUNDING_M for hole in nozzle.side_holes):
            yield feed.observe(f"at {mm(depth)} a side hole of the nozzle is outside the bore")


def depth_only_with_nozzle(case: Case) -> Iterator[Observation]:
    """Find a planned depth of a nozzle where there is none."""
    for feed in case.feeds():
        if feed.connection.nozzle_depth_m is not None and not (
            feed.links and isinstance(feed.links[-1], InjectorNozzle)
        ):
            yield feed.observe("a depth is planned for an injector nozzle that is not in its chain")


def _sleeves(case: Case) -> Iterator[tuple[Feed, FlushingSleeve]]:
    for feed in case.feeds():
        if feed.links and isinstance(feed.links[-1], FlushingSleeve):
            yield feed, feed.links[-1]


def _nozzles(case: Case) -> Iterator[tuple[Feed, InjectorNozzle]]:
    for feed in case.feeds():
        nozzle = feed.links[-1] if feed.links else None
        if isinstance(nozzle, InjectorNozzle) and feed.lumen.fed_by is FedBy.INJECTOR_NOZZLE:
            yield feed, nozzle


def _narrowest_m(feed: Feed, depth_m: float) -> float:
    """Return the narrowest bore over the depth of a nozzle; an annulus leaves it no bore at all."""
    narrowest, begins = float("inf"), 0.0
    for segment in feed.lumen.segments:
        if begins == 0.0 or begins < depth_m - _ROUNDING_M:
            bore = 0.0 if isinstance(segment, AnnulusSegment) else segment.bore_m.nominal
            narrowest = min(narrowest, bore)
        begins += segment.length_m.nominal
    return narrowest

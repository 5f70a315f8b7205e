"""Rules on how pieces stand at ports: room, arms, slope, tipping, hoses; worked out here once more."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Hose, InjectorNozzle, Placing, PortKind
from patency.plan.checking.finding import mm
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Cup, Port
    from patency.plan.checking.case import Case, Feed, Place
    from patency.plan.checking.finding import Observation

_ROUNDING = 1e-9
_UPRIGHT_DEG = 89.9


@dataclass(frozen=True, slots=True)
class _Stand:
    """A piece at its port: lower end at ``foot_m`` along an axis with this sine and cosine, all seen from the port."""

    place: Place
    port: Port
    foot_m: float

    def observe(self, sentence: str, port: str | None = None, answer: Answer = Answer.NO) -> Observation:
        return self.place.observe(sentence, answer, port or self.place.placed.position)

    @property
    def rise(self) -> float:
        return math.sin(self.port.stand.inclination_deg * math.pi / 180)

    @property
    def run(self) -> float:
        return math.cos(self.port.stand.inclination_deg * math.pi / 180)

    @property
    def bodies(self) -> list[tuple[float, float, float]]:
        """Lower end, upper end and width of each body, from the port up."""
        outline = list(self.place.type.outline)
        if self.place.type.way_up == "distal down":
            outline.reverse()
        found, at = [], self.foot_m
        for body in outline:
            found.append((at, at + body.length_m, body.width_m))
            at += body.length_m
        return found

    @property
    def top_m(self) -> float:
        """Highest corner above the port."""
        corners = [end * self.rise + width / 2 * self.run for a, b, width in self.bodies for end in (a, b)]
        return max(corners)

    @property
    def bottom_m(self) -> float:
        """Lowest corner against the port, negative below it."""
        corners = [end * self.rise - width / 2 * self.run for a, b, width in self.bodies for end in (a, b)]
        return min(corners)


def room_at_port(case: Case) -> Iterator[Observation]:
    """Find pieces too long for their port, or too high where the port states only its clearance."""
    for stand in _stands(case):
        reach, length = stand.port.reach_m, stand.foot_m + stand.place.type.length_m
        if reach is not None and length > reach + _ROUNDING:
            yield stand.observe(f"it takes {mm(length)} from the port, room is for {mm(reach)}")
        if reach is None and stand.top_m > stand.port.clearance_m + _ROUNDING:
            yield stand.observe(f"it stands {mm(stand.top_m)} high, clear are {mm(stand.port.clearance_m)}")


def out_of_the_arms(case: Case) -> Iterator[Observation]:
    """Find pieces that come nearer to the volume swept by a spray arm than the site allows."""
    limit = case.department.limits.load.arm_clearance
    for stand in _stands(case):
        distance = _distance_to_arms(case, stand)
        if distance < (limit.value if limit else 0.0) - _ROUNDING:
            near = f"comes within {mm(distance)} of" if distance >= 0 else f"reaches {mm(-distance)} into"
            least = f", {mm(limit.value)} are to stay free" if limit else ""
            yield stand.observe(f"it {near} an arm's sweep{least}")
        elif limit is None and distance < math.inf:
            yield stand.observe("the site does not state a distance to arms", answer=Answer.UNKNOWN)
        carrier = case.carrier(stand.place.load)
        level = carrier.levels.get(stand.port.level) if carrier else None
        if level is not None and level.arm_above_m is None:
            yield stand.observe("whether an arm turns above its level is not known", answer=Answer.UNKNOWN)


def drains(case: Case) -> Iterator[Observation]:
    """Find hollows and bores that do not slope enough to run empty."""
    limit = case.department.limits.load.drain_angle
    stands = {id(stand.place.placed): stand for stand in _stands(case)}
    for place in case.places():
        stand = stands.get(id(place.placed))
        lean = stand.port.stand.inclination_deg if stand else 0.0
        slopes = [(f"lumen {key}", abs(lean)) for key in (place.type.lumens if stand else ())]
        slopes += [(cup.name, _falls(cup, place, lean)) for cup in place.type.cups or ()]
        at = stand or place
        for what, slope in slopes:
            if slope <= 0 or (limit is not None and slope < limit.value - _ROUNDING):
                needed = f", at least {limit.value:g}° are needed" if limit else ""
                yield at.observe(f"{what} falls by {slope:.0f}°{needed}")
            elif limit is None:
                yield at.observe("the site does not state a drain angle", answer=Answer.UNKNOWN)
        if place.type.cups is None:
            yield at.observe("nobody has looked for hollows in it", answer=Answer.UNKNOWN)
        if any(lumen.dead_ends_m for lumen in place.type.lumens.values()):
            yield at.observe("which way its blind branches look is not known", answer=Answer.UNKNOWN)
        if any(lumen.dead_ends_m is None for lumen in place.type.lumens.values()):
            yield at.observe("whether it has blind branches is not known", answer=Answer.UNKNOWN)


def does_not_tip(case: Case) -> Iterator[Observation]:
    """Find leaning pieces that their weight does not hold on their support."""
    reserve = case.department.limits.load.tipping_reserve
    for stand in _stands(case):
        if stand.port.stand.inclination_deg >= _UPRIGHT_DEG:
            continue
        support = stand.port.stand.support_at_m
        if stand.foot_m + stand.place.type.length_m < support:
            yield stand.observe(f"it ends before its support at {mm(support)}")
            continue
        moments = [_moments(stand, support, power) for power in (1, 2)]
        for behind, beyond in moments:
            if behind < beyond * max(1.0, reserve.value if reserve else 1.0) - _ROUNDING * beyond:
                yield stand.observe(f"behind its support {behind / beyond:.2f} times the moment beyond it")
                break
        else:
            if (stand.place.type.mass_kg is None or reserve is None) and any(beyond for _, beyond in moments):
                yield stand.observe(
                    "its mass or the site's reserve against tipping is not known", answer=Answer.UNKNOWN
                )


def hoses_reach(case: Case) -> Iterator[Observation]:
    """Find hoses that are too short for their piece or bent more tightly than the site allows."""
    ratio = case.department.limits.load.hose_bend_ratio
    stands = {id(stand.place.placed): stand for stand in _stands(case)}
    for feed in case.feeds():
        hoses = [(link.length_m.nominal, link.outer_m) for link in feed.links if isinstance(link, Hose)]
        if feed.port.hose:
            hoses.append((feed.port.hose.length_m.nominal, feed.port.hose.outer_m))
        stand = stands.get(id(feed.place.placed))
        if not hoses or stand is None:
            continue
        length = sum(hose[0] for hose in hoses)
        near, far = _gap(feed, stand)
        if far > length + _ROUNDING:
            yield stand.observe(f"the hose of {mm(length)} does not reach {mm(far)} far", feed.connection.port)
        elif ratio is None:
            yield stand.observe("the site states no bend radius of hoses", feed.connection.port, Answer.UNKNOWN)
        elif not _bends_gently(length, near, ratio.value * max(hose[1] for hose in hoses)):
            least = ratio.value * max(hose[1] for hose in hoses)
            yield stand.observe(f"the hose bends tighter than {mm(least)}", feed.connection.port)


def _stands(case: Case) -> Iterator[_Stand]:
    feeds: dict[tuple[int, str], Feed] = {(id(feed.place.placed), feed.connection.port): feed for feed in case.feeds()}
    for place in case.places(Placing.PORT):
        carrier = case.carrier(place.load)
        port = carrier.ports.get(place.placed.position) if carrier else None
        if port is not None:
            yield _Stand(place, port, _foot(port, feeds.get((id(place.placed), place.placed.position))))


def _foot(port: Port, feed: Feed | None) -> float:
    """Return where a piece begins: at the port behind a hose, else behind its rigid links, less the nozzle's depth."""
    if feed is None or port.kind is PortKind.HOSE or any(isinstance(link, Hose) for link in feed.links):
        return 0.0
    rigid = sum(link.length_m.nominal for link in feed.links)
    inside = feed.connection.nozzle_depth_m or 0.0
    return rigid - inside if feed.links and isinstance(feed.links[-1], InjectorNozzle) else rigid


def _distance_to_arms(case: Case, stand: _Stand) -> float:
    """Return the least height between a piece and the sweep of an arm that it could lean under; negative inside."""
    kind, carrier = case.kind(stand.place.load), case.carrier(stand.place.load)
    at = stand.port.at
    low, high = at.z_m + stand.bottom_m, at.z_m + stand.top_m
    aside = abs((stand.foot_m + stand.place.type.length_m) * stand.run) + stand.place.type.widest_m / 2
    distances = [math.inf]
    for arm in kind.arms.values() if kind else ():
        off = math.dist((arm.centre_x_m, arm.centre_y_m), (at.x_m, at.y_m))
        if off < arm.radius_m + aside:
            half = arm.swept_thickness_m / 2
            distances.append(max(arm.height_m - half - high, low - arm.height_m - half))
    level = carrier.levels.get(stand.port.level) if carrier else None
    if level is not None and isinstance(level.arm_above_m, float):
        distances.append(level.arm_above_m - high)
    return min(distances)


def _falls(cup: Cup, place: Place, lean_deg: float) -> float:
    """Return by how many degrees a hollow opens below the horizontal; to the side it is turned down."""
    if cup.opens == "side":
        return 90.0 - abs(lean_deg)
    opens_at_lower_end = (cup.opens == "distal") == (place.type.way_up == "distal down")
    return lean_deg if opens_at_lower_end else -lean_deg


def _moments(stand: _Stand, support_m: float, power: int) -> tuple[float, float]:
    """Return the moments behind and beyond the support, mass going with this power of the width."""
    behind = beyond = 0.0
    for lower, upper, width in stand.bodies:
        for begin, end in ((lower, min(upper, support_m)), (max(lower, support_m), upper)):
            if end > begin:
                moment = width**power * (end - begin) * ((begin + end) / 2 - support_m)
                behind, beyond = (behind - moment, beyond) if moment < 0 else (behind, beyond + moment)
    return behind, beyond


def _gap(feed: Feed, stand: _Stand) -> tuple[float, float]:
    """Return the least and largest distance from the feeding port to the proximal end, over all leans."""
    along = stand.foot_m + (stand.place.type.length_m if stand.place.type.way_up == "distal down" else 0.0)
    here, there = feed.port.at, stand.port.at
    flat = math.dist((here.x_m, here.y_m), (there.x_m, there.y_m))
    up = there.z_m + along * stand.rise - here.z_m
    lean = abs(along * stand.run)
    return math.dist((flat - lean, up), (0.0, 0.0)), math.dist((flat + lean, up), (0.0, 0.0))


def _bends_gently(length_m: float, chord_m: float, least_m: float) -> bool:
    """Tell whether the arc of this length over this chord has at least this radius.

    On a circle of the least radius an arc of this length spans a certain chord; over a longer chord it bends less.
    """
    half_angle = length_m / (2 * least_m)
    return half_angle >= math.pi or chord_m >= 2 * least_m * math.sin(half_angle) - _ROUNDING

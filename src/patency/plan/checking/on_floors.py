"""Rules on where pieces and pods lie in baskets, where a plan states it; worked out here once more."""

from __future__ import annotations

import math
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

from patency.catalogue import Form, Leaning, Placing, Pod
from patency.plan.checking.finding import Observation, mm
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import PieceType
    from patency.load import Load, OnFloor
    from patency.plan.checking.case import Case, Place

# Round bodies are drawn with flat facets, so that what is stated can be a little less than nominal.
_ROUNDING_M = 0.001
_ROUNDING_M2 = 20e-6
_STRIPS = 24
_LYING = (Placing.BASKET, Placing.OPTIC_HOLDER, Placing.POD)


class _Patch(NamedTuple):
    """A rectangle of a floor: from its left front corner to the right and to the back [m]."""

    left: float
    front: float
    right: float
    back: float


class _Lying(NamedTuple):
    """Something with a stated place: what it is called, what it covers, whose shape is not that of its outline."""

    words: str
    covers: list[_Patch]
    place: Place | None
    from_file: bool


def within_its_floor(case: Case) -> Iterator[Observation]:
    """Find stated places outside basket or pod, or of something that lies in none."""
    for place in case.places():
        lies = place.placed.lies
        if lies is None:
            continue
        if place.placed.placing not in _LYING:
            yield place.observe("a place on a floor is stated of it, but it lies on none")
            continue
        floors = _floors(case, place)
        covers = _covers(place.type, lies)
        if floors and all(_outside_m(covers, floor) > _ROUNDING_M for floor in floors):
            out = min(_outside_m(covers, floor) for floor in floors)
            yield place.observe(f"where it is stated to lie it reaches {mm(out)} beyond the floor")
    for load in case.plan.loads:
        yield from _pods_outside(case, load)


def none_over_another(case: Case) -> Iterator[Observation]:
    """Find pieces and pods whose stated places cover the same part of a floor."""
    for load in case.plan.loads:
        for lying in _by_floor(case, load).values():
            for one, other in combinations(lying, 2):
                shared = sum(_shared_m2(a, b) for a in one.covers for b in other.covers)
                if shared > _ROUNDING_M2:
                    sentence = f"where it is stated to lie {other.words} lies as well, on {1e6 * shared:.0f} mm²"
                    answer = Answer.UNKNOWN if one.from_file or other.from_file else Answer.NO
                    yield one.place.observe(sentence, answer) if one.place else Observation(sentence, load.id)


def _pods_outside(case: Case, load: Load) -> Iterator[Observation]:
    for owner, lies in load.pods.items():
        stands_in = {one.stands_in for one in load.pieces if one.placing is Placing.POD and one.set == owner}
        carrier = case.carrier(load)
        areas = [carrier.basket_areas.get(name) for name in stands_in if name is not None] if carrier else []
        if not stands_in:
            yield Observation("a place is stated of its pod, but it has none in this load", load.id, owner)
        for area in areas:
            sizes = [_box(lies, pod) for pod in _pods(case)]
            if area is not None and sizes:
                out = min(_outside_m([size], (area.width_m, area.depth_m)) for size in sizes)
                if out > _ROUNDING_M:
                    yield Observation(f"its pod reaches {mm(out)} beyond the floor of its basket", load.id, owner)


def _by_floor(case: Case, load: Load) -> dict[tuple[str, str], list[_Lying]]:
    """Gather what is stated to lie on each floor: of a basket area, of the pod of a set."""
    found: dict[tuple[str, str], list[_Lying]] = {}
    standing: dict[str, str] = {}
    for place in case.places(*_LYING):
        placed = place.placed
        if place.load is not load:
            continue
        if placed.placing is Placing.POD and placed.stands_in is not None:
            standing[placed.set] = placed.stands_in
        if placed.lies is not None:
            pod = placed.placing is Placing.POD
            floor = ("pod", placed.set) if pod else ("basket", placed.stands_in or placed.position)
            words = f"{placed.piece} of {placed.set}"
            found.setdefault(floor, []).append(
                _Lying(words, _covers(place.type, placed.lies), place, place.type.mesh is not None)
            )
    for owner, lies in load.pods.items():
        pods = _pods(case)
        if owner in standing and pods:
            smallest = min((_box(lies, pod) for pod in pods), key=_area_m2)
            found.setdefault(("basket", standing[owner]), []).append(
                _Lying(f"the pod of {owner}", [smallest], None, from_file=False)
            )
    return found


def _floors(case: Case, place: Place) -> list[tuple[float, float]]:
    """Return width and depth of every floor that can be the one on which a piece lies [m]."""
    if place.placed.placing is Placing.POD:
        return [(pod.inner_width_m, pod.inner_depth_m) for pod in _pods(case)] + [
            (pod.inner_depth_m, pod.inner_width_m) for pod in _pods(case)
        ]
    carrier = case.carrier(place.load)
    area = carrier.basket_areas.get(place.placed.stands_in or place.placed.position) if carrier else None
    return [] if area is None else [(area.width_m, area.depth_m)]


def _pods(case: Case) -> list[Pod]:
    return [one for one in case.department.accessories.values() if isinstance(one, Pod)]


def _box(lies: OnFloor, pod: Pod) -> _Patch:
    long_way = lies.points in {Leaning.LEFT, Leaning.RIGHT}
    across, back = (pod.inner_depth_m, pod.inner_width_m) if long_way else (pod.inner_width_m, pod.inner_depth_m)
    return _Patch(lies.from_left_m, lies.from_front_m, lies.from_left_m + across, lies.from_front_m + back)


def _covers(piece: PieceType, lies: OnFloor) -> list[_Patch]:
    """Return what each body of a piece's outline covers of the floor as it lies."""
    bodies, at = list[tuple[float, float, float]](), 0.0
    for body in piece.outline:
        half, long = max(body.width_m, body.end_width_m or 0.0) / 2, body.length_m
        if body.form is Form.JAW:  # two halves that turn about their proximal end
            turn = (body.opening_deg or 0.0) / 2 * math.pi / 180
            half, long = half * math.cos(turn) + long * math.sin(turn), long * math.cos(turn)
        if body.form is Form.RING_HANDLE:
            bodies += _rings(at, long, half)
        else:
            bodies.append((at, at + long, half))
        at += body.length_m
    whole = max(end for _, end, _ in bodies)
    widest = max(half for _, _, half in bodies)
    backward = lies.points in {Leaning.LEFT, Leaning.FRONT}
    along_x = lies.points in {Leaning.LEFT, Leaning.RIGHT}
    patches = []
    for begin, end, half in bodies:
        first, last = (whole - end, whole - begin) if backward else (begin, end)
        left, right, front, back = first, last, widest - half, widest + half
        if not along_x:
            left, right, front, back = front, back, left, right
        x, y = lies.from_left_m, lies.from_front_m
        patches.append(_Patch(x + left, y + front, x + right, y + back))
    return patches


def _rings(at: float, long: float, half: float) -> Iterator[tuple[float, float, float]]:
    """Cut two rings side by side, round at both ends, into strips, each as wide as at its narrower end."""
    radius = half / 2
    ends = [at + long * number / _STRIPS for number in range(_STRIPS + 1)]
    for begin, end in pairwise(ends):
        into = min(max(begin - at, 0.0), max(at + long - end, 0.0), radius)
        yield begin, end, radius + math.sqrt(radius**2 - (radius - into) ** 2)


def _outside_m(covers: list[_Patch], floor: tuple[float, float]) -> float:
    """Return how far the farthest of some patches reaches beyond a floor [m]."""
    width, depth = floor
    return max(max(-one.left, -one.front, one.right - width, one.back - depth, 0.0) for one in covers)


def _shared_m2(one: _Patch, other: _Patch) -> float:
    """Return which area two patches share [m²]."""
    across = min(one.right, other.right) - max(one.left, other.left)
    back = min(one.back, other.back) - max(one.front, other.front)
    return max(across, 0.0) * max(back, 0.0)


def _area_m2(one: _Patch) -> float:
    return (one.right - one.left) * (one.back - one.front)

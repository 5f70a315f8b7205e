"""Rules on places without water: baskets, pods, coil rack, optic holders, way up, movable parts, nets, mass."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import OpticHolder, Placing, Pod
from patency.plan.checking.finding import Observation, mm
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import BasketArea
    from patency.plan.checking.case import Case, Place

_ROUNDING_M = 1e-9
_STANDING = (Placing.POD, Placing.OPTIC_HOLDER)


def placing(case: Case) -> Iterator[Observation]:
    """Find pieces that are put where their kind does not go."""
    for place in case.places():
        if place.placed.placing is not place.type.placing:
            yield place.observe(f"it goes to {place.placed.placing}, its place is {place.type.placing}")


def one_cable_per_place(case: Case) -> Iterator[Observation]:
    """Find coil places that hold two cables."""
    taken: dict[tuple[str, str], str] = {}
    for place in case.places(Placing.COIL_RACK):
        key = (place.load.id, place.placed.position)
        if key in taken:
            yield place.observe(f"{place.placed.position} already holds {taken[key]}")
        taken.setdefault(key, f"{place.placed.piece} of {place.placed.set}")


def basket_areas(case: Case) -> Iterator[Observation]:
    """Find loads whose sets need more basket areas than there are, or sets that share one or spread over more."""
    for load in case.plan.loads:
        carrier = case.carrier(load)
        sets = {name: case.department.sets[name] for name in load.sets if name in case.department.sets}
        needed = sum(described.basket_areas for described in sets.values())
        if carrier is not None and needed > len(carrier.basket_areas):
            there = len(carrier.basket_areas)
            yield Observation(f"its sets need {needed} basket areas, the carrier has {there}", load.id)
        owners: dict[str, set[str]] = {}
        for placed in load.pieces:
            area = placed.position if placed.placing is Placing.BASKET else placed.stands_in
            if carrier is not None and area in carrier.basket_areas:
                owners.setdefault(area, set()).add(placed.set)
        for area, names in owners.items():
            if len(names) > 1:
                yield Observation(f"basket area {area} mixes {' and '.join(sorted(names))}", load.id)
        for name, described in sets.items():
            spread = sum(name in names for names in owners.values())
            if spread > described.basket_areas:
                sentence = f"it lies in {spread} basket areas and has {described.basket_areas}"
                yield Observation(sentence, load.id, name)


def basket_room(case: Case) -> Iterator[Observation]:
    """Find pieces too long or too thick for their basket area."""
    for place in case.places(Placing.BASKET):
        carrier = case.carrier(place.load)
        area = carrier.basket_areas.get(place.placed.position) if carrier else None
        if area is not None:
            yield from _lies_in(place, (area.width_m, area.depth_m, area.clear_height_m), "basket area")


def stands_in_an_area(case: Case) -> Iterator[Observation]:
    """Find pods and optic holders of which the plan does not say where they stand, or says two things."""
    pods: dict[tuple[str, str], str | None] = {}
    for place in case.places():
        placed = place.placed
        if place.type.placing not in _STANDING:
            if placed.stands_in is not None:
                yield place.observe(f"it stands in {placed.stands_in} and is neither in a pod nor in a holder")
            continue
        due = case.department.sets[placed.set].basket_areas if placed.set in case.department.sets else 0
        if due and placed.stands_in is None:
            yield place.observe("the basket area its pod or holder stands in is not planned")
        if place.type.placing is Placing.POD:
            first = pods.setdefault((place.load.id, placed.set), placed.stands_in)
            if first != placed.stands_in:
                yield place.observe(f"its pod stands in {first} and in {placed.stands_in}")


def room_to_stand(case: Case) -> Iterator[Observation]:
    """Find basket areas too small for the pods and optics that stand there."""
    pods = [accessory for accessory in case.department.accessories.values() if isinstance(accessory, Pod)]
    standing: dict[tuple[str, str], list[Place]] = {}
    for place in case.places(*_STANDING):
        if place.placed.stands_in is not None:
            standing.setdefault((place.load.id, place.placed.stands_in), []).append(place)
    for places in standing.values():
        carrier, name = case.carrier(places[0].load), places[0].placed.stands_in
        area = carrier.basket_areas.get(name) if carrier is not None and name is not None else None
        if area is None:
            continue
        floor_m2 = 0.0
        for place in places:
            if place.placed.placing is Placing.OPTIC_HOLDER:
                floor_m2 += place.type.length_m * place.type.widest_m
                yield from _lies_in(place, (area.width_m, area.depth_m, area.clear_height_m), "basket area")
        for owner in {place.placed.set for place in places if place.placed.placing is Placing.POD}:
            small = [place for place in places if place.placed.set == owner and place.placed.placing is Placing.POD]
            able = [pod for pod in pods if _pod_takes(pod, small)]
            floors_m2 = [pod.inner_width_m * pod.inner_depth_m for pod in able if _finds_room(pod, area)]
            if able and not floors_m2:
                yield small[0].observe(f"no pod that takes it finds room in {name}")
            floor_m2 += min(floors_m2, default=0.0)
        if floor_m2 > area.width_m * area.depth_m + _ROUNDING_M:
            yield places[0].observe(f"{name} has less floor than the pods and optics that stand there take")


def own_pod(case: Case) -> Iterator[Observation]:
    """Find small parts that lie in a pod of another set or in none."""
    for place in case.places(Placing.POD):
        if place.placed.position != place.placed.set:
            yield place.observe(f"it lies in pod {place.placed.position}, its set's pod is {place.placed.set}")


def pod_room(case: Case) -> Iterator[Observation]:
    """Find small parts for which no pod of the department is large enough."""
    pods = [accessory for accessory in case.department.accessories.values() if isinstance(accessory, Pod)]
    for place in case.places(Placing.POD):
        if pods:
            rooms = [(pod.inner_width_m, pod.inner_depth_m, pod.inner_height_m) for pod in pods]
            faults = [list(_lies_in(place, room, "pod")) for room in rooms]
            if all(faults):
                yield from faults[0]


def coil_room(case: Case) -> Iterator[Observation]:
    """Find cables that are too long or too thick for their coil place or bend too tightly on it."""
    for place in case.places(Placing.COIL_RACK):
        carrier = case.carrier(place.load)
        coil = carrier.coil_places.get(place.placed.position) if carrier else None
        if coil is None:
            continue
        around = math.pi * (coil.mandrel_diameter_m + place.type.widest_m)
        room = coil.turns * math.sqrt(around**2 + coil.pitch_m**2)
        if place.type.length_m > room + _ROUNDING_M:
            yield place.observe(f"it is {mm(place.type.length_m)} long, {coil.turns} turns take {mm(room)}")
        if place.type.widest_m > coil.pitch_m + _ROUNDING_M:
            yield place.observe(f"it is {mm(place.type.widest_m)} thick, the pitch is {mm(coil.pitch_m)}")


def coil_bend(case: Case) -> Iterator[Observation]:
    """Find cables that bend more tightly on their coil place than they may."""
    for place in case.places(Placing.COIL_RACK):
        carrier = case.carrier(place.load)
        coil = carrier.coil_places.get(place.placed.position) if carrier else None
        least = place.type.least_bend_radius_m
        if coil is None:
            continue
        radius = coil.mandrel_diameter_m / 2
        if least is None:
            yield place.observe("how tightly it may bend is not known", Answer.UNKNOWN)
        elif radius < least - _ROUNDING_M:
            yield place.observe(f"it bends to {mm(radius)}, least are {mm(least)}")


def optic_holder(case: Case) -> Iterator[Observation]:
    """Find optics longer or thicker than their holder takes."""
    for place in case.places(Placing.OPTIC_HOLDER):
        holder = case.department.accessories.get(place.placed.position)
        if isinstance(holder, OpticHolder):
            if place.type.length_m > holder.holds_length_m + _ROUNDING_M:
                yield place.observe(
                    f"it is {mm(place.type.length_m)} long, its holder takes {mm(holder.holds_length_m)}"
                )
            if place.type.widest_m > holder.holds_width_m + _ROUNDING_M:
                yield place.observe(
                    f"it is {mm(place.type.widest_m)} thick, its holder takes {mm(holder.holds_width_m)}"
                )


def way_up(case: Case) -> Iterator[Observation]:
    """Find pieces that stand or lie in another way than prescribed."""
    for place in case.places():
        if place.placed.way_up != place.type.way_up:
            yield place.observe(f"it is placed {place.placed.way_up}, prescribed is {place.type.way_up}")


def lean(case: Case) -> Iterator[Observation]:
    """Find pieces that lean to another side than the support of their port."""
    for place in case.places():
        carrier = case.carrier(place.load)
        port = carrier.ports.get(place.placed.position) if carrier and place.placed.placing is Placing.PORT else None
        if place.placed.placing is Placing.PORT and port is None:
            continue  # found by another rule
        side = port.stand.leans if port else None
        if place.placed.leans != side:
            planned = f"is planned to lean to the {place.placed.leans}" if place.placed.leans else "is planned upright"
            needs = f"its port's support is for leaning to the {side}" if side else "nothing says that it leans so"
            yield place.observe(f"it {planned}, {needs}")


def states(case: Case) -> Iterator[Observation]:
    """Find movable parts that are not in the prescribed state."""
    for place in case.places():
        planned, prescribed = place.placed.states, place.type.states
        if prescribed is None:
            yield place.observe("what has to be done to its movable parts is not known", Answer.UNKNOWN)
            continue
        for part in sorted(planned.keys() | prescribed.keys()):
            if planned.get(part) != prescribed.get(part):
                has, needs = planned.get(part, "not planned"), prescribed.get(part, "nothing")
                yield place.observe(f"its {part}: {has}, prescribed is {needs}")


def net(case: Case) -> Iterator[Observation]:
    """Find light pieces in an open basket without a net over them."""
    for place in case.places(Placing.BASKET):
        if place.type.needs_net and not place.placed.net:
            yield place.observe("jets could lift it and no net goes over it")
        elif place.type.needs_net is None and not place.placed.net:
            yield place.observe("whether jets could lift it is not known and no net goes over it", Answer.UNKNOWN)


def mass(case: Case) -> Iterator[Observation]:
    """Find loads heavier than the carrier bears."""
    for load in case.plan.loads:
        carrier = case.carrier(load)
        masses = [place.type.mass_kg for place in case.places() if place.load is load]
        known = math.fsum(one for one in masses if one is not None)
        limit = carrier.mass_limit_kg if carrier else None
        if limit is not None and known > limit + 1e-9:
            yield Observation(f"its pieces weigh {known:.2f} kg, the carrier bears {limit:g} kg", load.id)
        elif carrier is not None and (limit is None or None in masses):
            what = "what the carrier bears" if limit is None else f"the mass of {masses.count(None)} pieces"
            yield Observation(f"{what} is not known", load.id, answer=Answer.UNKNOWN)


def _pod_takes(pod: Pod, small: list[Place]) -> bool:
    inside = (pod.inner_width_m, pod.inner_depth_m, pod.inner_height_m)
    return not any(list(_lies_in(place, inside, "pod")) for place in small)


def _finds_room(pod: Pod, area: BasketArea) -> bool:
    """Tell whether a pod finds room in a basket area, turned a quarter if need be."""
    across, along = sorted((area.width_m, area.depth_m))
    narrow, wide = sorted((pod.inner_width_m, pod.inner_depth_m))
    stands = narrow <= across + _ROUNDING_M and wide <= along + _ROUNDING_M
    return stands and pod.inner_height_m <= area.clear_height_m + _ROUNDING_M


def _lies_in(place: Place, room_m: tuple[float, float, float], where: str) -> Iterator[Observation]:
    width, depth, height = room_m
    diagonal = math.sqrt(width**2 + depth**2)
    if place.type.length_m > diagonal + _ROUNDING_M:
        yield place.observe(f"it is {mm(place.type.length_m)} long, the {where} offers {mm(diagonal)}")
    if place.type.widest_m > height + _ROUNDING_M:
        yield place.observe(f"it is {mm(place.type.widest_m)} thick, the {where} offers {mm(height)}")

"""A conflict in words a shift lead can act on."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from patency.plan.posing import Posed
    from patency.plan.search.conflict import Conflict
    from patency.plan.search.problem import Cut, Way
    from patency.plan.search.slots import Fact


def in_words(posed: Posed, conflict: Conflict, reasons: Mapping[Cut, str]) -> list[str]:
    """Tell each fact of a conflict.

    Parameters
    ----------
    posed
        The posed problem.
    conflict
        The conflict.
    reasons
        Why each cut was made.

    Returns
    -------
    list[str]
        One sentence for each fact; what is scarce first, then who needs it.
    """
    sets = conflict.sets
    scarce = [fact for fact in conflict.facts if fact[0] != "set"]
    told = [_fact(posed, fact, sets, reasons) for fact in scarce]
    return [*told, *(f"{name} has to be washed{_needs(posed, name, scarce)}" for name in sets)]


def _fact(posed: Posed, fact: Fact, sets: Sequence[str], reasons: Mapping[Cut, str]) -> str:
    kind = fact[0]
    if kind == "shift":
        return f"the shift ends at {_clock(posed, posed.problem.horizon_min)}"
    if kind == "stock":
        needed = sum(least_use(posed, name, fact[1]) for name in sets)
        stock = posed.problem.stock[fact[1]]
        name = posed.department.accessories[fact[1]].name
        return f"{stock} × {name} in stock, {'these sets need' if len(sets) > 1 else 'the set needs'} {needed}"
    if kind == "places":
        carrier, words = fact[1], fact[2]
        here = posed.problem.carriers[carrier].places
        free = {key: places.size for key, places in here.items() if (places.words or key) == words}
        return f"{words} on {carrier}: {sum(free.values())}"
    if kind == "mass":
        limit = posed.problem.carriers[fact[1]].mass_limit_g or 0
        return f"{fact[1]} carries at most {limit / 1000:g} kg"
    if kind == "ready":
        return f"{fact[1]} is ready at {_clock(posed, posed.problem.sets[fact[1]].ready_min)}"
    if kind == "carrier":
        back = posed.problem.carriers[fact[1]].back_min
        return f"{fact[1]} makes one run at a time and can be loaded again {back} min after each"
    if kind == "machines":
        names = posed.problem.machines[int(fact[1])].names
        return f"{' and '.join(names)} {'run' if len(names) > 1 else 'runs'} one load at a time"
    return reasons.get(posed.problem.cuts[int(fact[1])], "an arrangement was found not to work")


def _clock(posed: Posed, minute: int) -> str:
    return f"{posed.day.shift_starts + timedelta(minutes=minute):%H:%M}"


def _needs(posed: Posed, name: str, scarce: Sequence[Fact]) -> str:
    """Say what a set needs of what is scarce."""
    said = []
    for fact in scarce:
        if fact[0] == "stock":
            number = least_use(posed, name, fact[1])
            if number:
                said.append(f"{number} × {posed.department.accessories[fact[1]].name}")
        elif fact[0] == "places":
            number = least_places(posed, name, fact[1], fact[2])
            if number:
                said.append(f"{number} of the {fact[2]}")
        elif fact[0] == "mass":
            said.append(f"{posed.problem.sets[name].mass_g / 1000:g} kg")
    return f" and needs {', '.join(dict.fromkeys(said))}" if said else ""


def least_use(posed: Posed, name: str, accessory: str) -> int:
    """Return how many of an accessory a set needs at least.

    Parameters
    ----------
    posed
        The posed problem.
    name
        The set.
    accessory
        The accessory.

    Returns
    -------
    int
        The number, on the carrier that needs fewest.
    """
    carriers = [c for c in posed.problem.carriers if posed.problem.ways_of(name, c)]
    return min((_least(posed, name, c, lambda way: dict(way.uses).get(accessory, 0)) for c in carriers), default=0)


def least_places(posed: Posed, name: str, carrier: str, words: str) -> int:
    """Return how many places of a sort a set needs at least on a carrier.

    Parameters
    ----------
    posed
        The posed problem.
    name
        The set.
    carrier
        The carrier.
    words
        What the places are called.

    Returns
    -------
    int
        The number; zero where the carrier does not take the set.
    """
    if not posed.problem.ways_of(name, carrier):
        return 0
    places = posed.problem.carriers[carrier].places
    sort = {key for key, group in places.items() if (group.words or key) == words}
    return _least(posed, name, carrier, lambda way: int(way.place in sort))


def _least(posed: Posed, name: str, carrier: str, count: Callable[[Way], int]) -> int:
    ways = posed.problem.carriers[carrier].ways
    return sum(
        number * min(count(way) for way in ways[demand]) for demand, number in posed.problem.sets[name].needs.items()
    )

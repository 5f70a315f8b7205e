"""Tiny planning problems in whole numbers, drawn at random: everything that can run out does so now and then."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.plan.search.problem import CarrierCase, MachineCase, Places, Problem, SetCase, Way

if TYPE_CHECKING:
    from numpy.random import Generator


def tiny_problem(chance: Generator) -> Problem:
    """Draw up to four sets, two carriers, two demands with up to two ways, and little of everything."""
    several = chance.random() < 0.6
    carriers = {"A": _carrier(chance)} | ({"B": _carrier(chance)} if several else {})
    if several and chance.random() < 0.3:
        carriers["B"] = carriers["A"]
    count = int(chance.choice([2, 3, 4], p=[0.4, 0.5, 0.1]))
    # Four sets in one kind of machine only: trying everything has to stay quick.
    kinds = ["plain"] if chance.random() < 0.8 or count > 3 else ["plain", "other"]
    machines = tuple(
        MachineCase(
            tuple(f"{kind} {n}" for n in range(1 + int(chance.integers(0, 2)))),
            kind,
            frozenset(carriers),
            {"quick": 3, "long": 5} if chance.random() < 0.5 and count < 4 else {"quick": 3},
        )
        for kind in kinds
    )
    sets = {f"S{n}": _set(chance, list(carriers)) for n in range(count)}
    stock = {
        "cap": int(chance.integers(0, 5)),
        "plug": int(chance.integers(0, 2)),
        "sleeve": int(chance.integers(1, 4)),
    }
    return Problem(sets, carriers, machines, stock, int(chance.integers(6, 16)))


def _carrier(chance: Generator) -> CarrierCase:
    both = Places(int(chance.integers(1, 4)), ("cap", "plug") if chance.random() < 0.3 else ("cap",))
    places = {"p": both, "q": Places(1, None)}
    sleeve = (("sleeve", 1),)
    kinds = frozenset({"plain"}) if chance.random() < 0.2 else None
    ways: dict[str, tuple[Way, ...]] = {
        "tube": (Way("p", sleeve, 1, kinds), Way("q", (), 3))
        if chance.random() < 0.5
        else (Way("p", sleeve, 1, kinds),),
        "port": (Way("p", (), 0), Way("q", sleeve, 2)) if chance.random() < 0.5 else (Way("p", (), 0),),
        "net": (Way(None, (("plug", 1),), 0),),
    }
    if chance.random() < 0.1:
        ways["tube"] = ()
    return CarrierCase(places, ways, int(chance.integers(0, 2)), 50 if chance.random() < 0.3 else None)


def _set(chance: Generator, carriers: list[str]) -> SetCase:
    needs = {name: number for name in ("tube", "port") if (number := int(chance.choice(3, p=[0.4, 0.4, 0.2])))} or {
        "port": 1
    }
    if chance.random() < 0.1:
        needs["net"] = 1
    programmes = [frozenset({"quick", "long"}), frozenset({"quick"}), frozenset({"long"})]
    ready = int(chance.integers(0, 5))
    return SetCase(
        ready,
        needs,
        programmes[int(chance.choice(3, p=[0.5, 0.4, 0.1]))],
        ready + int(chance.integers(2, 8)) if chance.random() < 0.5 else None,
        int(chance.integers(5, 40)),
        frozenset({carriers[-1]}) if chance.random() < 0.1 else frozenset(),
    )

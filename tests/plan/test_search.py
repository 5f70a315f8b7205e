"""The search against the slow obvious planner: values, bounds, rules kept, conflicts minimal, on tiny problems."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.plan.search.bounds import fewest_loads
from patency.plan.search.conflict import find_conflict, restricted
from patency.plan.search.greedy import first_fit, quick_plan
from patency.plan.search.integer import Budget
from patency.plan.search.levels import Searched, search
from patency.plan.search.model import Builder
from patency.plan.search.problem import (
    Allowance,
    CarrierCase,
    Cut,
    MachineCase,
    Places,
    Problem,
    SetCase,
    Way,
    values_of,
)
from tests.plan.problems import tiny_problem
from tests.reference.every_plan import best_values, faults

if TYPE_CHECKING:
    from patency.plan.search.slots import Fact


def budget() -> Budget:
    return Budget(work=60)


def drawn(seed: int) -> Problem:
    return tiny_problem(np.random.default_rng(seed))


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 200, 25))
def test_the_search_finds_and_proves_what_trying_everything_finds(start: int) -> None:
    for seed in range(start, start + 25):
        problem = drawn(seed)
        best = best_values(problem)
        found = search(problem, budget())
        assert found.values == best, seed
        assert found.bounds == best, seed
        assert found.proven
        assert faults(problem, found.runs) == [], seed
        assert values_of(problem, found.runs) == best, seed


def test_first_fit_keeps_every_rule_and_is_never_better_than_the_best() -> None:
    for seed in range(60):
        problem = drawn(seed)
        for runs in (first_fit(problem), quick_plan(problem)):
            assert faults(problem, runs) == [], seed
        assert values_of(problem, quick_plan(problem)) <= values_of(problem, first_fit(problem))


@pytest.mark.slow
def test_the_packing_bound_never_exceeds_the_best_plan() -> None:
    met = 0
    for seed in range(60):
        problem = drawn(seed)
        best = best_values(problem)
        bound = fewest_loads(problem, Allowance(*best[:3]), [], len(problem.sets), budget())
        assert bound.loads <= best[3], seed
        met += bound.loads == best[3]
    assert met > 40  # a bound that never bites would be valid and useless


def test_the_same_problem_gives_the_same_loads() -> None:
    for seed in range(8):
        problem = drawn(seed)
        assert search(problem, budget()) == search(problem, budget())


def test_progress_never_gets_worse_and_ends_with_the_answer() -> None:
    heard: list[Searched] = []
    problem = next(p for p in map(drawn, range(200)) if values_of(p, quick_plan(p)) != best_values(p))
    found = search(problem, budget(), heard.append)
    assert heard[0].values >= found.values
    assert all(one.bounds <= one.values for one in heard)
    assert min(one.values for one in heard) == found.values


def test_without_anything_to_spend_the_quick_plan_is_taken_and_nothing_is_claimed_of_it() -> None:
    problem = next(p for p in map(drawn, range(200)) if values_of(p, quick_plan(p)) != best_values(p))
    found = search(problem, Budget(work=0))
    assert found.values == values_of(problem, quick_plan(problem))
    assert not found.proven


def without(problem: Problem, fact: Fact) -> Problem:
    """Take a fact away: the scarce thing becomes plentiful."""
    plenty = 99
    kind = fact[0]
    if kind == "set":
        return restricted(problem, [name for name in problem.sets if name != fact[1]])
    if kind == "stock":
        return replace(problem, stock={**problem.stock, fact[1]: plenty})
    if kind == "shift":
        return replace(problem, horizon_min=problem.horizon_min + 40)
    if kind == "ready":
        return replace(problem, sets={**problem.sets, fact[1]: replace(problem.sets[fact[1]], ready_min=0)})
    if kind == "machines":
        classes = list(problem.machines)
        old = classes[int(fact[1])]
        names = tuple(f"{old.kind} {number}" for number in range(len(problem.sets) + 1))
        classes[int(fact[1])] = MachineCase(names, old.kind, old.docks, old.minutes)
        return replace(problem, machines=tuple(classes))
    case = problem.carriers[fact[1]]
    if kind == "mass":
        return replace(problem, carriers={**problem.carriers, fact[1]: replace(case, mass_limit_g=None)})
    if kind == "places":
        places = {k: replace(p, size=plenty if (p.words or k) == fact[2] else p.size) for k, p in case.places.items()}
        return replace(problem, carriers={**problem.carriers, fact[1]: replace(case, places=places)})
    assert kind == "carrier"
    copies = {f"{fact[1]} again {number}": case for number in range(len(problem.sets) - 1)}
    machines = tuple(
        replace(m, docks=m.docks | (set(copies) if fact[1] in m.docks else set())) for m in problem.machines
    )
    return replace(problem, carriers={**problem.carriers, **copies}, machines=machines)


def others(problem: Problem, named: list[Fact]) -> list[Fact]:
    """List the facts a conflict does not name; copies of carriers come last, after their places grew."""
    facts = [fact for fact in Builder(problem, len(problem.sets), droppable=True).build().facts if fact[0] != "set"]
    return sorted((fact for fact in facts if fact not in named), key=lambda fact: fact[0] == "carrier")


def uncapped(problem: Problem) -> Problem:
    """Ports that need no caps: an open port is never a reason to leave a set out."""
    carriers = {
        name: replace(case, places={key: replace(places, caps=None) for key, places in case.places.items()})
        for name, case in problem.carriers.items()
    }
    return replace(problem, carriers=carriers)


def some_way_for_all(problem: Problem) -> bool:
    return all(any(problem.ways_of(name, carrier) for carrier in problem.carriers) for name in problem.sets)


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 120, 30))
def test_a_conflict_is_real_and_without_any_one_of_its_facts_there_is_a_plan(start: int) -> None:
    found = 0
    for seed in range(start, start + 30):
        problem = uncapped(drawn(seed))
        if not some_way_for_all(problem):
            continue  # such a set is refused before the search, with the reason
        if not any(
            any(True for _ in problem.modes(c, case.programmes))
            for c in problem.carriers
            for case in problem.sets.values()
        ):
            continue
        conflict = find_conflict(problem, problem.sets, budget())
        possible = best_values(problem)[0] == 0
        assert (conflict is None) == possible, seed
        if conflict is None:
            continue
        found += 1
        assert conflict.minimal
        smaller = restricted(problem, conflict.sets)
        named = [fact for fact in conflict.facts if fact[0] != "set"]
        bare = smaller
        for fact in others(smaller, named):
            bare = without(bare, fact)
        assert best_values(bare)[0] > 0, seed
        for fact in conflict.facts:
            assert best_values(without(bare, fact))[0] == 0, (seed, fact, conflict.facts)
    assert found > 0


def cut_away(problem: Problem, carrier: str, demand: str) -> Problem:
    """Take away the ways of a demand at the places p of a carrier."""
    case = problem.carriers[carrier]
    ways = {**case.ways, demand: tuple(way for way in case.ways[demand] if way.place != "p")}
    return replace(problem, carriers={**problem.carriers, carrier: replace(case, ways=ways)})


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 40, 20))
def test_a_cut_on_everybodys_company_is_as_good_as_the_way_taken_away(start: int) -> None:
    for seed in range(start, start + 20):
        problem = drawn(seed)
        learned = tuple(Cut("A", frozenset(), "port", "p", 0, programme) for programme in ("quick", "long"))
        found = search(replace(problem, cuts=learned), budget())
        assert found.values == best_values(cut_away(problem, "A", "port")), seed


@pytest.mark.slow
def test_sets_that_may_not_meet_are_planned_as_if_they_needed_the_only_place() -> None:
    for seed in range(30):
        problem = drawn(seed)
        company = frozenset(list(problem.sets)[:2])
        kept_apart = replace(problem, cuts=tuple(Cut(carrier, company) for carrier in problem.carriers))
        alone = {
            name: replace(case, needs={**case.needs, "alone": 1}) if name in company else case
            for name, case in problem.sets.items()
        }
        carriers = {
            name: replace(case, places={**case.places, "only": Places(1)}, ways={**case.ways, "alone": (Way("only"),)})
            for name, case in problem.carriers.items()
        }
        found = search(kept_apart, budget())
        assert found.values == best_values(replace(problem, sets=alone, carriers=carriers)), seed
        assert all(not company <= set(run.sets) for run in found.runs)


def test_only_so_many_of_a_demand_where_that_was_learned() -> None:
    """Three demands, two places that do for one of them only in this company: the third place takes the others."""
    sets = {"S": SetCase(0, {"port": 2}, frozenset({"quick"}))}
    carrier = CarrierCase({"p": Places(2), "q": Places(2)}, {"port": (Way("p"), Way("q", (), 5))}, 0)
    machines = (MachineCase(("M",), "plain", frozenset({"A"}), {"quick": 3}),)
    problem = Problem(sets, {"A": carrier}, machines, {}, 10)
    assert search(problem, budget()).values == (0, 0, 0, 1, 0)
    learned = replace(problem, cuts=(Cut("A", frozenset({"S"}), "port", "p", 1, "quick"),))
    assert search(learned, budget()).values == (0, 0, 0, 1, 5)

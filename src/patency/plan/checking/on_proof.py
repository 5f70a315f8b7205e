"""Rules on what a plan claims to have proven."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.plan.checking.finding import Observation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.plan.checking.case import Case

_ROUNDING = 1e-6


def bound_on_loads(case: Case) -> Iterator[Observation]:
    """Find a stated least number of loads that the plan itself contradicts, and a proof that is none."""
    count, least = len(case.plan.loads), case.plan.loads_at_least
    if least > count:
        yield Observation(f"it says at least {least} loads are needed and has {count}")
    if case.plan.proven_fewest and least != count:
        yield Observation(f"it says its {count} loads are proven the fewest and that {least} could do")


def bound_on_objective(case: Case) -> Iterator[Observation]:
    """Find a proven lower bound above what the plan reaches."""
    for name, bound in case.plan.bound.items():
        reached = case.plan.objective.get(name)
        if reached is None:
            yield Observation(f"it states a bound on {name} and not what it reaches")
        elif bound > reached + _ROUNDING * max(1.0, abs(reached)):
            yield Observation(f"it states {bound:g} as bound on {name} and reaches {reached:g}")

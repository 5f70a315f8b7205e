"""How planning behaves with size: time to a first plan, time to the proof, gap, loads against first fit.

Run: ``python -m benchmarks.plan_scale`` (add ``--seeds 5`` for more departments of each size). Times are wall-clock
seconds on whatever machine it runs on; loads, bounds and gaps do not depend on it unless the clock ended a search.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.realistic_department import realistic_department
from patency.plan import FlowJudge, NoJudge, TimeLimit, plan_day
from patency.plan.posing import pose
from patency.plan.search.greedy import first_fit

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.plan import Progress


@dataclass(frozen=True)
class Size:
    """A size of department to measure."""

    sets: int
    pieces: int
    carriers: int
    limit_s: float


SIZES = (Size(20, 350, 3, 30.0), Size(40, 800, 5, 60.0))


@dataclass(frozen=True)
class Outcome:
    """What one run gave."""

    first_s: float
    total_s: float
    proven: bool
    loads: int
    at_least: int
    greedy: int
    greedy_left_out: int
    left_out: int
    cost_gap: float

    @property
    def gap(self) -> float:
        """Gap of the number of loads."""
        return (self.loads - self.at_least) / self.loads if self.loads else 0.0


def measure(department: Department, limit_s: float, *, with_flow: bool) -> Outcome:
    """Plan a department and take the time."""
    day = department.day
    if day is None:
        raise ValueError("no day")
    started = time.perf_counter()
    first: list[float] = []

    def heard(progress: Progress) -> None:
        if progress.plan is not None and not first:
            first.append(time.perf_counter() - started)

    judge = FlowJudge(department, day.date) if with_flow else NoJudge()
    limit = TimeLimit.from_now(limit_s, time.perf_counter)
    plan = plan_day(department, judge=judge, on_progress=heard, limit=limit)
    total = time.perf_counter() - started
    greedy = first_fit(pose(department, day).problem)
    cost, least = plan.objective["connection cost"], plan.bound["connection cost"]
    return Outcome(
        first[0],
        total,
        all(plan.objective[name] == bound for name, bound in plan.bound.items()),
        len(plan.loads),
        plan.loads_at_least,
        len(greedy),
        len(department.sets) - sum(len(run.sets) for run in greedy),
        len(plan.left_out),
        (cost - least) / cost if cost else 0.0,
    )


def line(size: Size, seed: int, outcome: Outcome) -> str:
    """Say in one line what a run gave."""
    return (
        f"{size.sets} sets, {size.pieces} pieces, {size.carriers} carriers, seed {seed}: "
        f"first plan {outcome.first_s:.1f} s, end {outcome.total_s:.1f} s, proven {outcome.proven}, "
        f"{outcome.loads} loads, at least {outcome.at_least}, gap {outcome.gap:.1%}, "
        f"left out {outcome.left_out}, cost gap {outcome.cost_gap:.1%}, "
        f"first fit {outcome.greedy} loads and {outcome.greedy_left_out} left out"
    )


def main() -> None:
    """Measure every size and print a line for each department and the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--with-flow", action="store_true", help="compute the flow of every load too")
    options = parser.parse_args()
    for size in SIZES:
        outcomes = []
        for seed in range(options.seeds):
            department = realistic_department(np.random.default_rng(seed), size.sets, size.pieces, size.carriers)
            outcome = measure(department, size.limit_s, with_flow=options.with_flow)
            outcomes.append(outcome)
            print(line(size, seed, outcome), flush=True)
        print(
            f"median of {size.sets} sets: first plan {median(o.first_s for o in outcomes):.1f} s, "
            f"end {median(o.total_s for o in outcomes):.1f} s, gap {median(o.gap for o in outcomes):.1%}, "
            f"proven {sum(o.proven for o in outcomes)} of {len(outcomes)}, "
            f"loads {sum(o.loads for o in outcomes)} against {sum(o.greedy for o in outcomes)} by first fit"
        )


if __name__ == "__main__":
    main()

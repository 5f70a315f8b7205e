"""The one place that calls the constraint solver, CP-SAT of OR-Tools: a model in, values and a proven bound out."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from patency.plan.time_limit import TimeLimit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

# The portfolio of eight matters more than the number of cores: with fewer workers bounds hardly move.
WORKERS = 8
"""Strategies that take turns."""
_SEED = 1


@dataclass(slots=True)
class Budget:
    """Work that may still be done, in the solver's own units, which do not depend on the machine's speed.

    Parameters
    ----------
    work
        Units left; one is about a second on one core.
    limit
        The time: a safety net, since a plan that it ends is not repeatable.
    """

    work: float
    limit: TimeLimit = field(default_factory=TimeLimit)

    @property
    def spent(self) -> bool:
        """Whether nothing is left."""
        return self.work <= 0 or self.limit.left_s <= 0


@dataclass(frozen=True, slots=True)
class Found:
    """What the solver found.

    Parameters
    ----------
    state
        ``best`` when proven best, ``found`` when better is not excluded, ``impossible``, or ``unknown``.
    bound
        Proven bound of the objective.
    value
        Gives the value of a variable or expression in the solution.
    """

    state: str
    bound: float
    value: Callable[[Any], int]

    @property
    def has_solution(self) -> bool:
        """Whether there are values to read."""
        return self.state in {"best", "found"}


def new_model() -> Any:  # noqa: ANN401 - the solver's own type, which only this module knows
    """Return an empty model of the constraint solver."""
    from ortools.sat.python import cp_model

    return cp_model.CpModel()


def weighted(terms: Iterable[tuple[Any, int]]) -> Any:  # noqa: ANN401
    """Return the sum of variables times weights.

    Parameters
    ----------
    terms
        Variables or constants with their weights.

    Returns
    -------
    Any
        A linear expression of the solver.
    """
    from ortools.sat.python import cp_model

    pairs = list(terms)
    return cp_model.LinearExpr.weighted_sum([v for v, _ in pairs], [w for _, w in pairs])


def solve(
    model: Any,  # noqa: ANN401
    budget: Budget,
    most_work: float = 1e9,
    workers: int = WORKERS,
    on_value: Callable[[float, float], None] | None = None,
) -> Found:
    """Solve a model.

    Parameters
    ----------
    model
        The model.
    budget
        What may be spent; what was spent is taken off.
    most_work
        Most that this model may take of it.
    workers
        Strategies that take turns; a single one is quickest for small models.
    on_value
        Is told every new best value of the objective with the bound.

    Returns
    -------
    Found
        Equal input gives equal output unless the wall clock ended it: the strategies take turns in a fixed order.
    """
    from ortools.sat.python import cp_model

    class Teller(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            if on_value:
                on_value(self.objective_value, self.best_objective_bound)

    solver = _solver(budget, most_work, workers)
    solver.parameters.interleave_search = workers > 1
    # Turns are compared after every two: waiting for all eight would cost seconds after the last proof.
    solver.parameters.interleave_batch_size = 2
    status = solver.solve(model, Teller() if on_value else None)
    states = {cp_model.OPTIMAL: "best", cp_model.FEASIBLE: "found", cp_model.INFEASIBLE: "impossible"}
    budget.work -= solver.response_proto.deterministic_time
    return Found(states.get(status, "unknown"), solver.best_objective_bound, solver.value)


def conflicting(model: Any, assumptions: list[Any], budget: Budget) -> list[int] | None:  # noqa: ANN401
    """Return which assumptions cannot all hold.

    Parameters
    ----------
    model
        The model.
    assumptions
        Literals.
    budget
        What may be spent.

    Returns
    -------
    list[int] | None
        Indices into the assumptions, sufficient but not necessarily fewest; None where all can hold or it is not known.
    """
    from ortools.sat.python import cp_model

    trial = model.clone()
    trial.clear_assumptions()
    trial.add_assumptions(assumptions)
    solver = _solver(budget, budget.work, 1)
    status = solver.solve(trial)
    budget.work -= solver.response_proto.deterministic_time
    if status != cp_model.INFEASIBLE:
        return None
    core = set(solver.sufficient_assumptions_for_infeasibility())
    return [position for position, literal in enumerate(assumptions) if literal.index in core]


def _solver(budget: Budget, most_work: float, workers: int) -> Any:  # noqa: ANN401
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(budget.limit.left_s, 0.01)
    solver.parameters.max_deterministic_time = max(min(most_work, budget.work), 1e-3)
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = _SEED
    return solver

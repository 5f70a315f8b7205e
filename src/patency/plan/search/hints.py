"""A known solution as a hint to the solver."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patency.plan.search.alike import alike

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.plan.search.problem import Problem, Run
    from patency.plan.search.slots import Model, Slot


def give_hint(model: Model, runs: tuple[Run, ...]) -> None:
    """Give the solver a known solution to start from.

    Parameters
    ----------
    model
        The model.
    runs
        Loads that keep every rule.
    """
    model.model.clear_hints()
    planned = {name for run in runs for name in run.sets}
    for name, out in model.left_out.items():
        model.model.add_hint(out, int(name not in planned))
    by_carrier = _per_carrier(model.problem, runs)
    for slot in model.slots:
        mine = by_carrier[slot.carrier]
        run = mine[slot.number] if slot.number < len(mine) else None
        for variable, value in _hints(model.problem, slot, run):
            model.model.add_hint(variable, value)


def _hints(problem: Problem, slot: Slot, run: Run | None) -> Iterator[tuple[Any, int]]:
    sets = set(run.sets) if run else set()
    yield slot.used, int(run is not None)
    yield slot.start, run.start_min if run else 0
    for mode, literal in slot.modes.items():
        yield literal, int(run is not None and mode[:2] == (run.machine, run.programme))
    for name, x in slot.takes.items():
        yield x, int(name in sets)
    for name, late in slot.late.items():
        due = problem.sets[name].due_min or 0
        yield late, max(0, run.end_min - due) if run and name in sets else 0
    for name, out in slot.out.items():
        yield out, run.end_min if run and name in sets else 0
    for way, variable in slot.ways.items():
        yield variable, run.ways.get(way, 0) if run else 0
    for closed, variable in slot.closed.items():
        yield variable, run.closed.get(closed, 0) if run else 0
    for place, variable in slot.open.items():
        yield variable, run.open.get(place, 0) if run else 0
    for accessory, variable in slot.uses.items():
        yield variable, run.used.get(accessory, 0) if run else 0


def _per_carrier(problem: Problem, runs: tuple[Run, ...]) -> dict[str, list[Run]]:
    """Sort the loads by carrier; among carriers that are alike, the one named first starts first."""
    by_carrier: dict[str, list[Run]] = {name: [] for name in problem.carriers}
    for run in sorted(runs, key=lambda run: run.start_min):
        by_carrier[run.carrier].append(run)
    never = problem.horizon_min + 1
    for _ in problem.carriers:
        for one, other in alike(problem):
            first, second = (loads[0].start_min if loads else never for loads in (by_carrier[one], by_carrier[other]))
            if first > second:
                by_carrier[one], by_carrier[other] = by_carrier[other], by_carrier[one]
    return by_carrier

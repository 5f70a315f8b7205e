"""What the first level decides: the runs there could be, with the solver's variables for everything about them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from patency.plan.search.integer import weighted
from patency.plan.search.problem import Run

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.plan.search.problem import Problem, Way

Fact = tuple[str, ...]
"""A fact that can be dropped when a conflict is looked for: its kind, then what it is about."""
Term = tuple[Any, int]


@dataclass(slots=True)
class Slot:
    """One run of a carrier, perhaps."""

    carrier: str
    number: int
    used: Any
    start: Any
    modes: dict[tuple[int, str, int], Any]
    takes: dict[str, Any] = field(default_factory=dict)
    ways: dict[tuple[str, Way], Any] = field(default_factory=dict)
    closed: dict[tuple[str, str], Any] = field(default_factory=dict)
    open: dict[str, Any] = field(default_factory=dict)
    uses: dict[str, Any] = field(default_factory=dict)
    late: dict[str, Any] = field(default_factory=dict)
    out: dict[str, Any] = field(default_factory=dict)

    @property
    def minutes(self) -> Any:  # noqa: ANN401
        """Length of the run, zero when it is not used."""
        return weighted((literal, mode[2]) for mode, literal in self.modes.items())


@dataclass(slots=True)
class Model:
    """The model with what is needed to read it.

    Parameters
    ----------
    model
        The solver's model.
    problem
        What it is made from.
    slots
        All runs there could be.
    left_out
        For each set whether it stays out.
    facts
        The literals of the facts that can be dropped; empty where all hold.
    """

    model: Any
    problem: Problem
    slots: list[Slot]
    left_out: dict[str, Any]
    facts: dict[Fact, Any]

    def objective(self, index: int) -> Any:  # noqa: ANN401
        """Return one of ``OBJECTIVES`` as an expression.

        Parameters
        ----------
        index
            Its place in the order.

        Returns
        -------
        Any
            A linear expression of the solver.
        """
        weights = self.problem.weights()
        expressions: tuple[Callable[[], Any], ...] = (
            lambda: weighted((out, 1) for out in self.left_out.values()),
            lambda: weighted((opened, 1) for slot in self.slots for opened in slot.open.values()),
            lambda: weighted((late, weights[name]) for slot in self.slots for name, late in slot.late.items()),
            lambda: weighted((slot.used, 1) for slot in self.slots),
            lambda: weighted((y, way.cost) for slot in self.slots for (_, way), y in slot.ways.items() if way.cost),
        )
        return expressions[index]()

    def minutes_until_out(self) -> Any:  # noqa: ANN401
        """Return the minutes at which all sets are out, weighed by ``Problem.haste``, as an expression."""
        terms = []
        latest = self.problem.horizon_min
        for slot in self.slots:
            for name, x in slot.takes.items():
                slot.out[name] = self.model.new_int_var(0, latest, f"out {name} {slot.carrier} {slot.number}")
                self.model.add(slot.out[name] >= slot.start + slot.minutes - latest * (1 - x))
                terms.append((slot.out[name], self.problem.haste(name)))
        return weighted(terms)

    def read(self, value: Callable[[Any], int]) -> tuple[Run, ...]:
        """Read the loads of a solution.

        Parameters
        ----------
        value
            Gives the value of a variable.

        Returns
        -------
        tuple[Run, ...]
            The loads by start, then carrier.
        """
        runs = []
        for slot in self.slots:
            if not value(slot.used):
                continue
            machine, programme, minutes = next(mode for mode, literal in slot.modes.items() if value(literal))
            start = value(slot.start)
            runs.append(
                Run(
                    slot.carrier,
                    machine,
                    programme,
                    start,
                    start + minutes,
                    tuple(name for name, x in slot.takes.items() if value(x)),
                    {key: value(y) for key, y in slot.ways.items() if value(y)},
                    {key: value(y) for key, y in slot.closed.items() if value(y)},
                    {key: value(y) for key, y in slot.open.items() if value(y)},
                )
            )
        return tuple(sorted(runs, key=lambda run: (run.start_min, run.carrier)))

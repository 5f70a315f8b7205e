"""Where steps at the bench work: the ledger, what exists, the plan of the day; and how they write."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar, cast

from patency.ledger import InstrumentSet, Kind, NoteResult, Refused, Result, SetHold
from patency.load import pieces_of_set

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any

    from patency.catalogue import Department
    from patency.ledger import Circumstances, Command, Ledger
    from patency.load import Load, PieceToPlace, Plan


T = TypeVar("T")


@dataclass(frozen=True, repr=False)
class Workplace:
    """What every step at the bench works with.

    Parameters
    ----------
    ledger
        What happened.
    department
        What exists.
    plan
        The plan of the day.
    worked_out
        What was worked out of loads, so that nothing is worked out twice; filled as it is asked for.
    """

    ledger: Ledger
    department: Department
    plan: Plan
    worked_out: dict[tuple[str, str], tuple[Load, object]] = field(default_factory=dict, compare=False)

    def once(self, load: Load, make: Callable[[Load], T]) -> T:
        """Work something out of a load, unless it was worked out of the very same load before.

        Parameters
        ----------
        load
            The load.
        make
            Works it out; its name stands for what it works out.

        Returns
        -------
        T
            What it gave, now or before.
        """
        place = (make.__name__, load.id)
        known = self.worked_out.get(place)
        if known is None or known[0] != load:
            known = load, make(load)
            self.worked_out[place] = known
        return cast("T", known[1])

    def load(self, load_id: str) -> Load | Refused:
        """Find a load of the plan.

        Parameters
        ----------
        load_id
            Its id.

        Returns
        -------
        Load or Refused
            The load, as planned.
        """
        for load in self.plan.loads:
            if load.id == load_id:
                return load
        return Refused.because(
            f"load {load_id}", "is not planned", "one of " + ", ".join(o.id for o in self.plan.loads)
        )

    def set_of(self, set_key: str) -> InstrumentSet | Refused:
        """Find a set as it is now.

        Parameters
        ----------
        set_key
            Its key.

        Returns
        -------
        InstrumentSet or Refused
            The set.
        """
        found = self.ledger.find(InstrumentSet, set_key)
        return found or Refused.because(f"set {set_key}", "is not known", "a set that was enrolled")

    def planned_pieces(self, found: InstrumentSet) -> list[PieceToPlace]:
        """List the pieces that belong to a set.

        Parameters
        ----------
        found
            The set.

        Returns
        -------
        list[PieceToPlace]
            In the order of its list; empty for a set of an unknown type.
        """
        return pieces_of_set(self.department, found.set_type) if found.set_type in self.department.sets else []

    def write(self, around: Circumstances, commands: Sequence[Command]) -> Refused | None:
        """Write commands of one step, all or none, under keys that follow from the step's own.

        Parameters
        ----------
        around
            Who, when, where, under which key.
        commands
            In order.

        Returns
        -------
        Refused or None
            Why nothing was written; None where everything is on the disk.
        """
        keys = [around.command, *(f"{around.command}/{number}" for number in range(2, len(commands) + 1))]
        together = [
            (command, around.model_copy(update={"command": key})) for command, key in zip(commands, keys, strict=True)
        ]
        outcome = self.ledger.append_all(together)
        return outcome if isinstance(outcome, Refused) else None

    def did(self, around: Circumstances) -> bool:
        """Tell whether a step was done before under its key, so that it is not done again.

        Parameters
        ----------
        around
            The step's circumstances.

        Returns
        -------
        bool
            Whether it was.
        """
        return self.ledger.wrote(around.command)


def note(about: Kind, key: str, form: str, verdict: str = "not evaluated", **data: Any) -> NoteResult:  # noqa: ANN401
    """Make the command that keeps what was done at the bench with one thing.

    Parameters
    ----------
    about
        What kind of thing.
    key
        Which one.
    form
        Name of the format, without its version.
    verdict
        ``met`` or ``not met`` where something was judged.
    **data
        The facts, of JSON's own types.

    Returns
    -------
    NoteResult
        The command.
    """
    return NoteResult(about=about, key=key, result=Result(format=f"patency-{form}/1", verdict=verdict, data=data))


def notes_of(workplace: Workplace, about: Kind, key: str, form: str, last: int | None = None) -> list[dict[str, Any]]:
    """List what was kept about one thing in one format.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    about
        What kind of thing.
    key
        Which one.
    form
        Name of the format, without its version.
    last
        How many of the thing's newest events are looked through; None for all.

    Returns
    -------
    list[dict]
        In order; each the facts, with ``person``, ``at``, ``seq`` and ``verdict`` of its event.
    """
    name = f"patency-{form}/1"
    return [
        {
            **event["what"]["result"].get("data", {}),
            "person": event["who"]["person"],
            "at": event["at"],
            "seq": event["seq"],
            "verdict": event["what"]["result"]["verdict"],
        }
        for event in workplace.ledger.story(about, key, last)
        if event["event"] == "result noted" and event["what"]["result"]["format"] == name
    ]


def hold(around: Circumstances, scope: Kind, key: str, reason: str) -> SetHold:
    """Make the command that holds a thing, under a key that follows from the step's own.

    Parameters
    ----------
    around
        The step's circumstances.
    scope
        What kind of thing.
    key
        Which one.
    reason
        Why.

    Returns
    -------
    SetHold
        The command.
    """
    return SetHold(hold=f"hold {around.command}"[:120], scope=scope, key=key, reason=reason)

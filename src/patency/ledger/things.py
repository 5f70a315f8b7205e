"""What is so now, as it follows from the events: one value for each thing, read back from the ledger as it was put."""

from __future__ import annotations

import enum
from datetime import date
from typing import TypeVar

from pydantic import Field

from patency.ledger.fields import (
    HoldFacts,
    Key,
    Kind,
    MachineFacts,
    Method,
    Moment,
    OverrideFacts,
    PersonFacts,
    Place,
    PlanFacts,
    SampleFacts,
    SetFacts,
    Value,
    Where,
)
from patency.ledger.states import SetState


class Assessed(Value):
    """What somebody showed to be able to do: how, until when it counts, and who saw it."""

    method: Method
    until: date
    assessor: Key


class Person(PersonFacts):
    """A member of staff, and the families of instruments the person showed to be able to work with."""

    assessed: dict[Key, Assessed] = Field(default_factory=dict)

    def able(self, family: str, on: date) -> bool:
        """Tell whether the person may work with a family on a day.

        Parameters
        ----------
        family
            The family of instruments.
        on
            The day.

        Returns
        -------
        bool
            Whether it was shown in practice and still counts; theory alone does not.
        """
        shown = self.assessed.get(family)
        return shown is not None and shown.method is not Method.THEORY and on <= shown.until


class Stock(Value):
    """The accessories of one kind: how many are in working order, and how many of these each load has."""

    accessory: Key
    usable: int = 0
    out: dict[Key, int] = Field(default_factory=dict)

    @property
    def free(self) -> int:
        """How many no load has."""
        return self.usable - sum(self.out.values())


class Tested(Value):
    """The last test of one sort."""

    passed: bool
    at: Moment
    due: Moment | None = None


class Machine(MachineFacts):
    """A machine and its last tests."""

    tests: dict[Key, Tested] = Field(default_factory=dict)


class Sample(SampleFacts):
    """A sample of water; `within` is None until it is judged."""

    within: bool | None = None


class Piece(Value):
    """A piece, where it is and since which event.

    Parameters
    ----------
    piece, type_key, mark
        Its key, type and mark.
    place
        Where it is; one place, always.
    since
        The event that brought it there.
    doubt
        The event from which it may have been there already.
    certain
        The last event that leaves no doubt of where it was: its mark was read, or it was put there on purpose.
    washed
        Whether it was through a released wash load since it was last in use.
    """

    piece: Key
    type_key: Key
    mark: Key | None
    place: Place
    since: int
    doubt: int
    certain: int
    washed: bool = False

    @property
    def set_key(self) -> str | None:
        """The set it lies in, if any."""
        return self.place.key if self.place.where is Where.SET else None


class Moved(Value):
    """The last transition of a set, and what was so before, for a correction."""

    seq: int
    from_state: SetState
    came_from: SetState | None = None
    load: Key | None = None
    case: Key | None = None
    expires: Moment | None = None


class InstrumentSet(SetFacts):
    """A set.

    Parameters
    ----------
    state, came_from
        Where it stands, and the state it left for the side.
    pieces
        What lies in it now, in order of the keys.
    counted
        What lay in it when it was last counted.
    counted_at
        The event of that count; 0 for never.
    scanned
        The pieces whose mark was read in that count.
    load, case, expires
        The load it is in, the case it was issued to, until when it may be issued.
    incomplete
        The override under which it goes incomplete.
    moved
        Its last transition; None until the first.
    """

    state: SetState = SetState.RECEIVED
    came_from: SetState | None = None
    pieces: tuple[Key, ...] = ()
    counted: tuple[Key, ...] = ()
    counted_at: int = 0
    scanned: tuple[Key, ...] = ()
    load: Key | None = None
    case: Key | None = None
    expires: Moment | None = None
    incomplete: Key | None = None
    moved: Moved | None = None


class LoadState(enum.StrEnum):
    """Where a load stands."""

    PLANNED = "planned"
    STARTED = "started"
    ENDED = "ended"
    ABORTED = "aborted"


class Inside(Value):
    """A set in a load: the event that put it there, and the pieces scanned when it was last counted."""

    seq: int
    scanned: tuple[Key, ...] = ()
    released: int | None = None


class LoadRecord(PlanFacts):
    """A load: its plan, what is in it, where it stands, and the events in which it started and ended."""

    state: LoadState = LoadState.PLANNED
    inside: dict[Key, Inside] = Field(default_factory=dict)
    started: int | None = None
    ended: int | None = None


class Hold(HoldFacts):
    """A hold, who set it, and whether it was lifted."""

    set_by: Key
    lifted: bool = False


class Held(Value):
    """The holds in force on one thing."""

    held: Key
    scope: Kind
    of: Key
    holds: tuple[Key, ...]


class Override(OverrideFacts):
    """A permission to go on incomplete and who gave it."""

    granted_by: Key


class Taken(Value):
    """The accessories that a load has."""

    load: Key
    taken: dict[Key, int]


class Mark(Value):
    """Whose a mark is; the same mark twice is no identity."""

    mark: Key
    piece: Key


Thing = Person | Machine | Sample | Piece | InstrumentSet | LoadRecord | Hold | Held | Override | Mark | Stock | Taken
T = TypeVar("T", Person, Machine, Sample, Piece, InstrumentSet, LoadRecord, Hold, Held, Override, Mark, Stock, Taken)

THINGS: dict[str, tuple[type[Thing], str]] = {
    "person": (Person, "person"),
    "machine": (Machine, "machine"),
    "sample": (Sample, "sample"),
    "piece": (Piece, "piece"),
    "set": (InstrumentSet, "set_key"),
    "load": (LoadRecord, "load"),
    "hold": (Hold, "hold"),
    "held": (Held, "held"),
    "override": (Override, "override"),
    "mark": (Mark, "mark"),
    "accessory": (Stock, "accessory"),
    "taken": (Taken, "load"),
}
"""The name under which things of a type are kept, and the field that tells them apart."""

NAMES: dict[type[Thing], str] = {kind: name for name, (kind, _) in THINGS.items()}


def address(thing: Thing) -> tuple[str, str]:
    """Return what a thing is found by.

    Parameters
    ----------
    thing
        Any thing.

    Returns
    -------
    tuple[str, str]
        The name of its kind and its key.
    """
    name = NAMES[type(thing)]
    return name, getattr(thing, THINGS[name][1])


def held_key(scope: Kind, of: str) -> str:
    """Return the key under which the holds on one thing are found.

    Parameters
    ----------
    scope
        What kind of thing.
    of
        Which one.

    Returns
    -------
    str
        The key of a `Held`.
    """
    return f"{scope}/{of}"

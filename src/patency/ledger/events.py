"""What happened: every event by its name, and the envelope that says who, when, where and relying on what.

All names stand in this file, in one form: what it is about, then what was done.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, get_args

from pydantic import Field

from patency.ledger.fields import (
    AssessmentFacts,
    Circumstances,
    Count,
    HoldFacts,
    JudgedFacts,
    Key,
    MachineFacts,
    Moment,
    NoteFacts,
    OverrideFacts,
    PersonFacts,
    PieceFacts,
    Pieces,
    Place,
    PlanFacts,
    Pseudonym,
    Reason,
    Result,
    SampleFacts,
    SetFacts,
    StockFacts,
    TestFacts,
    Value,
)
from patency.ledger.states import SetState


class PersonPermitted(PersonFacts):
    """What a person may do from now on."""

    name: ClassVar[str] = "person permitted"


class PersonAssessed(AssessmentFacts):
    """A person showed to be able to work with a family of instruments."""

    name: ClassVar[str] = "person assessed"


class AccessoryCounted(StockFacts):
    """The accessories of one kind were counted."""

    name: ClassVar[str] = "accessory counted"


class AccessoriesTaken(Value):
    """Accessories were taken for a load; these are all that it has now."""

    name: ClassVar[str] = "accessories taken"
    load: Key
    taken: Pieces


class AccessoriesReturned(Value):
    """Accessories came back from a load; what did not is no longer in working order."""

    name: ClassVar[str] = "accessories returned"
    load: Key
    back: Pieces
    lost: Pieces = Field(default_factory=dict)
    why: Reason | None = None


class MachineEnrolled(MachineFacts):
    """A machine is there."""

    name: ClassVar[str] = "machine enrolled"


class MachineTested(TestFacts):
    """A machine was tested."""

    name: ClassVar[str] = "machine tested"


class WaterSampled(SampleFacts):
    """Water was sampled."""

    name: ClassVar[str] = "water sampled"


class SampleJudged(JudgedFacts):
    """A sample was judged."""

    name: ClassVar[str] = "sample judged"


class SetEnrolled(SetFacts):
    """A set is there."""

    name: ClassVar[str] = "set enrolled"


class PieceEnrolled(PieceFacts):
    """A piece is there."""

    name: ClassVar[str] = "piece enrolled"


class SetMoved(Value):
    """A set came to another state; `despite` names the holds that a mere fact did not wait for."""

    name: ClassVar[str] = "set moved"
    set_key: Key
    from_state: SetState
    to: SetState
    seen: Count = Field(default_factory=dict)
    load: Key | None = None
    case: Pseudonym | None = None
    expires: Moment | None = None
    override: Key | None = None
    why: Reason | None = None
    despite: tuple[Key, ...] = ()


class SetCounted(Value):
    """The pieces of an open set were counted."""

    name: ClassVar[str] = "set counted"
    set_key: Key
    seen: Count
    missing: tuple[Key, ...] = ()
    found: tuple[Key, ...] = ()


class PieceMoved(Value):
    """A piece came to another place; `noticed` where it was only then found to be there."""

    name: ClassVar[str] = "piece moved"
    piece: Key
    from_place: Place
    to: Place
    scanned: bool
    noticed: bool = False
    result: Result | None = None
    why: Reason


class HoldSet(HoldFacts):
    """A hold was set."""

    name: ClassVar[str] = "hold set"


class HoldLifted(Value):
    """A hold was lifted."""

    name: ClassVar[str] = "hold lifted"
    hold: Key
    why: Reason


class LoadPlanned(PlanFacts):
    """A load was planned."""

    name: ClassVar[str] = "load planned"


class LoadStarted(Value):
    """A load was started."""

    name: ClassVar[str] = "load started"
    load: Key
    sets: tuple[Key, ...]


class LoadEnded(Value):
    """A load came out of its machine."""

    name: ClassVar[str] = "load ended"
    load: Key
    sets: tuple[Key, ...]
    completed: bool
    record: Result | None = None


class LoadReleased(Value):
    """Sets of a load were released."""

    name: ClassVar[str] = "load released"
    load: Key
    sets: tuple[Key, ...]
    evidence: Result


class OverrideGranted(OverrideFacts):
    """A set may go on incomplete."""

    name: ClassVar[str] = "override granted"


class MoveCorrected(Value):
    """The last transition of a set was taken back."""

    name: ClassVar[str] = "move corrected"
    set_key: Key
    corrects: int
    from_state: SetState
    to: SetState
    why: Reason


class ResultNoted(NoteFacts):
    """A result about a thing was kept."""

    name: ClassVar[str] = "result noted"


Payload = (
    PersonPermitted
    | MachineEnrolled
    | MachineTested
    | WaterSampled
    | SampleJudged
    | SetEnrolled
    | PieceEnrolled
    | SetMoved
    | SetCounted
    | PieceMoved
    | HoldSet
    | HoldLifted
    | LoadPlanned
    | LoadStarted
    | LoadEnded
    | LoadReleased
    | OverrideGranted
    | MoveCorrected
    | ResultNoted
    | PersonAssessed
    | AccessoryCounted
    | AccessoriesTaken
    | AccessoriesReturned
)

_BY_NAME: dict[str, type[Payload]] = {kind.name: kind for kind in get_args(Payload)}
FORMAT = "patency-event/1"


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened, as it stands in the ledger.

    Parameters
    ----------
    seq
        Its number; the first is 1 and none is left out.
    part
        Its number among the events of one command, from 0.
    asked
        SHA-256 of what the command asked for, to tell a repetition from another command under the same key.
    circumstances
        Who, when, where, relying on what, under which key.
    what
        What happened.
    previous
        Digest of the event before; of the first: 64 zeros.
    """

    seq: int
    part: int
    asked: str
    circumstances: Circumstances
    what: Payload
    previous: str

    @property
    def name(self) -> str:
        """Its name."""
        return self.what.name

    def as_data(self) -> dict[str, Any]:
        """Return the event as it is written, hashed and exported.

        Returns
        -------
        dict[str, Any]
            Of JSON's own types; what is not said is left out.
        """
        around = self.circumstances.model_dump(mode="json", exclude_none=True, exclude_defaults=False)
        return {
            "format": FORMAT,
            "seq": self.seq,
            "event": self.name,
            "part": self.part,
            "asked": self.asked,
            **around,
            "what": self.what.model_dump(mode="json", exclude_none=True, exclude_defaults=True),
            "previous": self.previous,
        }


def event_from_data(data: dict[str, Any]) -> Event:
    """Read an event as it was written.

    Parameters
    ----------
    data
        As `Event.as_data` gives it.

    Returns
    -------
    Event
        The event.

    Raises
    ------
    KeyError, ValueError
        When it is none.
    """
    around = {name: data[name] for name in Circumstances.model_fields if name in data}
    return Event(
        seq=data["seq"],
        part=data["part"],
        asked=data["asked"],
        circumstances=Circumstances.model_validate(around),
        what=_BY_NAME[data["event"]].model_validate(data["what"]),
        previous=data["previous"],
    )

"""What people ask the ledger to write down: one type for each command, checked before anything is decided."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, TypeAdapter, ValidationError

from patency.errors import InputError, InputErrors
from patency.ledger.fields import (
    AssessmentFacts,
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

if TYPE_CHECKING:
    from collections.abc import Mapping


class PermitPerson(PersonFacts):
    """Say what a person may do from now on."""

    do: Literal["permit person"] = "permit person"


class EnrolMachine(MachineFacts):
    """Tell the ledger of a machine, or of a change to its water."""

    do: Literal["enrol machine"] = "enrol machine"


class TestMachine(TestFacts):
    """Write down a test of a machine."""

    do: Literal["test machine"] = "test machine"


class TakeSample(SampleFacts):
    """Write down that water was sampled."""

    do: Literal["take sample"] = "take sample"


class JudgeSample(JudgedFacts):
    """Write down what a sample showed."""

    do: Literal["judge sample"] = "judge sample"


class EnrolSet(SetFacts):
    """Tell the ledger of a set; it begins as received, with no piece in it."""

    do: Literal["enrol set"] = "enrol set"


class EnrolPiece(PieceFacts):
    """Tell the ledger of a piece and where it is."""

    do: Literal["enrol piece"] = "enrol piece"


class MoveSet(Value):
    """Take a set to its next state.

    Parameters
    ----------
    set_key
        Which set.
    to
        Where to.
    seen
        The pieces seen now, where the transition asks for a count.
    load
        The load it goes into, for ``loaded`` and ``steam-loaded``.
    case
        The pseudonymous key of the case, for ``issued``.
    expires
        Until when it may be issued, for ``packed``.
    override
        The permission to go on incomplete.
    why
        The reason, for the ways to the side.
    """

    do: Literal["move set"] = "move set"
    set_key: Key
    to: SetState
    seen: Count = Field(default_factory=dict)
    load: Key | None = None
    case: Pseudonym | None = None
    expires: Moment | None = None
    override: Key | None = None
    why: Reason | None = None


class CountSet(Value):
    """Write down which pieces were found in an open set; what is missing or does not belong follows from it."""

    do: Literal["count set"] = "count set"
    set_key: Key
    seen: Count


class MovePiece(Value):
    """Take one piece to another place.

    Parameters
    ----------
    piece
        Which piece.
    from_place
        Where whoever moves it took it from. A piece that somebody else took elsewhere meanwhile stays there.
    to
        Where to.
    scanned
        Whether its mark was read.
    result
        The acceptance test of a piece that comes back from repair.
    why
        The reason.
    """

    do: Literal["move piece"] = "move piece"
    piece: Key
    from_place: Place
    to: Place
    scanned: bool = False
    result: Result | None = None
    why: Reason


class SetHold(HoldFacts):
    """Hold a thing where it is."""

    do: Literal["set hold"] = "set hold"


class LiftHold(Value):
    """Lift a hold; two people confirm."""

    do: Literal["lift hold"] = "lift hold"
    hold: Key
    why: Reason


class PlanLoad(PlanFacts):
    """Plan a load, or plan it anew while it has not started."""

    do: Literal["plan load"] = "plan load"


class StartLoad(Value):
    """Start a load; what was scanned at the machine has to match the plan."""

    do: Literal["start load"] = "start load"
    load: Key
    machine: Key
    carrier: Key
    programme: Key


class EndLoad(Value):
    """Write down that a load came out of its machine, complete or not, with the record of its cycle."""

    do: Literal["end load"] = "end load"
    load: Key
    completed: bool
    record: Result | None = None


class ReleaseLoad(Value):
    """Release sets of a load on evidence: the decision of a qualified person."""

    do: Literal["release load"] = "release load"
    load: Key
    sets: Annotated[tuple[Key, ...], Field(min_length=1)]
    evidence: Result


class GrantOverride(OverrideFacts):
    """Permit a set to go on incomplete."""

    do: Literal["grant override"] = "grant override"


class CorrectMove(Value):
    """Take back the last transition of a set; the event stays, a new one points to it."""

    do: Literal["correct move"] = "correct move"
    set_key: Key
    corrects: Annotated[int, Field(ge=1)]
    why: Reason


class NoteResult(NoteFacts):
    """Keep a result about a thing."""

    do: Literal["note result"] = "note result"


class AssessPerson(AssessmentFacts):
    """Write down that another person showed to be able to work with a family of instruments."""

    do: Literal["assess person"] = "assess person"


class CountAccessory(StockFacts):
    """Write down how many of an accessory are in working order."""

    do: Literal["count accessory"] = "count accessory"


class TakeAccessories(Value):
    """Take accessories for a load that has not started; this says all that it has, and nothing is given out twice."""

    do: Literal["take accessories"] = "take accessories"
    load: Key
    taken: Pieces


class ReturnAccessories(Value):
    """Count back what a load had; what is missing needs a reason and is taken off the stock."""

    do: Literal["return accessories"] = "return accessories"
    load: Key
    back: Pieces
    why: Reason | None = None


Command = Annotated[
    PermitPerson
    | EnrolMachine
    | TestMachine
    | TakeSample
    | JudgeSample
    | EnrolSet
    | EnrolPiece
    | MoveSet
    | CountSet
    | MovePiece
    | SetHold
    | LiftHold
    | PlanLoad
    | StartLoad
    | EndLoad
    | ReleaseLoad
    | GrantOverride
    | CorrectMove
    | NoteResult
    | AssessPerson
    | CountAccessory
    | TakeAccessories
    | ReturnAccessories,
    Field(discriminator="do"),
]

_ANY: TypeAdapter[Command] = TypeAdapter(Command)


def read_command(data: Mapping[str, Any], where: str) -> Command:
    """Read a command that came as data, from an import or over a network.

    Parameters
    ----------
    data
        Its fields; ``do`` says which command it is.
    where
        Where it came from, for messages.

    Returns
    -------
    Command
        The command.

    Raises
    ------
    InputErrors
        With every fault, when a field is missing, unknown or cannot be used.
    """
    try:
        return _ANY.validate_python(dict(data))
    except ValidationError as fault:
        raise InputErrors(
            [
                InputError(
                    where, f"{'.'.join(map(str, one['loc'])) or 'command'}: {one['msg']}", "a command as described"
                )
                for one in fault.errors(include_url=False)
            ]
        ) from fault

"""Whether people, machines, sets and pieces may be enrolled, and tests, samples, holds, overrides, results noted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import checks, events
from patency.ledger.fields import Kind, Where
from patency.ledger.refusing import Objection, Refused
from patency.ledger.states import OPEN_STATES, WASHED_STATES, Role
from patency.ledger.things import Hold, InstrumentSet, LoadRecord, Machine, Mark, Override, Person, Piece, Sample

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from patency.ledger import commands
    from patency.ledger.events import Payload
    from patency.ledger.fields import Circumstances
    from patency.ledger.state import State

_HOLDABLE: dict[Kind, Callable[[State, str], bool]] = {
    Kind.PIECE: lambda state, key: state.find(Piece, key) is not None,
    Kind.SET: lambda state, key: state.find(InstrumentSet, key) is not None,
    Kind.LOAD: lambda state, key: state.find(LoadRecord, key) is not None,
    Kind.MACHINE: lambda state, key: state.find(Machine, key) is not None,
    Kind.TYPE: lambda _state, _key: True,  # a type may be held before the first piece of it is there
}


def _unless(objections: Iterable[Objection], payload: Payload) -> tuple[Payload, ...] | Refused:
    against = tuple(objections)
    return Refused(against) if against else (payload,)


def permit_person(
    state: State, command: commands.PermitPerson, around: Circumstances, *, events_so_far: int
) -> tuple[Payload, ...] | Refused:
    """Decide whether a person may be permitted; the first event of a ledger is its administrator's own.

    Parameters
    ----------
    state
        What is so now.
    command
        Who, what, until when.
    around
        Who permits.
    events_so_far
        How many events the ledger holds.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happened, or every reason against it.
    """
    payload = events.PersonPermitted(person=command.person, roles=command.roles)
    if events_so_far == 0:
        own = around.who.person == command.person and Role.ADMINISTRATOR in command.roles
        wanted = "a person who is permitted as administrator by themself, as the first event"
        return _unless(() if own else (Objection(f"person {command.person}", "begins the ledger", wanted),), payload)
    return _unless(checks.authority(state, around, checks.ADMINISTRATOR), payload)


def assess_person(state: State, command: commands.AssessPerson, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether it may be noted what a person is able to do; nobody assesses themself."""
    where = f"person {command.person}"
    objections = [*checks.authority(state, around, checks.LEAD)]
    if state.find(Person, command.person) is None:
        objections.append(Objection(where, "is not known", "a person who was permitted"))
    if command.person == around.who.person:
        objections.append(Objection(where, "assesses themself", "another person who saw it"))
    if command.until < around.at.date():
        objections.append(Objection(where, f"counts until {command.until}", "a day to come"))
    return _unless(objections, events.PersonAssessed.model_validate(command.model_dump(exclude={"do"})))


def enrol_machine(state: State, command: commands.EnrolMachine, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a machine may be enrolled or changed."""
    before = state.find(Machine, command.machine)
    objections = [*checks.authority(state, around, checks.ENGINEER)]
    if before is not None and before.kind is not command.kind:
        objections.append(Objection(f"machine {command.machine}", f"takes {before.kind} loads", "the same kind"))
    return _unless(objections, events.MachineEnrolled.model_validate(command.model_dump(exclude={"do"})))


def test_machine(state: State, command: commands.TestMachine, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a test of a machine may be noted."""
    objections = [*checks.authority(state, around, checks.ENGINEER | checks.HANDS)]
    if state.find(Machine, command.machine) is None:
        objections.append(Objection(f"machine {command.machine}", "is not known", "a machine that was enrolled"))
    return _unless(objections, events.MachineTested.model_validate(command.model_dump(exclude={"do"})))


def take_sample(state: State, command: commands.TakeSample, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a sample may be noted."""
    objections = [*checks.authority(state, around, checks.ENGINEER | checks.HANDS)]
    if state.find(Sample, command.sample) is not None:
        objections.append(Objection(f"sample {command.sample}", "was taken before", "another key"))
    return _unless(objections, events.WaterSampled.model_validate(command.model_dump(exclude={"do"})))


def judge_sample(state: State, command: commands.JudgeSample, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a sample may be judged."""
    objections = [*checks.authority(state, around, checks.ENGINEER)]
    if state.find(Sample, command.sample) is None:
        objections.append(Objection(f"sample {command.sample}", "is not known", "a sample that was taken"))
    return _unless(objections, events.SampleJudged.model_validate(command.model_dump(exclude={"do"})))


def enrol_set(state: State, command: commands.EnrolSet, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a set may be enrolled."""
    objections = [*checks.authority(state, around, checks.LEAD)]
    if state.find(InstrumentSet, command.set_key) is not None:
        objections.append(Objection(f"set {command.set_key}", "was enrolled before", "another key"))
    return _unless(objections, events.SetEnrolled.model_validate(command.model_dump(exclude={"do"})))


def enrol_piece(state: State, command: commands.EnrolPiece, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a piece may be enrolled: a new key, a mark nobody else has, a place where it can be."""
    objections = [*checks.authority(state, around, checks.HANDS), *_new_place(state, command)]
    if state.find(Piece, command.piece) is not None:
        objections.append(Objection(f"piece {command.piece}", "was enrolled before", "another key"))
    other = state.find(Mark, command.mark) if command.mark is not None else None
    if other is not None:
        objections.append(
            Objection(f"piece {command.piece}", f"its mark is on piece {other.piece} too", "its own mark")
        )
    return _unless(objections, events.PieceEnrolled.model_validate(command.model_dump(exclude={"do"})))


def _new_place(state: State, command: commands.EnrolPiece) -> Iterator[Objection]:
    where, place = f"piece {command.piece}", command.place
    if place.where is Where.SET:
        into = state.find(InstrumentSet, place.key)
        if into is None or into.state not in OPEN_STATES - WASHED_STATES:
            yield Objection(where, f"cannot begin in set {place.key}", "a set that lies open on the soiled side")
        else:
            yield from checks.held(f"set {place.key}", checks.holds_on_set(state, into))
    elif place.where not in {Where.SPARE, Where.QUARANTINE}:
        yield Objection(where, f"cannot begin in {place.where}", "a set, a shelf for spares, or quarantine")


def set_hold(state: State, command: commands.SetHold, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a hold may be set; anybody who may do anything may hold."""
    objections = [*checks.authority(state, around, checks.ANYONE)]
    if state.find(Hold, command.hold) is not None:
        objections.append(Objection(f"hold {command.hold}", "was set before", "another key"))
    if command.scope not in _HOLDABLE:
        objections.append(Objection(f"hold {command.hold}", f"a {command.scope} cannot be held", ", ".join(_HOLDABLE)))
    elif not _HOLDABLE[command.scope](state, command.key):
        objections.append(Objection(f"{command.scope} {command.key}", "is not known", "a thing that is there"))
    return _unless(objections, events.HoldSet.model_validate(command.model_dump(exclude={"do"})))


def lift_hold(state: State, command: commands.LiftHold, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a hold may be lifted: by two different people with the authority."""
    hold = state.find(Hold, command.hold)
    objections = [*checks.authority(state, around, checks.LEAD | checks.RELEASER, second=True)]
    if hold is None or hold.lifted:
        objections.append(Objection(f"hold {command.hold}", "is not in force", "a hold that is"))
    return _unless(objections, events.HoldLifted(hold=command.hold, why=command.why))


def grant_override(
    state: State, command: commands.GrantOverride, around: Circumstances
) -> tuple[Payload, ...] | Refused:
    """Decide whether a set may go on incomplete: reason, authority, time limit and compensation are all there."""
    objections = [*checks.authority(state, around, checks.LEAD)]
    if state.find(InstrumentSet, command.set_key) is None:
        objections.append(Objection(f"set {command.set_key}", "is not known", "a set that was enrolled"))
    if state.find(Override, command.override) is not None:
        objections.append(Objection(f"override {command.override}", "was granted before", "another key"))
    if command.until <= around.at:
        objections.append(Objection(f"override {command.override}", "ends before it begins", "a time to come"))
    return _unless(objections, events.OverrideGranted.model_validate(command.model_dump(exclude={"do"})))


def note_result(state: State, command: commands.NoteResult, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a result may be kept."""
    return _unless(
        checks.authority(state, around, checks.ANYONE),
        events.ResultNoted.model_validate(command.model_dump(exclude={"do"})),
    )

"""Whether a load may be planned, started, ended, released."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.ledger import checks
from patency.ledger.events import LoadEnded, LoadPlanned, LoadReleased, LoadStarted
from patency.ledger.fields import LoadKind, PlanFacts
from patency.ledger.refusing import Objection, Refused
from patency.ledger.states import SetState
from patency.ledger.things import InstrumentSet, LoadRecord, LoadState, Machine

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.ledger.commands import EndLoad, PlanLoad, ReleaseLoad, StartLoad
    from patency.ledger.events import Payload
    from patency.ledger.fields import Circumstances
    from patency.ledger.state import State

AFTER_RUN = {LoadKind.WASH: SetState.WASHED, LoadKind.STEAM: SetState.STEAM_RUN}
RELEASED = {LoadKind.WASH: SetState.WASH_RELEASED, LoadKind.STEAM: SetState.STERILE_RELEASED}


def plan_load(state: State, command: PlanLoad, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a load may be planned so.

    Parameters
    ----------
    state
        What is so now.
    command
        The plan.
    around
        Who plans, when and where.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happened, or every reason against it.
    """
    facts = PlanFacts.model_validate(command.model_dump(exclude={"do"}))
    objections = [
        *checks.authority(state, around, checks.HANDS),
        *_plannable(state, facts),
        *checks.load_and_machine(state, LoadRecord.model_validate(facts.model_dump())),
    ]
    for key in facts.sets:
        planned = state.find(InstrumentSet, key)
        if planned is None or planned.state is SetState.RETIRED:
            objections.append(Objection(f"set {key}", "is not in service", "a set that was enrolled"))
        else:
            objections += checks.held(f"set {key}", checks.holds_on_set(state, planned))
    return Refused(tuple(objections)) if objections else (LoadPlanned.model_validate(facts.model_dump()),)


def _plannable(state: State, facts: PlanFacts) -> Iterator[Objection]:
    where = f"load {facts.load}"
    machine = state.find(Machine, facts.machine)
    if machine is None:
        yield Objection(f"machine {facts.machine}", "is not known", "a machine that was enrolled")
    elif machine.kind is not facts.kind:
        yield Objection(f"machine {facts.machine}", f"takes {machine.kind} loads", f"a machine for {facts.kind} loads")
    if len(set(facts.sets)) < len(facts.sets):
        yield Objection(where, "names a set twice", "each set once")
    before = state.find(LoadRecord, facts.load)
    if before is None:
        return
    if before.state is not LoadState.PLANNED:
        yield Objection(where, f"is {before.state}", "a load that has not started")
    if before.kind is not facts.kind:
        yield Objection(where, f"is a {before.kind} load", "another key for another kind")
    for key in sorted(set(before.inside) - set(facts.sets)):
        yield Objection(where, f"set {key} is in it already", "a plan that keeps it, or the set taken out first")


def start_load(state: State, command: StartLoad, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether a load may start: what was scanned matches its plan, every set is in it, nothing is held.

    Parameters
    ----------
    state
        What is so now.
    command
        What was scanned.
    around
        Who starts it, when and where.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happened, or every reason against it.
    """
    load = state.find(LoadRecord, command.load)
    if load is None:
        return _unknown(command.load)
    where = f"load {load.load}"
    objections = [*checks.authority(state, around, checks.HANDS), *checks.load_and_machine(state, load)]
    if load.state is not LoadState.PLANNED:
        objections.append(Objection(where, f"is {load.state}", "a load that has not started"))
    for what in ("machine", "carrier", "programme"):
        scanned, planned = getattr(command, what), getattr(load, what)
        if scanned != planned:
            objections.append(Objection(where, f"{what} {scanned} was scanned", f"{planned}, as planned"))
    for key in load.sets:
        if key not in load.inside:
            objections.append(Objection(where, f"set {key} is planned and not in it", "the set, or a new plan"))
        else:
            objections += checks.held(f"set {key}", checks.holds_on_set(state, state.get(InstrumentSet, key)))
    objections += checks.machine_tested(state.get(Machine, load.machine), around.at)
    return Refused(tuple(objections)) if objections else (LoadStarted(load=load.load, sets=load.sets),)


def end_load(state: State, command: EndLoad, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Write down that a load came out of its machine; this is a fact and waits for no hold.

    Parameters
    ----------
    state
        What is so now.
    command
        Whether it was complete, and its record.
    around
        Who saw it, when and where.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happened, or every reason against it.
    """
    load = state.find(LoadRecord, command.load)
    if load is None:
        return _unknown(command.load)
    objections = [*checks.authority(state, around, checks.HANDS | checks.RELEASER | checks.ENGINEER)]
    if load.state is not LoadState.STARTED:
        objections.append(Objection(f"load {load.load}", f"is {load.state}", "a load that is running"))
    if objections:
        return Refused(tuple(objections))
    return (LoadEnded(load=load.load, sets=load.sets, completed=command.completed, record=command.record),)


def release_load(state: State, command: ReleaseLoad, around: Circumstances) -> tuple[Payload, ...] | Refused:
    """Decide whether sets of a load may be released on this evidence.

    Parameters
    ----------
    state
        What is so now.
    command
        The sets and the evidence.
    around
        Who decides, when and where.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happened, or every reason against it.
    """
    load = state.find(LoadRecord, command.load)
    if load is None:
        return _unknown(command.load)
    objections = [
        *checks.authority(state, around, checks.RELEASER),
        *checks.load_and_machine(state, load),
        *checks.machine_tested(state.get(Machine, load.machine), around.at),
    ]
    if command.evidence.verdict != "met":
        objections.append(
            Objection(f"load {load.load}", f"evidence is {command.evidence.verdict}", "evidence that is met")
        )
    if len(set(command.sets)) < len(command.sets):
        objections.append(Objection(f"load {load.load}", "names a set twice", "each set once"))
    for key in command.sets:
        objections += _waits(state, load, key)
    if objections:
        return Refused(tuple(objections))
    return (LoadReleased(load=load.load, sets=command.sets, evidence=command.evidence),)


def _unknown(load: str) -> Refused:
    return Refused((Objection(f"load {load}", "is not known", "a load that was planned"),))


def _waits(state: State, load: LoadRecord, key: str) -> Iterator[Objection]:
    """Ask whether a set waits for the release of a load, as it was counted and without a hold."""
    waiting = state.find(InstrumentSet, key)
    if waiting is None or waiting.load != load.load or waiting.state is not AFTER_RUN[load.kind]:
        yield Objection(f"set {key}", f"does not wait for load {load.load}", "a set that came out of it")
    else:
        yield from checks.held(f"set {key}", checks.holds_on_set(state, waiting))
        yield from checks.unchanged(waiting)

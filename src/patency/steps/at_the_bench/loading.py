"""Loading a carrier one piece at a time: show, confirm by scan or tap, undo, go on after an interruption."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.ledger import (
    CorrectMove,
    InstrumentSet,
    Kind,
    LoadKind,
    LoadRecord,
    LoadState,
    MoveSet,
    Piece,
    PlanLoad,
    Refused,
    Seen,
    SetState,
    TakeAccessories,
)
from patency.steps.at_the_bench.load_progress import FORM, progress_of
from patency.steps.at_the_bench.load_steps import steps_of_load
from patency.steps.at_the_bench.matching import pieces_of_step
from patency.steps.at_the_bench.permission import SOILED, families_of_pieces, not_permitted
from patency.steps.at_the_bench.workplace import note

if TYPE_CHECKING:
    from collections.abc import Collection

    from patency.ledger import Circumstances, Command
    from patency.load import Load
    from patency.steps.at_the_bench.load_progress import Deviation
    from patency.steps.at_the_bench.load_steps import LoadStep
    from patency.steps.at_the_bench.workplace import Workplace


@dataclass(frozen=True, slots=True)
class Loading:
    """A carrier while it is being loaded.

    Parameters
    ----------
    load
        The load as it is to be, deviations included.
    steps
        All steps, in order.
    done
        Keys of the confirmed ones, in the order of confirming.
    now
        The step in hand; None when all are done.
    next_words
        What comes after it, in a few words; empty for nothing.
    person
        Who loads; None before the first step.
    deviations
        What was done otherwise than planned.
    begun, started
        Whether its accessories were taken; whether the machine has it.
    """

    load: Load
    steps: tuple[LoadStep, ...]
    done: tuple[str, ...]
    now: LoadStep | None
    next_words: str
    person: str | None
    deviations: tuple[Deviation, ...]
    begun: bool
    started: bool

    @property
    def complete(self) -> bool:
        """Whether every step is confirmed."""
        return len(self.done) == len(self.steps)


def accessories_of(load: Load, department_pod: str | None = None) -> dict[str, int]:
    """Count the accessories a load takes: links of chains, caps, optic holders, and pods.

    Parameters
    ----------
    load
        The load.
    department_pod
        Key of the pods' kind; None where pods are not counted.

    Returns
    -------
    dict[str, int]
        Accessory to number.
    """
    counts = Counter(link for piece in load.pieces for connection in piece.lumens for link in connection.chain)
    counts.update(capped.cap for capped in load.capped_ports)
    counts.update(piece.position for piece in load.pieces if piece.placing is Placing.OPTIC_HOLDER)
    pods = {piece.position for piece in load.pieces if piece.placing is Placing.POD}
    if department_pod and pods:
        counts[department_pod] += len(pods)
    return dict(sorted(counts.items()))


def begin_load(workplace: Workplace, load_id: str, around: Circumstances) -> Loading | Refused:
    """Begin a planned load: the ledger gets its plan, and what it needs is taken from the stock.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    around
        Who, when, where, under which key.

    Returns
    -------
    Loading or Refused
        The load at its first step. Refused while a set, the machine or a type in it is held, or accessories are short.
    """
    load = workplace.load(load_id)
    if isinstance(load, Refused):
        return load
    if workplace.ledger.find(LoadRecord, load_id) is None and not workplace.did(around):
        plan = PlanLoad(
            load=load.id,
            kind=LoadKind.WASH,
            machine=load.machine,
            carrier=load.carrier,
            programme=load.programme,
            sets=load.sets,
        )
        take = TakeAccessories(load=load.id, taken=_counted(workplace, load))
        refused = not_permitted(workplace, around, SOILED) or workplace.write(around, [plan, take])
        if refused:
            return refused
    return show_loading(workplace, load_id)


def _counted(workplace: Workplace, load: Load) -> dict[str, int]:
    return {key: number for key, number in accessories_of(load).items() if key in workplace.department.accessories}


def show_loading(workplace: Workplace, load_id: str, step: str | None = None) -> Loading | Refused:
    """Show a load where it stands.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    step
        The step to show; None for the first that is not confirmed.

    Returns
    -------
    Loading or Refused
        The load.
    """
    load = workplace.load(load_id)
    if isinstance(load, Refused):
        return load
    progress = progress_of(workplace, load)
    steps = steps_of_load(workplace, progress.load)
    open_steps = [one for one in steps if one.key not in progress.done]
    chosen = [one for one in steps if one.key == step]
    shown = (chosen or open_steps)[:1]
    following = [one for one in open_steps if one not in shown][:1]
    record = workplace.ledger.find(LoadRecord, load_id)
    return Loading(
        load=progress.load,
        steps=steps,
        done=tuple(key for key in progress.done if any(one.key == key for one in steps)),
        now=shown[0] if shown else None,
        next_words=f"{following[0].name} → {following[0].where[0]}" if following else "",
        person=progress.person,
        deviations=progress.deviations,
        begun=record is not None,
        started=record is not None and record.state is not LoadState.PLANNED,
    )


def step_of_piece(workplace: Workplace, load_id: str, piece_key: str) -> str | Refused:
    """Find the step in which a piece is placed, as when its mark was scanned out of turn.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    piece_key
        The piece as the ledger knows it.

    Returns
    -------
    str or Refused
        Key of the step; refused where the piece is not of this load.
    """
    shown = show_loading(workplace, load_id)
    if isinstance(shown, Refused):
        return shown
    for step in shown.steps:
        if step.set_key and piece_key in pieces_of_step(workplace, step).values():
            return step.key
    piece = workplace.ledger.find(Piece, piece_key)
    lies = f"lies in {piece.place.where} {piece.place.key}" if piece else "is not known"
    return Refused.because(f"piece {piece_key}", lies, f"a piece of {', '.join(shown.load.sets)}")


def confirm_step(
    workplace: Workplace, load_id: str, step: str, scanned: Collection[str], around: Circumstances
) -> Loading | Refused:
    """Confirm one step; with the last step of a set the set is in the load.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    step
        The step.
    scanned
        Pieces of it whose mark was read; the others were seen by eye.
    around
        Who, when, where, under which key.

    Returns
    -------
    Loading or Refused
        The load at the next step. A step that is confirmed already stays so and nothing is written.
    """
    shown = show_loading(workplace, load_id, step)
    if isinstance(shown, Refused) or workplace.did(around):
        return show_loading(workplace, load_id)
    if step in shown.done:
        return show_loading(workplace, load_id)
    if shown.now is None or shown.now.key != step:
        return Refused.because(f"step {step!r}", f"is none of load {load_id}", "a step of this load")
    pieces = pieces_of_step(workplace, shown.now)
    against = _against(workplace, shown, shown.now, pieces, scanned, around)
    if against:
        return against
    command = note(
        Kind.LOAD, load_id, FORM, act="confirmed", step=step, where=list(shown.now.where),
        pieces=sorted(pieces.values()), scanned=sorted(scanned),
    )  # fmt: skip
    commands: list[Command] = [command, *_set_complete(workplace, shown, shown.now, scanned)]
    return workplace.write(around, commands) or show_loading(workplace, load_id)


def _against(
    workplace: Workplace,
    shown: Loading,
    step: LoadStep,
    pieces: dict[tuple[str, str], str],
    scanned: Collection[str],
    around: Circumstances,
) -> Refused | None:
    """Collect what stands against a confirmation: the load, the person, a hold, a piece that is not there."""
    load = shown.load
    if workplace.ledger.find(LoadRecord, load.id) is None:
        return Refused.because(f"load {load.id}", "was not begun", "a load that was begun")
    if shown.started:
        return Refused.because(f"load {load.id}", "has started", "a load that stands open")
    if shown.person is not None and shown.person != around.who.person:
        return Refused.because(f"load {load.id}", f"is loaded by {shown.person}", "that you take it over first")
    if step.set_key:
        holds = workplace.ledger.holds(Kind.SET, step.set_key)
        if holds:
            reasons = "; ".join(f"{one.hold}: {one.reason}" for one in holds)
            return Refused.because(f"set {step.set_key}", f"is held ({reasons})", "the hold lifted by two people")
        found = workplace.set_of(step.set_key)
        if isinstance(found, Refused) or found.state not in {SetState.DISMANTLED, SetState.LOADED}:
            told = found.text if isinstance(found, Refused) else f"is {found.state}"
            return Refused.because(f"set {step.set_key}", told, "a set that was counted and taken apart")
    strangers = sorted(set(scanned) - set(pieces.values()))
    if strangers:
        return Refused.because(f"piece {strangers[0]}", "does not belong to this step", ", ".join(pieces.values()))
    gone = [place for place in step.pieces if place not in pieces and not _under_override(workplace, step.set_key)]
    if gone:
        return Refused.because(f"piece {gone[0][1]}", f"is not in {step.set_key}", "every piece, or an override")
    return not_permitted(workplace, around, SOILED, families_of_pieces(workplace, pieces.values()))


def _under_override(workplace: Workplace, set_key: str) -> bool:
    found = workplace.ledger.find(InstrumentSet, set_key)
    return found is not None and found.incomplete is not None


def _set_complete(workplace: Workplace, shown: Loading, step: LoadStep, scanned: Collection[str]) -> list[Command]:
    """Put the set into the load with its last step; what was scanned in any of its steps was scanned."""
    mine = [one for one in shown.steps if one.set_key == step.set_key and one.key != step.key]
    if not step.set_key or any(one.key not in shown.done for one in mine):
        return []
    found = workplace.set_of(step.set_key)
    if isinstance(found, Refused) or found.state is SetState.LOADED:
        return []
    load = workplace.load(shown.load.id)
    progress = progress_of(workplace, load) if not isinstance(load, Refused) else None
    read = {key for done in (progress.done.values() if progress else ()) for key in done.scanned} | set(scanned)
    seen = {key: Seen.SCANNED if key in read else Seen.BY_EYE for key in found.pieces}
    return [MoveSet(set_key=found.set_key, to=SetState.LOADED, seen=seen, load=shown.load.id)]


def undo_step(workplace: Workplace, load_id: str, around: Circumstances) -> Loading | Refused:
    """Take the last confirmation back; a set that was complete with it is out of the load again.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    around
        Who, when, where, under which key.

    Returns
    -------
    Loading or Refused
        The load at the step that is open again; refused where none is confirmed or the load has started.
    """
    shown = show_loading(workplace, load_id)
    if isinstance(shown, Refused) or workplace.did(around):
        return shown
    if not shown.done or shown.started:
        return Refused.because(f"load {load_id}", "has nothing to undo", "a confirmed step of a load that stands open")
    last = next(one for one in shown.steps if one.key == shown.done[-1])
    commands: list[Command] = [note(Kind.LOAD, load_id, FORM, act="undone", step=last.key)]
    found = workplace.set_of(last.set_key) if last.set_key else None
    if isinstance(found, InstrumentSet) and found.state is SetState.LOADED and found.moved is not None:
        commands.append(CorrectMove(set_key=found.set_key, corrects=found.moved.seq, why="step of loading undone"))
    refused = not_permitted(workplace, around, SOILED) or workplace.write(around, commands)
    return refused or show_loading(workplace, load_id)


def take_over(workplace: Workplace, load_id: str, around: Circumstances) -> Loading | Refused:
    """Go on with a load that another person began, after a look at what is done.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    around
        Who takes over, when, where, under which key.

    Returns
    -------
    Loading or Refused
        The load at the next step.
    """
    shown = show_loading(workplace, load_id)
    if isinstance(shown, Refused) or workplace.did(around) or shown.person == around.who.person:
        return shown
    handed = note(Kind.LOAD, load_id, FORM, act="taken over", of=shown.person or "")
    refused = not_permitted(workplace, around, SOILED) or workplace.write(around, [handed])
    return refused or show_loading(workplace, load_id)


@dataclass(frozen=True, slots=True)
class LoadOfDay:
    """A load of the plan and how far it is: its state, None before it was begun, and its steps."""

    load: Load
    state: LoadState | None
    done: int
    steps: int


def loads_of_day(workplace: Workplace) -> tuple[LoadOfDay, ...]:
    """List the loads of the plan with how far each is.

    Parameters
    ----------
    workplace
        Ledger, department, plan.

    Returns
    -------
    tuple[LoadOfDay, ...]
        In the order of the plan.
    """
    found = []
    for load in workplace.plan.loads:
        record = workplace.ledger.find(LoadRecord, load.id)
        shown = show_loading(workplace, load.id)
        if not isinstance(shown, Refused):
            state = record.state if record else None
            found.append(LoadOfDay(shown.load, state, len(shown.done), len(shown.steps)))
    return tuple(found)

"""What happens when a person asks for something: events, or every reason against it. No clock, no file, no chance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patency.ledger import commands, counting, enrolling, loading, moving, stocking

if TYPE_CHECKING:
    from collections.abc import Callable

    from patency.ledger.commands import Command
    from patency.ledger.events import Payload
    from patency.ledger.fields import Circumstances
    from patency.ledger.refusing import Refused
    from patency.ledger.state import State

    # Each takes what is so now, what is asked, and who asks, when and where; it gives what happens, or every reason
    # against it.
    Rule = Callable[[State, Any, Circumstances], tuple[Payload, ...] | Refused]

_RULES: dict[type[Any], Rule] = {
    commands.EnrolMachine: enrolling.enrol_machine,
    commands.TestMachine: enrolling.test_machine,
    commands.TakeSample: enrolling.take_sample,
    commands.JudgeSample: enrolling.judge_sample,
    commands.EnrolSet: enrolling.enrol_set,
    commands.EnrolPiece: enrolling.enrol_piece,
    commands.MoveSet: moving.move_set,
    commands.CorrectMove: moving.correct_move,
    commands.CountSet: counting.count_set,
    commands.MovePiece: counting.move_piece,
    commands.SetHold: enrolling.set_hold,
    commands.LiftHold: enrolling.lift_hold,
    commands.PlanLoad: loading.plan_load,
    commands.StartLoad: loading.start_load,
    commands.EndLoad: loading.end_load,
    commands.ReleaseLoad: loading.release_load,
    commands.GrantOverride: enrolling.grant_override,
    commands.NoteResult: enrolling.note_result,
    commands.AssessPerson: enrolling.assess_person,
    commands.CountAccessory: stocking.count_accessory,
    commands.TakeAccessories: stocking.take_accessories,
    commands.ReturnAccessories: stocking.return_accessories,
}


def decide(
    state: State, command: Command, around: Circumstances, *, events_so_far: int
) -> tuple[Payload, ...] | Refused:
    """Decide what a command does.

    Parameters
    ----------
    state
        What is so now.
    command
        What is asked.
    around
        Who asks, when, where, relying on what.
    events_so_far
        How many events the ledger holds.

    Returns
    -------
    tuple[Payload, ...] or Refused
        What happens, at least one event; or every reason against it, and then nothing happens.
    """
    if isinstance(command, commands.PermitPerson):
        return enrolling.permit_person(state, command, around, events_so_far=events_so_far)
    return _RULES[type(command)](state, command, around)

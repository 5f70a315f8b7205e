"""What is so after an event: things as they are now, and the rows the trace is made of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patency.ledger import events, facts_applied, loads_applied, pieces_applied, sets_applied, stock_applied

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.ledger.events import Event
    from patency.ledger.rows import Row
    from patency.ledger.state import State

    # Each takes what happened, the state, which it changes, and the event around it; it yields what the trace learns.
    Effect = Callable[[Any, State, Event], Iterator[Row]]

_EFFECTS: dict[type[Any], Effect] = {
    events.PersonPermitted: facts_applied.person_permitted,
    events.MachineEnrolled: facts_applied.machine_enrolled,
    events.MachineTested: facts_applied.machine_tested,
    events.WaterSampled: facts_applied.water_sampled,
    events.SampleJudged: facts_applied.sample_judged,
    events.SetEnrolled: facts_applied.set_enrolled,
    events.PieceEnrolled: pieces_applied.piece_enrolled,
    events.SetMoved: sets_applied.set_moved,
    events.SetCounted: pieces_applied.set_counted,
    events.PieceMoved: pieces_applied.piece_moved,
    events.HoldSet: facts_applied.hold_set,
    events.HoldLifted: facts_applied.hold_lifted,
    events.LoadPlanned: loads_applied.load_planned,
    events.LoadStarted: loads_applied.load_started,
    events.LoadEnded: loads_applied.load_ended,
    events.LoadReleased: loads_applied.load_released,
    events.OverrideGranted: facts_applied.override_granted,
    events.MoveCorrected: sets_applied.move_corrected,
    events.ResultNoted: facts_applied.result_noted,
    events.PersonAssessed: facts_applied.person_assessed,
    events.AccessoryCounted: stock_applied.accessory_counted,
    events.AccessoriesTaken: stock_applied.accessories_taken,
    events.AccessoriesReturned: stock_applied.accessories_returned,
}


def apply(state: State, event: Event) -> list[Row]:
    """Let an event take its effect.

    Parameters
    ----------
    state
        What was so before; afterwards, what is so.
    event
        What happened.

    Returns
    -------
    list[Row]
        What the trace learns; a later row takes the place of an earlier one with the same key.
    """
    return list(_EFFECTS[type(event.what)](event.what, state, event))

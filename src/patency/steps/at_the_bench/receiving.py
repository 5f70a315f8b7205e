"""Receiving a set at the soiled side: what it is, how old the soil is, what holds it, how urgent it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, Kind, MoveSet, Refused, SetState
from patency.steps.at_the_bench.permission import SOILED, not_permitted
from patency.steps.at_the_bench.workplace import Workplace, hold

if TYPE_CHECKING:
    from patency.ledger import Circumstances, Command, Hold

_NEWEST = 400
CAUTIONS = (
    "Gloves, apron, face shield.",
    "Sharps can lie in the box: look before you reach in.",
    "Do not open what is held.",
)
"""Shown before a box is opened (common practice)."""


@dataclass(frozen=True, slots=True)
class Arrived:
    """A set at the soiled side.

    Parameters
    ----------
    set_key, state
        The set and where it stands.
    pieces
        How many pieces lie in it.
    used_at
        When its use ended; None where nobody wrote it down.
    soil_age
        Time since then; None where it is not known.
    soil_limit
        The site's longest time to the wash; None where it is not stated.
    too_old
        Whether the time is over; where age or limit is not known it counts as over.
    holds
        What keeps it from moving.
    case
        The pseudonymous key of the case it comes from.
    washed_by
        When its wash has to be over; None where nothing presses.
    place_in_line
        Its place among the sets of today's plan that are not washed yet, the most urgent first, from 1; None where it
        is not among them.
    load
        The load it is planned in.
    cautions
        To be read before it is opened.
    """

    set_key: str
    state: SetState
    pieces: int
    used_at: datetime | None
    soil_age: timedelta | None
    soil_limit: timedelta | None
    too_old: bool
    holds: tuple[Hold, ...]
    case: str | None
    washed_by: datetime | None
    place_in_line: int | None
    load: str | None
    cautions: tuple[str, ...]


def look_at_set(workplace: Workplace, set_key: str, now: datetime) -> Arrived | Refused:
    """Show a set without doing anything to it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    now
        The time, with its zone.

    Returns
    -------
    Arrived or Refused
        What is to be known of it.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    used_at, case = _last_use(workplace, set_key)
    limit = workplace.department.limits.work.soil_age
    soil_limit = timedelta(seconds=limit.value) if limit and limit.holds_on(now.date()) else None
    age = now - used_at if used_at else None
    return Arrived(
        set_key=set_key,
        state=found.state,
        pieces=len(found.pieces),
        used_at=used_at,
        soil_age=age,
        soil_limit=soil_limit,
        too_old=age is None or soil_limit is None or age > soil_limit,
        holds=tuple(workplace.ledger.holds(Kind.SET, set_key)),
        case=case,
        washed_by=_due(workplace).get(set_key),
        place_in_line=_place_in_line(workplace, set_key),
        load=next((load.id for load in workplace.plan.loads if set_key in load.sets), None),
        cautions=CAUTIONS,
    )


def receive_set(workplace: Workplace, set_key: str, around: Circumstances) -> Arrived | Refused:
    """Receive a set; one whose instructions are not complete is held at once.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    around
        Who, when, where, under which key.

    Returns
    -------
    Arrived or Refused
        What is to be known of it. A set that was received before stays as it is.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    refused = None if workplace.did(around) else _receive(workplace, found, around)
    return refused or look_at_set(workplace, set_key, around.at)


def _receive(workplace: Workplace, found: InstrumentSet, around: Circumstances) -> Refused | None:
    commands: list[Command] = []
    if found.state is SetState.IN_USE:  # nobody scanned it at the door of the theatre
        commands.append(MoveSet(set_key=found.set_key, to=SetState.USED))
    if found.state in {SetState.IN_USE, SetState.USED}:
        commands.append(MoveSet(set_key=found.set_key, to=SetState.RECEIVED))
    elif found.state is not SetState.RECEIVED:
        return Refused.because(f"set {found.set_key}", f"is {found.state}", "a set that comes back from use")
    why = _instructions_missing(workplace, found, around)
    if why and not workplace.ledger.holds(Kind.SET, found.set_key):
        commands.append(hold(around, Kind.SET, found.set_key, why))
    against = not_permitted(workplace, around, SOILED)
    if against is not None or not commands:
        return against
    return workplace.write(around, commands)


def _instructions_missing(workplace: Workplace, found: InstrumentSet, around: Circumstances) -> str:
    department, kind = workplace.department, workplace.department.sets.get(found.set_type)
    if kind is None:
        return "its type is not described here"
    if kind.hold is not None:
        return kind.hold
    for key in kind.contents:
        instrument = department.instruments[key]
        instructions = department.instructions.get(instrument.instructions or "")
        if instructions is None or instructions.in_force(around.at.date()) is None:
            return f"no approved instructions in force for {instrument.name}"
    return ""


def _last_use(workplace: Workplace, set_key: str) -> tuple[datetime | None, str | None]:
    moves = [event for event in workplace.ledger.story("set", set_key, _NEWEST) if event["event"] == "set moved"]
    used = [event["at"] for event in moves if event["what"]["to"] == SetState.USED]
    cases = [event["what"]["case"] for event in moves if event["what"].get("case")]
    return (datetime.fromisoformat(used[-1]) if used else None), (cases[-1] if cases else None)


def _due(workplace: Workplace) -> dict[str, datetime]:
    day = workplace.department.day
    return {waiting.set: waiting.washed_by for waiting in day.waiting if waiting.washed_by} if day else {}


def _place_in_line(workplace: Workplace, set_key: str) -> int | None:
    """Count the sets of the day that have to be washed before this one, by when they are due, not by who shouts."""
    before_wash = {SetState.USED, SetState.RECEIVED, SetState.DISMANTLED, SetState.MISSING_PART, SetState.REWASH}
    due = sorted((at, name) for name, at in _due(workplace).items())
    sets = {one.set_key: one.state for one in workplace.ledger.all_of(InstrumentSet)}
    waiting = [name for _, name in due if sets.get(name) in before_wash]
    return waiting.index(set_key) + 1 if set_key in waiting else None


def sets_coming_back(workplace: Workplace, now: datetime) -> tuple[Arrived, ...]:
    """List the sets on their way to the wash.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    now
        The time, with its zone.

    Returns
    -------
    tuple[Arrived, ...]
        Those that came back and are not in a load yet, the most urgent first, then those nothing presses.
    """
    states = {
        SetState.IN_USE,
        SetState.USED,
        SetState.RECEIVED,
        SetState.DISMANTLED,
        SetState.MISSING_PART,
        SetState.REWASH,
    }
    coming = [one.set_key for one in workplace.ledger.all_of(InstrumentSet) if one.state in states]
    shown = [one for key in coming if not isinstance(one := look_at_set(workplace, key, now), Refused)]
    return tuple(sorted(shown, key=lambda one: (one.place_in_line is None, one.place_in_line or 0, one.set_key)))

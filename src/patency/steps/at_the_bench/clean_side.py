"""The clean side, plainly: inspected, tested, assembled, packed, steamed, stored, issued, used."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from patency.ledger import (
    InstrumentSet,
    Kind,
    MoveSet,
    Refused,
    SetState,
)
from patency.steps.at_the_bench.permission import CLEAN, families_of_set, not_permitted
from patency.steps.at_the_bench.showing import ShownPiece, all_seen, show_pieces

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from patency.ledger import Circumstances, Hold, Seen
    from patency.steps.at_the_bench.workplace import Workplace

_IN_A_PACK = frozenset(
    {SetState.PACKED, SetState.STEAM_LOADED, SetState.STEAM_RUN, SetState.STERILE_RELEASED, SetState.STORED}
) | {SetState.ISSUED}
_WITH_A_CASE = frozenset({SetState.ISSUED, SetState.IN_USE, SetState.USED})
NEXT_BY_HAND = {
    SetState.WASH_RELEASED: SetState.INSPECTED,
    SetState.INSPECTED: SetState.ASSEMBLED,
    SetState.ASSEMBLED: SetState.PACKED,
    SetState.STERILE_RELEASED: SetState.STORED,
    SetState.STORED: SetState.ISSUED,
    SetState.ISSUED: SetState.IN_USE,
    SetState.IN_USE: SetState.USED,
}
"""What a person does next with a set at the clean side and beyond; a load does the rest."""


@dataclass(frozen=True, slots=True)
class InspectionPoints:
    """What is looked at and tested on one kind of instrument, as its instructions say."""

    name: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OnCleanSide:
    """A set at the clean side.

    Parameters
    ----------
    set_key, state
        The set and where it stands.
    next_by_hand
        What a person does next with it; None where a load does, or nothing.
    pieces
        What lies in it.
    points
        What is looked at and tested.
    holds
        What keeps it from moving.
    expires
        Until when it may be issued; None where it is in no pack: what an earlier pack bore counts no more.
    case
        The pseudonymous key of the case it was issued to; None where it has come back from it.
    """

    set_key: str
    state: SetState
    next_by_hand: SetState | None
    pieces: tuple[ShownPiece, ...]
    points: tuple[InspectionPoints, ...]
    holds: tuple[Hold, ...]
    expires: datetime | None
    case: str | None


def issue_until(found: InstrumentSet) -> datetime | None:
    """Say until when a set may be issued.

    Parameters
    ----------
    found
        The set.

    Returns
    -------
    datetime or None
        As its pack bears it; None where it lies in no pack: what an earlier pack bore counts no more.
    """
    return found.expires if found.state in _IN_A_PACK else None


def show_clean_side(workplace: Workplace, set_key: str) -> OnCleanSide | Refused:
    """Show a set at the clean side.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.

    Returns
    -------
    OnCleanSide or Refused
        The set.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    return OnCleanSide(
        set_key=set_key,
        state=found.state,
        next_by_hand=NEXT_BY_HAND.get(found.state),
        pieces=show_pieces(workplace, found.pieces),
        points=tuple(_points(workplace, found)),
        holds=tuple(workplace.ledger.holds(Kind.SET, set_key)),
        expires=issue_until(found),
        case=found.case if found.state in _WITH_A_CASE else None,
    )


def _points(workplace: Workplace, found: InstrumentSet) -> list[InspectionPoints]:
    department, kind = workplace.department, workplace.department.sets.get(found.set_type)
    points = []
    for key in kind.contents if kind else ():
        instrument = department.instruments[key]
        instructions = department.instructions.get(instrument.instructions or "")
        version = instructions.in_force(workplace.plan.day) if instructions else None
        said = version.inspection if version else None
        steps = tuple(said.steps) if said else ("no instructions in force: stop and ask",)
        points.append(InspectionPoints(instrument.name, steps))
    return points


def _moved(
    workplace: Workplace, move: MoveSet, around: Circumstances, families: set[str] | None = None
) -> OnCleanSide | Refused:
    refused = None
    if not workplace.did(around):
        against = None if families is None else not_permitted(workplace, around, CLEAN, families)
        refused = against or workplace.write(around, [move])
    return refused or show_clean_side(workplace, move.set_key)


def _handled(workplace: Workplace, move: MoveSet, around: Circumstances) -> OnCleanSide | Refused:
    """Move a set on by the hands of somebody who has to be able to handle every family in it."""
    found = workplace.set_of(move.set_key)
    if isinstance(found, Refused):
        return found
    return _moved(workplace, move, around, families_of_set(workplace, found))


def inspect_set(
    workplace: Workplace, set_key: str, seen: Mapping[str, Seen], around: Circumstances
) -> OnCleanSide | Refused:
    """Write down that every piece of a set was inspected; what was found unfit was said before.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    seen
        Every piece, with how it was seen.
    around
        Who, when, where, under which key.

    Returns
    -------
    OnCleanSide or Refused
        The set.
    """
    return _handled(workplace, MoveSet(set_key=set_key, to=SetState.INSPECTED, seen=dict(seen)), around)


def assemble_set(
    workplace: Workplace, set_key: str, seen: Mapping[str, Seen], around: Circumstances
) -> OnCleanSide | Refused:
    """Write down that a set was put together, with no part left over.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    seen
        Every piece, with how it was seen.
    around
        Who, when, where, under which key.

    Returns
    -------
    OnCleanSide or Refused
        The set; a part that was not seen is one that was left over.
    """
    return _handled(workplace, MoveSet(set_key=set_key, to=SetState.ASSEMBLED, seen=dict(seen)), around)


def pack_set(
    workplace: Workplace, set_key: str, seen: Mapping[str, Seen], around: Circumstances
) -> OnCleanSide | Refused:
    """Write down that a set was packed; until when it may be issued follows from the site's shelf life.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    seen
        Every piece, with how it was seen.
    around
        Who, when, where, under which key.

    Returns
    -------
    OnCleanSide or Refused
        The set; refused where the site states no shelf life in force.
    """
    limit = workplace.department.limits.work.shelf_life
    if limit is None or not limit.holds_on(around.at.date()):
        return Refused.because("limits.work.shelf_life", "is not stated or out of date", "a time with its source")
    expires = around.at + timedelta(seconds=limit.value)
    move = MoveSet(set_key=set_key, to=SetState.PACKED, seen=dict(seen), expires=expires)
    return _moved(workplace, move, around, set())


def store_set(workplace: Workplace, set_key: str, around: Circumstances) -> OnCleanSide | Refused:
    """Write down that a released set lies in the store.

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
    OnCleanSide or Refused
        The set.
    """
    return _moved(workplace, MoveSet(set_key=set_key, to=SetState.STORED), around)


def issue_set(workplace: Workplace, set_key: str, case: str, around: Circumstances) -> OnCleanSide | Refused:
    """Issue a stored set to a case.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    case
        The pseudonymous key of the case; never a name.
    around
        Who, when, where, under which key.

    Returns
    -------
    OnCleanSide or Refused
        The set; refused where it is held, out of date or changed since it was packed.
    """
    move = _issue_command(set_key, case)
    return move if isinstance(move, Refused) else _moved(workplace, move, around)


def _issue_command(set_key: str, case: str) -> MoveSet | Refused:
    try:
        return MoveSet(set_key=set_key, to=SetState.ISSUED, case=case)
    except ValueError:
        return Refused.because("case", "is no key of a case", "letters, digits, . _ - with a digit, and no name")


def use_set(workplace: Workplace, set_key: str, around: Circumstances) -> OnCleanSide | Refused:
    """Write down that an issued set was opened for its case, or that its use ended.

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
    OnCleanSide or Refused
        The set: in use, or used and on its way to the soiled side.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused) or workplace.did(around):
        return found if isinstance(found, Refused) else show_clean_side(workplace, set_key)
    to = {SetState.ISSUED: SetState.IN_USE, SetState.IN_USE: SetState.USED}.get(found.state)
    if to is None:
        return Refused.because(f"set {set_key}", f"is {found.state}", "a set that was issued")
    return _moved(workplace, MoveSet(set_key=set_key, to=to), around)


def bring_on(
    workplace: Workplace, set_key: str, to: SetState, missing: Collection[str], case: str, around: Circumstances
) -> OnCleanSide | Refused:
    """Write down that the next thing was done with a set, whichever it is.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    to
        The state it was brought to; the one a person brings it to next.
    missing
        The pieces that were not there when it was inspected, put together or packed; every other was seen.
    case
        The pseudonymous key of the case it was issued to; empty for any other thing.
    around
        Who, when, where, under which key.

    Returns
    -------
    OnCleanSide or Refused
        The set; refused where something else comes next, or a piece that is missed does not belong there.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused) or workplace.did(around):
        return found if isinstance(found, Refused) else show_clean_side(workplace, set_key)
    following = NEXT_BY_HAND.get(found.state)
    if to is not following:
        return Refused.because(f"set {set_key}", f"is {found.state}, not {to} next", following or "a load's way on")
    strangers = sorted({*missing} - {*found.pieces})
    if strangers:
        return Refused.because(f"piece {strangers[0]}", f"does not lie in {set_key}", "pieces of this set")
    if to is SetState.ISSUED:
        return issue_set(workplace, set_key, case, around)
    counted = {SetState.INSPECTED: inspect_set, SetState.ASSEMBLED: assemble_set, SetState.PACKED: pack_set}
    if to in counted:
        seen = {piece: how for piece, how in all_seen(found).items() if piece not in missing}
        return counted[to](workplace, set_key, seen, around)
    return (store_set if to is SetState.STORED else use_set)(workplace, set_key, around)


def sets_on_clean_side(workplace: Workplace) -> tuple[OnCleanSide, ...]:
    """List the sets from the release of their wash to their use.

    Parameters
    ----------
    workplace
        Ledger, department, plan.

    Returns
    -------
    tuple[OnCleanSide, ...]
        In the order of the way round, then of their names.
    """
    order = [*NEXT_BY_HAND, SetState.PACKED, SetState.STEAM_LOADED, SetState.STEAM_RUN]
    found = [one for one in workplace.ledger.all_of(InstrumentSet) if one.state in order]
    shown = [show_clean_side(workplace, one.set_key) for one in sorted(found, key=lambda one: order.index(one.state))]
    return tuple(one for one in shown if not isinstance(one, Refused))

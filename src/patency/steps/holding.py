"""Holds and overrides: what stands still and why, what goes on incomplete under whose authority, until when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from patency.ledger import GrantOverride, Hold, Kind, LiftHold, Override, Refused, SetHold

if TYPE_CHECKING:
    from datetime import datetime

    from patency.ledger import Appended, Circumstances, Ledger

HOLDABLE = (Kind.SET, Kind.PIECE, Kind.TYPE, Kind.LOAD, Kind.MACHINE)
"""What can be held."""


@dataclass(frozen=True, slots=True)
class Exceptions:
    """What is held, and what goes on otherwise than it should.

    Parameters
    ----------
    holds
        Holds in force.
    lifted
        How many were lifted.
    overrides
        Overrides whose time has not run out.
    expired
        Those whose time has.
    """

    holds: tuple[Hold, ...]
    lifted: int
    overrides: tuple[Override, ...]
    expired: tuple[Override, ...]


def show_exceptions(ledger: Ledger, now: datetime) -> Exceptions:
    """List holds and overrides.

    Parameters
    ----------
    ledger
        What happened.
    now
        The moment.

    Returns
    -------
    Exceptions
        In order of their keys.
    """
    holds, overrides = ledger.all_of(Hold), ledger.all_of(Override)
    return Exceptions(
        holds=tuple(one for one in holds if not one.lifted),
        lifted=sum(one.lifted for one in holds),
        overrides=tuple(one for one in overrides if one.until >= now),
        expired=tuple(one for one in overrides if one.until < now),
    )


def set_hold(ledger: Ledger, scope: str, key: str, reason: str, around: Circumstances) -> Appended | Refused:
    """Hold a thing where it is: nothing of it is planned, loaded, started, released or issued.

    Parameters
    ----------
    ledger
        Where it is written down.
    scope
        What it is, one of `HOLDABLE`.
    key
        Which one.
    reason
        Why.
    around
        Who, when, where, under which key.

    Returns
    -------
    Appended or Refused
        The event; or why not.
    """
    if scope not in HOLDABLE:
        return Refused.because(f"{scope} {key}", "cannot be held", ", ".join(HOLDABLE))
    if not key.strip() or not reason.strip():
        return Refused.because("hold", "says not what, or not why", "a thing and a reason")
    name = f"hold {around.command}"[:120]
    return ledger.append(SetHold(hold=name, scope=Kind(scope), key=key.strip(), reason=reason), around)


def lift_hold(ledger: Ledger, hold: str, why: str, around: Circumstances) -> Appended | Refused:
    """Lift a hold; two people confirm.

    Parameters
    ----------
    ledger
        Where it is written down.
    hold
        Which one.
    why
        Why.
    around
        Both people, when, where, under which key.

    Returns
    -------
    Appended or Refused
        The event; or why not.
    """
    if not why.strip():
        return Refused.because(f"hold {hold}", "is lifted without a reason", "a reason")
    return ledger.append(LiftHold(hold=hold, why=why), around)


def grant_override(
    ledger: Ledger, set_key: str, reason: str, hours: float, compensation: str, around: Circumstances
) -> Appended | Refused:
    """Permit a set to go on incomplete: with a reason, for a time, with something done instead.

    Parameters
    ----------
    ledger
        Where it is written down.
    set_key
        Which set.
    reason
        Why.
    hours
        For how long.
    compensation
        What is done instead.
    around
        Who permits it, when, where, under which key.

    Returns
    -------
    Appended or Refused
        The event; or why not.
    """
    if not (reason.strip() and compensation.strip() and set_key.strip()) or not 0 < hours <= 24 * 7:
        return Refused.because(
            f"override for set {set_key}",
            "lacks something",
            "a set, a reason, a time of at most a week, and what is done instead",
        )
    command = GrantOverride(
        override=f"override {around.command}"[:120],
        set_key=set_key.strip(),
        reason=reason,
        until=around.at + timedelta(hours=hours),
        compensation=compensation,
    )
    return ledger.append(command, around)

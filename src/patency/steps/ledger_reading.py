"""Looks into a ledger: does its chain hold, does all else follow from it, what did one thing touch."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.ledger import Direction, Kind, Shared, export_ledger, open_ledger, rebuild

if TYPE_CHECKING:
    from pathlib import Path

    from patency.ledger import Break, Difference, Head, Ledger, Trace


@dataclass(frozen=True)
class LedgerCheck:
    """Whether the chain of a ledger holds.

    Parameters
    ----------
    breaks
        Where it does not.
    head
        Its end, to be printed and kept elsewhere.
    """

    breaks: tuple[Break, ...]
    head: Head


def verify_ledger(place: str, known: str | None) -> LedgerCheck:
    """Look for events that were altered, removed, doubled or put elsewhere.

    Parameters
    ----------
    place
        The path of a file, or ``postgresql://...``.
    known
        Number and digest of an event known from elsewhere, as ``120:3f5a...``.

    Returns
    -------
    LedgerCheck
        The breaks and the end of the chain.

    Raises
    ------
    InputError
        When there is no ledger or what is known cannot be read.
    """
    head = _known(known)
    with closing(open_ledger(place)) as ledger:
        return LedgerCheck(tuple(ledger.verify(head)), ledger.head())


def _known(text: str | None) -> tuple[int, str] | None:
    if text is None:
        return None
    number, _, digest = text.partition(":")
    if not (number.isascii() and number.isdigit()) or len(digest) != 64:
        raise InputError("--head", f"{text!r} cannot be read", "number and digest of an event, such as 120:3f5a...")
    return int(number), digest.lower()


def rebuild_ledger(place: str) -> tuple[LedgerCheck, tuple[Difference, ...]]:
    """Make all that follows from the events again and put right what was kept otherwise, if the chain holds.

    Parameters
    ----------
    place
        The path of a file, or ``postgresql://...``.

    Returns
    -------
    tuple[LedgerCheck, tuple[Difference, ...]]
        The chain, and what was kept otherwise; nothing is made from a chain that does not hold.

    Raises
    ------
    InputError
        When there is no ledger.
    """
    with closing(open_ledger(place)) as ledger:
        check = LedgerCheck(tuple(ledger.verify()), ledger.head())
        return check, () if check.breaks else tuple(rebuild(ledger))


def export_events(place: str, folder: Path) -> int:
    """Write every event as plain files with the script that checks them.

    Parameters
    ----------
    place
        The path of a file, or ``postgresql://...``.
    folder
        Where to.

    Returns
    -------
    int
        How many events were written.

    Raises
    ------
    InputError
        When there is no ledger or the folder cannot be written to.
    """
    with closing(open_ledger(place)) as ledger:
        return export_ledger(ledger, folder)


def trace_thing(
    place: str, kind: str, key: str, direction: Direction, *, since: str | None, shared: str | None
) -> Trace:
    """List what one thing touched.

    Parameters
    ----------
    place
        The path of a file, or ``postgresql://...``.
    kind
        What it is.
    key
        Which one.
    direction
        Which way to look.
    since
        From which event or day on, as ``120`` or ``2026-05-12``; None for all.
    shared
        Which shared wash loads carry the trace to other sets; None for what is usual.

    Returns
    -------
    Trace
        Each thing with its reason and the strength of the identities on the way.

    Raises
    ------
    InputError
        When there is no ledger or no such thing.
    """
    with closing(open_ledger(place)) as ledger:
        first = _event(ledger, since)
        return ledger.trace(Kind(kind), key, direction, since=first, shared=Shared(shared) if shared else None)


def _event(ledger: Ledger, text: str | None) -> int:
    if text is None:
        return 1
    if text.isascii() and text.isdigit():
        return int(text)
    try:
        day = date.fromisoformat(text)
    except ValueError as fault:
        raise InputError(
            "--since", f"{text!r} cannot be read", "an event or a day, such as 120 or 2026-05-12"
        ) from fault
    return ledger.first_since(datetime.combine(day, time.min).astimezone())

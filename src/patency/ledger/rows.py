"""What the trace is made of: stays in sets, passages through loads, uses in cases, runs of machines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class Touch:
    """An event concerns a thing."""

    kind: str
    key: str
    seq: int


@dataclass(frozen=True, slots=True)
class Stay:
    """A piece lay in a set from one event to another.

    Parameters
    ----------
    piece, first
        The piece, and the event from which it lay there.
    set_key
        The set.
    last
        The event that ended it; None while it lasts.
    doubt
        From when it may have lain there already; earlier than `first` where it was only found there.
    type_key, marked
        Its type, and whether it carries a mark.
    """

    piece: str
    first: int
    set_key: str
    last: int | None
    doubt: int
    type_key: str
    marked: int


@dataclass(frozen=True, slots=True)
class Passage:
    """A set went through a load.

    Parameters
    ----------
    load, set_key, seq
        The load, the set and the event that put it in.
    kind, machine
        Wash or steam, and the machine.
    ended, released
        The events of its end and of the release of this set; None where there is none.
    withdrawn
        The event that took it out before the start; None where there is none.
    scanned
        Pieces whose mark was read in the count before, as JSON.
    """

    load: str
    set_key: str
    seq: int
    kind: str
    machine: str
    ended: int | None
    released: int | None
    withdrawn: int | None
    scanned: str


@dataclass(frozen=True, slots=True)
class Use:
    """A set was issued to a case; `opened` is the event of its use, `withdrawn` of its return."""

    case_key: str
    set_key: str
    seq: int
    opened: int | None
    withdrawn: int | None
    scanned: str


@dataclass(frozen=True, slots=True)
class Run:
    """A load started on a machine; `ended` is None while it runs."""

    load: str
    machine: str
    kind: str
    started: int
    ended: int | None


Row = Touch | Stay | Passage | Use | Run

KEYS: dict[type[Row], tuple[str, ...]] = {
    Touch: ("kind", "key", "seq"),
    Stay: ("piece", "first"),
    Passage: ("load", "set_key", "seq"),
    Use: ("case_key", "set_key", "seq"),
    Run: ("load",),
}
"""What tells the rows of a type apart; a later row with the same key takes the place of the earlier one."""


def row_key(row: Row) -> tuple[object, ...]:
    """Return what tells a row from others of its type.

    Parameters
    ----------
    row
        The row.

    Returns
    -------
    tuple[object, ...]
        Its key.
    """
    return tuple(getattr(row, name) for name in KEYS[type(row)])


def touches(seq: int, *things: tuple[str, str]) -> Iterator[Touch]:
    """Say which things an event concerns.

    Parameters
    ----------
    seq
        The event.
    *things
        Kind and key of each.

    Yields
    ------
    Touch
        One for each thing, each once.
    """
    yield from (Touch(str(kind), key, seq) for kind, key in dict.fromkeys(things))

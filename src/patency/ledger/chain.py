"""How events are written and chained: one canonical text for each, its SHA-256, and the digest of the one before in it.

The canonical text is JSON in UTF-8 on one line: keys in order of their code points, no space, no escape but those JSON
asks for, numbers as Python writes them (integers plainly, others in the shortest form that reads back the same). Who
wants to check a chain needs no JSON for the digests: they are taken over the bytes of the line.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

START = "0" * 64
"""What stands in the first event for the digest of the one before."""


def canonical(data: object) -> str:
    """Write data in the one form that is hashed.

    Parameters
    ----------
    data
        Of JSON's own types.

    Returns
    -------
    str
        One line.

    Raises
    ------
    ValueError
        For a number that is not finite.
    """
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def digest(text: str) -> str:
    """Return the SHA-256 of a text.

    Parameters
    ----------
    text
        In UTF-8 before it is hashed.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


@dataclass(frozen=True, slots=True)
class Entry:
    """One event as it stands in a store or an export.

    Parameters
    ----------
    seq
        Its number.
    body
        Its canonical text.
    digest
        The SHA-256 that stands beside it.
    copies
        What stands beside it again, to be found quickly: the event's name, the command's key, the part.
    """

    seq: int
    body: str
    digest: str
    copies: tuple[tuple[str, object], ...] = ()


@dataclass(frozen=True, slots=True)
class Break:
    """A place where the chain does not hold.

    Parameters
    ----------
    seq
        The number of the event.
    what
        What is wrong with it.
    """

    seq: int
    what: str

    @property
    def line(self) -> str:
        """The fault as one line."""
        return f"event {self.seq}: {self.what}"


def breaks(entries: Iterable[Entry], head: tuple[int, str] | None = None) -> Iterator[Break]:
    """Find every place where a chain does not hold.

    Parameters
    ----------
    entries
        In the order of their numbers as they stand in the store.
    head
        Number and digest of an event known from elsewhere, such as a printed sheet; without it nobody can tell that the
        last events of a chain were removed.

    Yields
    ------
    Break
        Each event that was altered, and each place where one is missing, doubled or out of order.
    """
    before, last = START, 0
    doubted: tuple[int, str, str] | None = None  # an event whose digest does not fit: number, true digest, its digest
    known = dict([head]) if head else {}
    for entry in entries:
        true = digest(entry.body)
        data = _parsed(entry.body)
        if doubted is not None:
            previous = str(data.get("previous"))
            yield _told(doubted, previous)
            before = previous if previous in doubted[1:] else doubted[2]
            doubted = None
        if entry.seq != last + 1:
            yield Break(entry.seq, _gap(last, entry.seq))
        if true != entry.digest:
            doubted = (entry.seq, true, entry.digest)
        else:
            yield from _place(entry, data, last, before)
        if known.pop(entry.seq, true) != true:
            yield Break(entry.seq, "has another digest than the one known from elsewhere")
        before, last = true, entry.seq
    if doubted is not None:
        yield _told(doubted, "")
    for seq in known:
        yield Break(seq, f"is missing; the chain ends with event {last}")


def _parsed(body: str) -> dict[str, Any]:
    try:
        data = json.loads(body)
    except ValueError:
        return {}
    return data if isinstance(data, dict) else {}


def _told(doubted: tuple[int, str, str], following: str) -> Break:
    """Say which of the two was altered: the event after it still names the digest that was right."""
    seq, true, beside = doubted
    if following == true:
        return Break(seq, "the digest beside it was altered; its text is the one that the next event names")
    if following == beside:
        return Break(seq, "its text was altered; the digest beside it is the one that the next event names")
    return Break(seq, "its text does not give the digest beside it")


def _gap(last: int, seq: int) -> str:
    if seq <= last:
        return f"stands after event {last}"
    missing = f"event {last + 1} is" if seq == last + 2 else f"events {last + 1} to {seq - 1} are"
    return f"{missing} missing before it"


def _place(entry: Entry, data: dict[str, Any], last: int, before: str) -> Iterator[Break]:
    """Ask whether an event that was not altered stands where it belongs."""
    if data.get("seq") != entry.seq:
        yield Break(entry.seq, f"its text says that it is event {data.get('seq')}")
    elif data.get("previous") != before and entry.seq == last + 1:
        yield Break(entry.seq, f"does not follow event {last} as that one stands here")
    for name, value in entry.copies:
        if data.get(name) != value:
            yield Break(entry.seq, f"{name} beside it says {value!r}, its text says {data.get(name)!r}")

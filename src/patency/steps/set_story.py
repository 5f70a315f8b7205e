"""The whole story of one set: what is in it, how sure that is, and everything that happened."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from patency.errors import InputError
from patency.ledger import InstrumentSet, Kind, Piece, Strength

if TYPE_CHECKING:
    from patency.ledger import Hold, Ledger


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece of the set.

    Parameters
    ----------
    piece
        Its key within the set.
    type_key
        Its type.
    mark
        What is marked on it; None where nothing is.
    strength
        How sure its identity was in the last count.
    """

    piece: str
    type_key: str
    mark: str | None
    strength: Strength


@dataclass(frozen=True, slots=True)
class StoryLine:
    """One event.

    Parameters
    ----------
    seq
        Its number in the ledger.
    at
        When it happened.
    who
        Who confirmed it; two people with a comma.
    station
        Where.
    words
        What happened.
    why
        The reason that was given; empty where none was.
    """

    seq: int
    at: datetime
    who: str
    station: str
    words: str
    why: str


@dataclass(frozen=True, slots=True)
class SetStory:
    """Everything known about a set.

    Parameters
    ----------
    found
        The set as it is now.
    pieces
        What lies in it.
    holds
        The holds in force on it.
    lines
        What happened, the latest first.
    """

    found: InstrumentSet
    pieces: tuple[PieceLine, ...]
    holds: tuple[Hold, ...]
    lines: tuple[StoryLine, ...]


def set_story_of(ledger: Ledger, key: str) -> SetStory:
    """Tell the whole story of a set.

    Parameters
    ----------
    ledger
        What happened.
    key
        Which set.

    Returns
    -------
    SetStory
        Its pieces, holds and events.

    Raises
    ------
    InputError
        When there is no such set.
    """
    found = ledger.find(InstrumentSet, key)
    if found is None:
        raise InputError(f"set {key}", "is not known", "a set that was enrolled")
    pieces = [_piece(ledger, found, piece) for piece in found.pieces]
    lines = [event_words(event) for event in reversed(ledger.story(Kind.SET, key))]
    return SetStory(found, tuple(pieces), tuple(ledger.holds(Kind.SET, key)), tuple(lines))


def _piece(ledger: Ledger, found: InstrumentSet, key: str) -> PieceLine:
    piece = ledger.find(Piece, key)
    if piece is None:  # pragma: no cover - the ledger holds every piece of its sets
        raise InputError(f"piece {key}", "is not known", "a piece that was enrolled")
    if piece.mark is None:
        strength = Strength.MEMBER
    else:
        strength = Strength.SCANNED if key in found.scanned else Strength.INFERRED
    return PieceLine(key.removeprefix(f"{found.set_key}/"), piece.type_key, piece.mark, strength)


def event_words(event: dict[str, Any]) -> StoryLine:
    """Say what an event of a ledger is about.

    Parameters
    ----------
    event
        As the ledger exports it.

    Returns
    -------
    StoryLine
        The event in words.
    """
    what = event["what"]
    who = event["who"]["person"]
    second = (event.get("second") or {}).get("person")
    return StoryLine(
        seq=event["seq"],
        at=datetime.fromisoformat(event["at"]),
        who=f"{who}, {second}" if second else who,
        station=event["station"],
        words=_words(event["event"], what),
        why=what.get("why") or what.get("reason") or "",
    )


def _words(event: str, what: dict[str, Any]) -> str:
    if event == "set moved":
        into = next((f", {name} {what[name]}" for name in ("load", "case") if what.get(name)), "")
        return f"{what['from_state']} → {what['to']}{into}"
    if event == "piece moved":
        return f"piece {what['piece']} → {what['to']['where']} {what['to']['key']}"
    named = [f"{key.removesuffix('_key')} {what[key]}" for key in _TOLD if what.get(key)]
    return ": ".join([event, ", ".join(named)]) if named else event


_TOLD = ("load", "set_key", "piece", "hold", "override", "machine", "carrier", "programme", "until", "compensation")

"""Counting a set by picture: all there, missing, extra; and where to look for what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from patency.ledger import (
    CountSet,
    InstrumentSet,
    Kind,
    MovePiece,
    MoveSet,
    Piece,
    Place,
    Refused,
    Seen,
    SetState,
    Where,
)
from patency.steps.at_the_bench.showing import ShownPiece, all_seen, show_piece, show_pieces

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.ledger import Circumstances, Command
    from patency.steps.at_the_bench.workplace import Workplace

_NEWEST = 400
_OPEN_ON_THE_SOILED_SIDE = (SetState.RECEIVED, SetState.DISMANTLED, SetState.REWASH, SetState.MISSING_PART)


@dataclass(frozen=True, slots=True)
class CountedType:
    """Equal pieces of a set.

    Parameters
    ----------
    type_key
        Their type.
    words
        What people call them.
    listed
        How many belong to the set.
    pieces
        Those that lie in it as far as the ledger knows.
    """

    type_key: str
    words: str
    listed: int
    pieces: tuple[ShownPiece, ...]


@dataclass(frozen=True, slots=True)
class ToCount:
    """A set that lies open to be counted.

    Parameters
    ----------
    set_key, state
        The set and where it stands.
    types
        Its pieces, equal ones together, in the order of its list.
    missing
        Pieces that an earlier count did not find.
    counted
        Whether it was counted since it came in, and is whole.
    """

    set_key: str
    state: SetState
    types: tuple[CountedType, ...]
    missing: tuple[ShownPiece, ...]
    counted: bool = False


@dataclass(frozen=True, slots=True)
class SearchPlace:
    """A box in which a missing piece may lie.

    Parameters
    ----------
    set_key, state
        The set in that box and where it stands.
    reasons
        Why to look there.
    """

    set_key: str
    state: SetState
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Counted:
    """What a count found.

    Parameters
    ----------
    set_key, state
        The set and where it stands now.
    missing, found
        Pieces that were not there, and pieces that do not belong there.
    search
        For each missing piece where to look, the likeliest box first.
    """

    set_key: str
    state: SetState
    missing: tuple[ShownPiece, ...]
    found: tuple[ShownPiece, ...]
    search: dict[str, tuple[SearchPlace, ...]]

    @property
    def all_there(self) -> bool:
        """Whether nothing is missing and nothing too much."""
        return not self.missing and not self.found


def show_count(workplace: Workplace, set_key: str) -> ToCount | Refused:
    """Show what has to be in a set.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.

    Returns
    -------
    ToCount or Refused
        What is counted.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    shown: dict[str, list[ShownPiece]] = {}
    for piece in show_pieces(workplace, found.pieces):
        shown.setdefault(piece.type_key, []).append(piece)
    types = dict.fromkeys([*found.listed, *shown])
    return ToCount(
        set_key=set_key,
        state=found.state,
        types=tuple(_counted_type(workplace, found, key, shown.get(key, [])) for key in types),
        missing=missing_of(workplace, set_key),
        counted=_counted(found),
    )


def _counted(found: InstrumentSet) -> bool:
    """Tell whether a set was counted, or made whole again, since it came to where it is."""
    return found.moved is not None and (
        found.counted_at > found.moved.seq or found.moved.from_state is SetState.MISSING_PART
    )


def _counted_type(workplace: Workplace, found: InstrumentSet, type_key: str, pieces: list[ShownPiece]) -> CountedType:
    words = pieces[0].words if pieces else words_of_type(workplace, type_key)
    return CountedType(type_key, words, found.listed.get(type_key, 0), tuple(pieces))


def words_of_type(workplace: Workplace, type_key: str) -> str:
    """Say what people call a type of piece.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    type_key
        ``instrument/piece``.

    Returns
    -------
    str
        The piece and its instrument; the key where the type is not known.
    """
    instrument, _, piece = type_key.partition("/")
    known = workplace.department.instruments.get(instrument)
    if known is None or piece not in known.pieces:
        return type_key
    name = known.pieces[piece].name
    return known.name if len(known.pieces) == 1 or name == known.name else f"{name} – {known.name}"


def missing_of(workplace: Workplace, set_key: str) -> tuple[ShownPiece, ...]:
    """List the pieces that a count did not find in a set.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.

    Returns
    -------
    tuple[ShownPiece, ...]
        In order of their keys.
    """
    return tuple(
        show_piece(workplace, piece)
        for piece in workplace.ledger.all_of(Piece)
        if piece.place == Place(where=Where.MISSING, key=set_key)
    )


def count_pieces(
    workplace: Workplace, set_key: str, seen: Mapping[str, Seen], around: Circumstances
) -> Counted | Refused:
    """Write a count down and say what follows.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    seen
        The pieces that were seen in its box, each with how.
    around
        Who, when, where, under which key.

    Returns
    -------
    Counted or Refused
        What is missing or too much; a set with a missing piece is stopped.
    """
    before = workplace.set_of(set_key)
    if isinstance(before, Refused):
        return before
    refused = workplace.write(around, [CountSet(set_key=set_key, seen=dict(seen))])
    if refused:
        return refused
    now = workplace.set_of(set_key)
    if isinstance(now, Refused):  # pragma: no cover - it was there a moment ago
        return now
    missing = missing_of(workplace, set_key)
    return Counted(
        set_key=set_key,
        state=now.state,
        missing=missing,
        found=show_pieces(workplace, sorted(set(seen) - set(before.pieces))),
        search={piece.key: search_for(workplace, piece.key) for piece in missing},
    )


def search_for(workplace: Workplace, piece_key: str) -> tuple[SearchPlace, ...]:
    """Say in which open boxes a missing piece may lie; one that is held stays shut.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    piece_key
        The piece.

    Returns
    -------
    tuple[SearchPlace, ...]
        Boxes with equal pieces first, those used at about the same time before others (common practice).
    """
    piece = workplace.ledger.find(Piece, piece_key)
    if piece is None:
        return ()
    own = piece.place.key
    used = _used_at(workplace, own)
    places = []
    for other in workplace.ledger.all_of(InstrumentSet):
        shut = other.state not in _OPEN_ON_THE_SOILED_SIDE or workplace.ledger.holds(Kind.SET, other.set_key)
        if other.set_key == own or shut:
            continue
        alike = other.listed.get(piece.type_key, 0)
        then = _used_at(workplace, other.set_key)
        apart = abs((used - then).total_seconds()) if used and then else float("inf")
        reasons = [f"has {alike} of these too"] if alike else ["is open here"]
        if used and then:
            reasons.append(f"used {apart / 60:.0f} min {'before' if then < used else 'after'} it")
        places.append((not alike, apart, SearchPlace(other.set_key, other.state, tuple(reasons))))
    return tuple(place for _, _, place in sorted(places, key=lambda one: (one[0], one[1], one[2].set_key)))


def _used_at(workplace: Workplace, set_key: str) -> datetime | None:
    used = [
        event["at"]
        for event in workplace.ledger.story("set", set_key, _NEWEST)
        if event["event"] == "set moved" and event["what"]["to"] == SetState.USED
    ]
    return datetime.fromisoformat(used[-1]) if used else None


def owners_of_extra(workplace: Workplace, type_key: str) -> tuple[tuple[ShownPiece, str], ...]:
    """Say whose a piece can be that was found in a box and carries no mark.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    type_key
        Its type.

    Returns
    -------
    tuple
        Each missing piece of the type with the set that misses it; which one it is nobody can know.
    """
    return tuple(
        (show_piece(workplace, piece), piece.place.key)
        for piece in workplace.ledger.all_of(Piece)
        if piece.type_key == type_key and piece.place.where is Where.MISSING
    )


def missed_elsewhere(workplace: Workplace, set_key: str) -> tuple[tuple[ShownPiece, str], ...]:
    """Say what other sets miss, for a part that lies in a set's box and does not belong there.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set whose box it is.

    Returns
    -------
    tuple
        Each missing piece with the set that misses it.
    """
    return tuple(
        (show_piece(workplace, piece), piece.place.key)
        for piece in workplace.ledger.all_of(Piece)
        if piece.place.where is Where.MISSING and piece.place.key != set_key
    )


def found_in_box(
    workplace: Workplace, piece_key: str, other_set: str, how: Seen, around: Circumstances
) -> Counted | Refused:
    """Write down that a missing piece lay in another set's box, put it back into its own set and let that one go on.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    piece_key
        The piece that was missing.
    other_set
        The set in whose box it lay; its own pieces were all seen there.
    how
        Whether its mark was read.
    around
        Who, when, where, under which key.

    Returns
    -------
    Counted or Refused
        The piece's own set. A trace follows the piece in both.
    """
    piece, other = workplace.ledger.find(Piece, piece_key), workplace.set_of(other_set)
    if isinstance(other, Refused):
        return other
    if piece is None:
        return Refused.because(f"piece {piece_key}", "is not known", "a piece that was enrolled")
    if not workplace.did(around):
        if piece.place.where is not Where.MISSING:
            return Refused.because(f"piece {piece_key}", "is not missing", "a piece that a count did not find")
        refused = _put_back(workplace, piece, other, how, around)
        if refused:
            return refused
    again = workplace.ledger.find(Piece, piece_key)
    own = workplace.set_of(again.place.key if again else "")
    if isinstance(own, Refused):  # pragma: no cover - the piece lies in a set now
        return own
    return Counted(own.set_key, own.state, missing_of(workplace, own.set_key), (), {})


def _put_back(
    workplace: Workplace, piece: Piece, other: InstrumentSet, how: Seen, around: Circumstances
) -> Refused | None:
    own = workplace.set_of(piece.place.key)
    if isinstance(own, Refused):  # pragma: no cover - it is missing from a known set
        return own
    read = how is Seen.SCANNED
    commands: list[Command] = [
        CountSet(set_key=other.set_key, seen={**all_seen(other), piece.piece: how}),
        MovePiece(
            piece=piece.piece,
            from_place=Place(where=Where.SET, key=other.set_key),
            to=Place(where=Where.SET, key=own.set_key),
            scanned=read,
            why=f"lay in the box of {other.set_key}",
        ),
    ]
    missing = {one.key for one in missing_of(workplace, own.set_key)} - {piece.piece}
    if not missing and own.state is SetState.MISSING_PART and own.came_from is not None:
        seen = {**all_seen(own), piece.piece: how}
        commands.append(MoveSet(set_key=own.set_key, to=own.came_from, seen=seen))
    return workplace.write(around, commands)

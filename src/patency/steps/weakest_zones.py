"""Which pieces of a load jets strike least, with the zones that lie in shadow: where the clean side looks first."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from patency.ledger import Refused
from patency.load import pieces_of_set
from patency.reach import shadow_words, shadowed_zones
from patency.steps.reach_showing import helping_change

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import Change, LoadReach
    from patency.steps.at_the_bench.workplace import Workplace
    from patency.steps.reach_trying import KeptReach

_LOOK_FIRST = 5


class WeakestPiece(NamedTuple):
    """A piece of which jets strike little.

    Parameters
    ----------
    key
        Set and piece.
    words
        What people call it.
    share
        Share of its surface that jets strike directly.
    zone
        The zone with the largest area in shadow, with how much of it is struck and what shadows it.
    """

    key: tuple[str, str]
    words: str
    share: float
    zone: str


def weakest_zones(department: Department, load: Load, found: LoadReach, count: int) -> list[WeakestPiece]:
    """List the pieces of a load that jets strike least and that have a zone in shadow.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of it.
    count
        How many at most.

    Returns
    -------
    list[WeakestPiece]
        The least struck first; pieces alike in the same set stand once. Pieces of which something is not known that
        had to be are not among them.
    """
    if found.strikes is None:
        return []
    words = words_of_pieces(department, load)
    known = {key: one for key, one in found.strikes.pieces.items() if not found.gaps(key)}
    weakest: dict[tuple[str, str], WeakestPiece] = {}
    for key in sorted(known, key=lambda key: (known[key].struck_share, key)):
        zones = shadowed_zones(known[key])
        if zones:
            one = WeakestPiece(key, words[key], known[key].struck_share, shadow_words(zones[0]))
            weakest.setdefault((key[0], words[key]), one)
    return list(weakest.values())[:count]


def words_of_pieces(department: Department, load: Load) -> dict[tuple[str, str], str]:
    """Return what people call the pieces of a load.

    Parameters
    ----------
    department
        The department.
    load
        The load.

    Returns
    -------
    dict[tuple[str, str], str]
        Set and piece to its words.
    """
    return {(one.set, one.key): one.words for name in load.sets for one in pieces_of_set(department, name)}


def unknown_pieces(load: Load, found: LoadReach) -> list[tuple[str, str]]:
    """List the pieces of a load of which nobody knows what jets strike.

    Parameters
    ----------
    load
        The load.
    found
        What was computed of it.

    Returns
    -------
    list[tuple[str, str]]
        Set and piece of those that are not drawn or of which something is not stated that had to be.
    """
    strikes = {} if found.strikes is None else found.strikes.pieces
    keys = [(one.set, one.piece) for one in load.pieces]
    return [key for key in keys if key not in strikes or found.gaps(key)]


class Shadows(NamedTuple):
    """What lies in shadow on one piece.

    Parameters
    ----------
    zones
        Each with how much of it is struck and what shadows it; the one with the largest area in shadow first.
    change
        The smallest change that would help, where jets strike less of the piece than the site asks for.
    """

    zones: tuple[str, ...] = ()
    change: Change | None = None


def shadows_of_piece(
    department: Department, load: Load, found: LoadReach, key: tuple[str, str], *, moved: bool
) -> Shadows:
    """Say which zones of a piece lie in shadow, and what would help.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of it.
    key
        Set and piece.
    moved
        Whether the piece stands otherwise than planned: what would help is asked only where it is planned.

    Returns
    -------
    Shadows
        Nothing where something is not known that had to be.
    """
    if found.strikes is None or found.gaps(key):
        return Shadows()
    zones = tuple(shadow_words(zone) for zone in shadowed_zones(found.strikes.pieces[key]))
    return Shadows(zones, None if moved else helping_change(department, load, found, key))


class LeastStruck(NamedTuple):
    """What is known of the pieces of a load that jets strike least.

    Parameters
    ----------
    computed
        Whether it was computed yet.
    pieces
        The least struck first.
    unknown
        Of how many pieces something is not known that had to be; any of them may be struck less.
    """

    computed: bool
    pieces: tuple[WeakestPiece, ...] = ()
    unknown: int = 0


def least_struck(workplace: Workplace, kept: KeptReach, load_id: str) -> LeastStruck | None:
    """Show the pieces of a load that jets strike least, as far as it was computed: nobody waits for it here.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    kept
        What was computed of the loads as planned.
    load_id
        The load.

    Returns
    -------
    LeastStruck or None
        None for a load that is in no plan of today, as one of a sterilizer.
    """
    load = workplace.load(load_id)
    if isinstance(load, Refused):
        return None
    found = kept.known(load)
    if found is None:
        return LeastStruck(computed=False)
    unknown = unknown_pieces(load, found)
    weakest = weakest_zones(workplace.department, load, found, _LOOK_FIRST)
    return LeastStruck(computed=True, pieces=tuple(weakest), unknown=len(unknown))

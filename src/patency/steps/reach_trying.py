"""What if: pieces of a load stand elsewhere or are turned, and what the jets strike is computed anew."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.flow import flow_of_load
from patency.reach import after_move, struck_share
from patency.steps.reach_moves import moved_pose
from patency.steps.reach_showing import load_reach

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import LoadReach, Triangles
    from patency.steps.reach_moves import Move

_MOST_KEPT = 8  # a load as computed takes some hundred megabytes at worst
_NOTICED = 0.005  # a change of less than half a percentage point is not worth a line


@dataclass(frozen=True, slots=True)
class KeptReach:
    """What was computed of the loads of a department, so that each is computed once.

    Parameters
    ----------
    meshes
        Name of a mesh file to its triangles in metres.
    """

    meshes: Mapping[str, Triangles]
    _found: OrderedDict[tuple[str, tuple[Move, ...]], LoadReach] = field(default_factory=OrderedDict)
    _one_at_a_time: threading.Lock = field(default_factory=threading.Lock)

    def known(self, load: Load) -> LoadReach | None:
        """Return what the jets strike of a load as planned where it was computed, at once even while others compute.

        Parameters
        ----------
        load
            The load as planned.

        Returns
        -------
        LoadReach or None
            None where it was not computed yet.
        """
        return self._found.get((load.id, ()))

    def of(self, department: Department, load: Load, moves: tuple[Move, ...] = ()) -> LoadReach:
        """Return what the jets strike of a load with some pieces moved.

        Parameters
        ----------
        department
            The department.
        load
            The load as planned.
        moves
            What was moved, one after the other; all but the last may have been asked for before.

        Returns
        -------
        LoadReach
            Of the load so.

        Raises
        ------
        InputError
            When a move names no piece of the load.
        PhysicsError
            When the pump is driven beyond its run-out.
        """
        with self._one_at_a_time:
            return self._of(department, load, moves)

    def _of(self, department: Department, load: Load, moves: tuple[Move, ...]) -> LoadReach:
        key = (load.id, moves)
        if key in self._found:
            self._found.move_to_end(key)
        else:
            found = self._moved(department, load, moves) if moves else self._planned(department, load)
            while len(self._found) >= _MOST_KEPT:
                # As planned takes far longer than a move: those go last.
                del self._found[next((old for old in self._found if old[1]), next(iter(self._found)))]
            self._found[key] = found
        return self._found[key]

    def _planned(self, department: Department, load: Load) -> LoadReach:
        return load_reach(department, load, flow_of_load(department, load), self.meshes)

    def _moved(self, department: Department, load: Load, moves: tuple[Move, ...]) -> LoadReach:
        planned = self._of(department, load, ())
        last = moves[-1]
        if last.body not in planned.arranged.number_of.values():
            raise InputError(f"body {last.body}", "is no piece that is drawn", "the number of a piece of the load")
        solid = planned.arranged.solids[last.body]
        before = self._of(department, load, moves[:-1])
        return after_move(department, load, before, solid.piece or ("", ""), moved_pose(solid, last))


@dataclass(frozen=True, slots=True)
class TriedPiece:
    """A piece of a load in which pieces were moved.

    Parameters
    ----------
    body
        Number of its body.
    words, set_key, at
        What it is called, of which set, where it stands as planned.
    share, share_before
        Share of its surface that jets strike directly, here and as planned; None where that is not known.
    moved
        Whether it was moved.
    faults
        Rule and words of what it breaks here.
    new_faults
        Those of them that it did not break as planned.
    gaps
        What is not known of it, in words.
    """

    body: int
    words: str
    set_key: str
    at: str
    share: float | None
    share_before: float | None
    moved: bool
    faults: tuple[tuple[str, str], ...]
    new_faults: tuple[tuple[str, str], ...]
    gaps: tuple[str, ...]

    @property
    def changed(self) -> bool:
        """Whether more or less of it is struck than as planned, by what is worth a line."""
        known = self.share is not None and self.share_before is not None
        return known and abs((self.share or 0.0) - (self.share_before or 0.0)) >= _NOTICED


def tried_pieces(planned: LoadReach, found: LoadReach, moves: Sequence[Move]) -> list[TriedPiece]:
    """Say of every piece of a load what jets strike of it, as planned and as it was changed.

    Parameters
    ----------
    planned
        The load as planned.
    found
        The load as it was changed.
    moves
        What was moved.

    Returns
    -------
    list[TriedPiece]
        Every piece that is drawn, in the order of its set and name.
    """
    moved = {one.body for one in moves}
    before = [(fault.piece, fault.rule.value, fault.words) for fault in planned.faults]
    pieces = []
    for key, body in found.arranged.number_of.items():
        solid = found.arranged.solids[body]
        faults = [(fault.rule.value, fault.words) for fault in found.faults if fault.piece == key]
        new = [one for one in faults if (key, *one) not in before]
        shares = (_share(found, key), _share(planned, key))
        about = (body, solid.words, key[0], solid.stands_on)
        pieces.append(TriedPiece(*about, *shares, body in moved, tuple(faults), tuple(new), found.gaps(key)))
    return sorted(pieces, key=lambda one: (one.set_key, one.words, one.body))


def _share(found: LoadReach, key: tuple[str, str]) -> float | None:
    known = found.strikes is not None and not found.gaps(key)
    return struck_share(found.strikes.pieces[key]) if known and found.strikes is not None else None

"""What if: pieces of a load stand elsewhere or are turned, and what the jets strike is computed anew."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.flow import flow_of_load
from patency.reach import after_move, held_bytes, without_samples
from patency.steps.reach_moves import Move, moved_pose
from patency.steps.reach_showing import load_reach

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach import LoadReach, Triangles

_MOST_BYTES = 1_000_000_000  # a full load as computed takes 0.3 GB, each piece moved in it some hundredths of that
_NOTICED = 0.005  # a change of less than half a percentage point is not worth a line


@dataclass(frozen=True, slots=True)
class KeptReach:
    """What was computed of the loads of a department, so that each is computed once.

    Parameters
    ----------
    meshes
        Name of a mesh file to its triangles in metres.
    most_bytes
        How much of them is kept at most; what was asked for last is kept in any case, and that load as planned.
    """

    meshes: Mapping[str, Triangles]
    most_bytes: int = _MOST_BYTES
    _found: OrderedDict[tuple[str, tuple[Move, ...]], LoadReach] = field(default_factory=OrderedDict)
    _read: dict[str, LoadReach] = field(default_factory=dict)
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
            To be read only: nothing can be moved in it. None where it was not computed yet.
        """
        return self._found.get((load.id, ())) or self._read.get(load.id)

    def of(self, department: Department, load: Load, moves: tuple[Move, ...] = ()) -> LoadReach:
        """Return what the jets strike of a load with some pieces moved.

        Parameters
        ----------
        department
            The department.
        load
            The load as planned.
        moves
            What was moved, each piece once.

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
            planned = self._of(load.id, (), lambda: self._planned(department, load))
            wanted = tuple(sorted(moves))
            return self._of(load.id, wanted, lambda: self._moved(department, load, planned, wanted))

    def read_ahead(self, department: Department, load: Load) -> None:
        """Compute what the jets strike of a load as planned before anybody asks, and keep of it what can be read.

        Parameters
        ----------
        department
            The department.
        load
            The load as planned.

        Raises
        ------
        PhysicsError
            When the pump is driven beyond its run-out.
        """
        with self._one_at_a_time:
            if self.known(load) is None:
                self._read[load.id] = without_samples(self._planned(department, load))

    def _of(self, load: str, moves: tuple[Move, ...], compute: Callable[[], LoadReach]) -> LoadReach:
        key = (load, moves)
        if key not in self._found:
            self._found[key] = compute()
            # As planned takes far longer than a move: those go last.
            others = [one for one in self._found if one not in (key, (load, ()))]
            for old in sorted(others, key=lambda one: not one[1]):
                if held_bytes(self._found.values()) <= self.most_bytes:
                    break
                gone = self._found.pop(old)
                if not old[1]:
                    self._read[old[0]] = without_samples(gone)
        self._found.move_to_end(key)
        return self._found[key]

    def _planned(self, department: Department, load: Load) -> LoadReach:
        return load_reach(department, load, flow_of_load(department, load), self.meshes)

    def _moved(self, department: Department, load: Load, planned: LoadReach, wanted: tuple[Move, ...]) -> LoadReach:
        """Go on from what is kept that differs in the fewest pieces, of these from that with the fewest moved."""
        pieces = {number: key for key, number in planned.arranged.number_of.items()}
        for one in wanted:
            if one.body not in pieces:
                raise InputError(f"body {one.body}", "is no piece that is drawn", "the number of a piece of the load")
        kept = {moves: found for (name, moves), found in self._found.items() if name == load.id}
        nearest = min(kept, key=lambda moves: (len(_in_one_only(moves, wanted)), len(moves)))
        found, places = kept[nearest], {one.body: one for one in wanted}
        for body in _in_one_only(nearest, wanted):
            solid = planned.arranged.solids[body]
            pose = moved_pose(solid, places[body]) if body in places else solid.pose
            found = after_move(department, load, found, pieces[body], pose)
        return found


def _in_one_only(moves: tuple[Move, ...], others: tuple[Move, ...]) -> list[int]:
    """Return the bodies that do not stand alike after some moves and after others."""
    return sorted({one.body for one in {*moves} ^ {*others}})


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
    before = {(fault.piece, fault.rule.value, fault.words) for fault in planned.faults}
    broken: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for fault in found.faults:
        broken.setdefault(fault.piece, []).append((fault.rule.value, fault.words))
    pieces = []
    for key, body in found.arranged.number_of.items():
        solid = found.arranged.solids[body]
        faults = broken.get(key, [])
        new = [one for one in faults if (key, *one) not in before]
        shares = (_share(found, key), _share(planned, key))
        about = (body, solid.words, key[0], solid.stands_on)
        pieces.append(TriedPiece(*about, *shares, body in moved, tuple(faults), tuple(new), found.gaps(key)))
    return sorted(pieces, key=lambda one: (one.set_key, one.words, one.body))


def _share(found: LoadReach, key: tuple[str, str]) -> float | None:
    known = found.strikes is not None and not found.gaps(key)
    return found.strikes.pieces[key].struck_share if known and found.strikes is not None else None

"""A piece somewhere else: what the jets would strike of it there, and what it would run into."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.reach.checks import faults_after_move, faults_of_piece
from patency.reach.faults import Fault, Rule
from patency.reach.jets.strikes import splashed_anew, strikes_after_move, struck_of_one
from patency.reach.moving import moved_by_jets
from patency.reach.solids.load_solids import solids_of_load

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department
    from patency.load import Load, PlacedPiece
    from patency.reach.load_reach import LoadReach
    from patency.reach.solids.load_solids import Triangles
    from patency.reach.solids.placed import Arranged, PieceKey, PlacedSolid, Pose


class PlacedReach(NamedTuple):
    """What can be said of one piece somewhere else.

    Parameters
    ----------
    struck_share
        Share of its surface that jets would strike directly, what a flushing sleeve rinses left out of both parts;
        None where something is not known that had to be.
    faults
        What it would break there.
    """

    struck_share: float | None
    faults: tuple[Fault, ...]


def placing_reach(
    department: Department,
    load: Load,
    found: LoadReach,
    placed: PlacedPiece,
    meshes: Mapping[str, Triangles] | None = None,
    most_faults: int | None = None,
) -> PlacedReach:
    """Tell how much of a piece would be struck if the load placed it otherwise, and whether it would collide there.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of it as arranged.
    placed
        The piece as it could be placed: another position, way up, lean, net.
    meshes
        Name of a mesh file to its triangles in metres.
    most_faults
        With how many faults the place still counts: with more the share is not asked for; None for any number.

    Returns
    -------
    PlacedReach
        Of this piece alone, the others as they then lie. No share where it could not be drawn there.

    Raises
    ------
    KeyError
        When the load or ``placed`` names something the department does not have.
    """
    key = (placed.set, placed.piece)
    pieces = tuple(placed if (one.set, one.piece) == key else one for one in load.pieces)
    other = load.model_copy(update={"pieces": pieces})
    arranged = _as_it_was(solids_of_load(department, other, meshes), found.arranged)
    if key not in arranged.number_of:
        return PlacedReach(None, ())
    return _asked(department, load, (found, arranged), key, most_faults)


def posed_reach(
    department: Department, load: Load, found: LoadReach, piece: PieceKey, pose: Pose, most_faults: int | None = None
) -> PlacedReach:
    """Tell how much of a piece would be struck in another pose, and whether it would collide there.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of it as arranged.
    piece
        The piece.
    pose
        Where it would lie or stand; what it is connected to stays.
    most_faults
        As of ``placing_reach``.

    Returns
    -------
    PlacedReach
        Of this piece alone.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    """
    return _asked(department, load, (found, found.arranged.with_pose(piece, pose)), piece, most_faults)


def _asked(
    department: Department,
    load: Load,
    arrangement: tuple[LoadReach, Arranged],
    key: PieceKey,
    most_faults: int | None,
) -> PlacedReach:
    found, arranged = arrangement
    kind = department.machine_kinds[load.machine_kind]
    faults = faults_of_piece(arranged, arranged.number_of[key], kind, department.limits.load)
    too_many = most_faults is not None and len(faults) > most_faults
    if found.strikes is None or arranged.gaps.get(key) or too_many:
        return PlacedReach(None, tuple(faults))
    return PlacedReach(struck_of_one(found.strikes, arranged, key), tuple(faults))


def stated_anew(
    department: Department, load: Load, found: LoadReach, meshes: Mapping[str, Triangles] | None = None
) -> LoadReach:
    """Put what a load states now into what was computed of it move by move.

    Parameters
    ----------
    department
        The department.
    load
        The load, with the places its pieces were moved to.
    found
        What was computed of it with ``after_move``.
    meshes
        Name of a mesh file to its triangles in metres.

    Returns
    -------
    LoadReach
        The same as of the load computed anew, but for the order of its faults. No piece can be moved in it: walls are
        drawn anew, and samples know what comes through those that were there.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    arranged = _as_it_was(solids_of_load(department, load, meshes), found.arranged)
    strikes = found.strikes and splashed_anew(replace(found.strikes, arranged=arranged)).without_samples()
    return replace(found, arranged=arranged, strikes=strikes)


def _as_it_was(arranged: Arranged, before: Arranged) -> Arranged:
    """Put the very bodies of a load as it was in place of those drawn anew that equal them: all is known of them."""
    known = {_name(one): one for one in before.solids}
    drawn = [(one, known.get(_name(one))) for one in arranged.solids]
    solids = tuple(was if was is not None and _equal(one, was) else one for one, was in drawn)
    return replace(arranged, solids=solids)


def _name(one: PlacedSolid) -> tuple[object, ...]:
    return one.role, one.words, one.piece, one.stands_on, one.mesh.vertices[0].tobytes()


def _equal(one: PlacedSolid, other: PlacedSolid) -> bool:
    mine, its = one.mesh, other.mesh
    same = mine is its or (np.array_equal(mine.vertices, its.vertices) and np.array_equal(mine.faces, its.faces))
    return same and all(np.array_equal(*pair) for pair in zip(one.pose, other.pose, strict=True))


def after_move(department: Department, load: Load, found: LoadReach, piece: PieceKey, pose: Pose) -> LoadReach:
    """Compute a load anew after one piece was moved; only what that can change.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of it before.
    piece
        The piece that moves.
    pose
        Where it goes; what it was connected to stays.

    Returns
    -------
    LoadReach
        Strikes and faults with the piece there.

    Raises
    ------
    KeyError
        When there is no such piece, or it could not be drawn.
    """
    strikes = None if found.strikes is None else strikes_after_move(found.strikes, piece, pose)
    arranged = found.arranged.with_pose(piece, pose) if strikes is None else strikes.arranged
    kind = department.machine_kinds[load.machine_kind]
    before = [one for one in found.faults if one.rule is not Rule.MOVED]
    both, number = (found.arranged, arranged), arranged.number_of[piece]
    scene = None if strikes is None else strikes.scene
    faults = faults_after_move(before, both, number, kind, department.limits.load, scene)
    faults += moved_by_jets(load, strikes, department.limits.load)
    return replace(found, arranged=arranged, strikes=strikes, faults=tuple(faults))

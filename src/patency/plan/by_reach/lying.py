"""Other places for one piece on the floor of its basket or pod, and what the load would gain and lose by them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from patency.load import pieces_of_set
from patency.reach import (
    after_move,
    floor_of,
    free_places,
    laid_closer,
    pose_there,
    posed_reach,
    solids_of_load,
    stated_as_drawn,
    without_room,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department
    from patency.load import Load, OnFloor, PlacedPiece
    from patency.plan.time_limit import TimeLimit
    from patency.reach import LoadReach, Pose, Triangles

_PLACES = 8  # of a floor that are tried for a piece; each takes about a tenth of a second


class Place(NamedTuple):
    """Another place for a piece on its floor.

    Parameters
    ----------
    lies
        Where it would lie.
    pose
        The same as a pose.
    broken
        How many rules it would break there.
    struck_share
        Share of its surface that jets would strike; None where that is not known.
    """

    lies: OnFloor
    pose: Pose
    broken: int
    struck_share: float | None


@dataclass(frozen=True, slots=True)
class Floors:
    """The floors of baskets and pods of one department's loads.

    Parameters
    ----------
    department
        The department, with the limits that hold on the day.
    meshes
        Name of a mesh file to its triangles in metres.
    limit
        When the search for other places has to end.
    """

    department: Department
    meshes: Mapping[str, Triangles] | None
    limit: TimeLimit

    def with_room(self, load: Load) -> tuple[Load, list[str]]:
        """Lay baskets closer in which not everything finds room side by side.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        tuple[Load, list[str]]
            The load with the places stated in these baskets, and what was done.
        """
        told = []
        lost = without_room(solids_of_load(self.department, load, self.meshes))
        left: dict[str, list[str]] = {}
        for one in load.pieces:
            if (one.set, one.piece) in lost and (area := _area(one)) is not None:
                left.setdefault(area, []).append(self.words(one))
        for area, words in left.items():
            closer = laid_closer(self.department, load, area, self.meshes)
            if closer is not None:
                load = closer
                told.append(f"{area} is laid closer, so that these find room as well: {', '.join(words)}")
        return load, told

    def places(self, load: Load, found: LoadReach, placed: PlacedPiece, most_broken: int) -> list[Place]:
        """List other places for a piece on its floor.

        Parameters
        ----------
        load
            The load.
        found
            What was computed of it.
        placed
            The piece.
        most_broken
            How many rules it may break there.

        Returns
        -------
        list[Place]
            Those where it breaks no more, what jets strike most of first; fewer where the time is over.
        """
        asked = []
        for lies in free_places(found.arranged, placed, _PLACES):
            if self.limit.left_s <= 0:
                break
            pose = pose_there(found.arranged, placed, lies)
            seen = posed_reach(self.department, load, found, (placed.set, placed.piece), pose, most_broken)
            if len(seen.faults) <= most_broken:
                asked.append(Place(lies, pose, len(seen.faults), seen.struck_share))
        return sorted(asked, key=lambda one: (one.broken, -(one.struck_share or 0.0)))

    def moved(self, load: Load, found: LoadReach, placed: PlacedPiece, place: Place) -> tuple[Load, LoadReach]:
        """Lay a piece elsewhere on its floor; everything else on it stays where it lies, and from now on states so.

        Parameters
        ----------
        load
            The load.
        found
            What was computed of it.
        placed
            The piece.
        place
            Where it goes.

        Returns
        -------
        tuple[Load, LoadReach]
            The load, and what geometry and jets say of it.
        """
        key = (placed.set, placed.piece)
        stated = stated_as_drawn(load, found.arranged, floor_of(placed) or "")
        pieces = tuple(
            one.model_copy(update={"lies": place.lies}) if (one.set, one.piece) == key else one for one in stated.pieces
        )
        other = stated.model_copy(update={"pieces": pieces})
        return other, after_move(self.department, other, found, key, place.pose)

    def words(self, placed: PlacedPiece) -> str:
        """Say which piece it is.

        Parameters
        ----------
        placed
            The piece.

        Returns
        -------
        str
            What people call it, with its set.
        """
        pieces = pieces_of_set(self.department, placed.set)
        return f"{next(one.words for one in pieces if one.key == placed.piece)} ({placed.set})"


def where_words(placed: PlacedPiece, lies: OnFloor) -> str:
    """Say where on its floor a piece lies.

    Parameters
    ----------
    placed
        The piece.
    lies
        Where it lies.

    Returns
    -------
    str
        Such as ``in B2 150 mm from the left and 326 mm from the front, distal end to the front``.
    """
    across, back = (f"{1000 * one:.0f} mm" for one in (lies.from_left_m, lies.from_front_m))
    return f"in {floor_of(placed)} {across} from the left and {back} from the front, distal end to the {lies.points}"


def _area(placed: PlacedPiece) -> str | None:
    """Name the basket area in which a piece, or its pod, lies."""
    return placed.stands_in or floor_of(placed)

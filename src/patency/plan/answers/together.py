"""The answer to **together**: whether a set is whole in the load, its small parts in its own pod."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.load import Figure, Question, Reply, pieces_of_set
from patency.quantities import Answer, Limit

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.load import Load, PlacedPiece


def together(department: Department, load: Load, placed: PlacedPiece) -> Reply:
    """Answer for one piece whether its set is together.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    placed
        The piece.

    Returns
    -------
    Reply
        ``no`` when a piece of the set is missing, too many or twice in this load, or when the piece is a small part
        in a pod of another set.
    """
    expected = {piece.key for piece in pieces_of_set(department, placed.set)}
    here = Counter(other.piece for other in load.pieces if other.set == placed.set)
    whole = Limit(float(len(expected)), "1", "the set's list")
    figures = (Figure("pieces of the set in this load", float(sum(here.values())), "1", limit=whole),)
    faults = [f"{key} is missing" for key in sorted(expected - here.keys())]
    faults += [f"{key} does not belong to the set" for key in sorted(here.keys() - expected)]
    faults += [f"{key} is there {number} times" for key, number in sorted(here.items()) if number > 1]
    if placed.placing is Placing.POD and placed.position != placed.set:
        faults.append(f"it lies in the pod of {placed.position}")
    if faults:
        return Reply(Question.TOGETHER, Answer.NO, "; ".join(faults), figures)
    return Reply(Question.TOGETHER, Answer.YES, f"all {len(expected)} pieces of {placed.set} are in this load", figures)

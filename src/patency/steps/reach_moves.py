"""How pieces of a load stand otherwise than planned: by buttons, by dragging, and as words in an address."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.errors import InputError
from patency.reach import Pose, rotated_in_place

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from patency.reach import PlacedSolid

    Floats = NDArray[np.float64]

_STEP_MM, _STEP_DEG = 10.0, 15.0
_FARTHEST_MM = 1000.0
_MOST_MOVED = 20


class Move(NamedTuple):
    """How one piece stands otherwise than planned, about the middle of the room it takes.

    Parameters
    ----------
    body
        Number of its body in the load as planned.
    across_mm, back_mm, up_mm
        How far it is moved to the right, to the back, up [mm].
    turned_deg, tipped_deg, rolled_deg
        How far it is turned about the vertical, about the line from left to right, and before both about its own axis.
    """

    body: int
    across_mm: float = 0.0
    back_mm: float = 0.0
    up_mm: float = 0.0
    turned_deg: float = 0.0
    tipped_deg: float = 0.0
    rolled_deg: float = 0.0


class Nudge(StrEnum):
    """One push of a button: ten millimetres, or fifteen degrees."""

    LEFT = "to the left"
    RIGHT = "to the right"
    FRONT = "to the front"
    BACK = "to the back"
    UP = "up"
    DOWN = "down"
    TURN_LEFT = "turn left"
    TURN_RIGHT = "turn right"
    TIP_BACK = "tip back"
    TIP_FRONT = "tip front"
    ROLL_LEFT = "roll left"
    ROLL_RIGHT = "roll right"
    AS_PLANNED = "as planned"


_NUDGES: Mapping[Nudge, tuple[str, float]] = {
    Nudge.LEFT: ("across_mm", -_STEP_MM),
    Nudge.RIGHT: ("across_mm", _STEP_MM),
    Nudge.FRONT: ("back_mm", -_STEP_MM),
    Nudge.BACK: ("back_mm", _STEP_MM),
    Nudge.UP: ("up_mm", _STEP_MM),
    Nudge.DOWN: ("up_mm", -_STEP_MM),
    Nudge.TURN_LEFT: ("turned_deg", _STEP_DEG),
    Nudge.TURN_RIGHT: ("turned_deg", -_STEP_DEG),
    Nudge.TIP_BACK: ("tipped_deg", -_STEP_DEG),
    Nudge.TIP_FRONT: ("tipped_deg", _STEP_DEG),
    Nudge.ROLL_LEFT: ("rolled_deg", -_STEP_DEG),
    Nudge.ROLL_RIGHT: ("rolled_deg", _STEP_DEG),
}


def with_nudge(moves: tuple[Move, ...], body: int, nudge: Nudge) -> tuple[Move, ...]:
    """Move one piece by one push of a button from where it stands.

    Parameters
    ----------
    moves
        What was moved before.
    body
        Number of the piece's body.
    nudge
        The push of a button.

    Returns
    -------
    tuple[Move, ...]
        The piece last; without it where it stands as planned again.
    """
    if nudge is Nudge.AS_PLANNED:
        return tuple(one for one in moves if one.body != body)
    name, by = _NUDGES[nudge]
    now = next((one for one in moves if one.body == body), Move(body))
    return _with(moves, now._replace(**{name: getattr(now, name) + by}))


def with_shift(moves: tuple[Move, ...], body: int, shift_mm: Sequence[float]) -> tuple[Move, ...]:
    """Shift one piece from where it stands.

    Parameters
    ----------
    moves
        What was moved before.
    body
        Number of the piece's body.
    shift_mm
        [3] to the right, to the back, up [mm].

    Returns
    -------
    tuple[Move, ...]
        The piece last, in whole millimetres.
    """
    now = next((one for one in moves if one.body == body), Move(body))
    across, back, up = (float(round(was + by)) for was, by in zip(now[1:4], shift_mm, strict=True))
    return _with(moves, now._replace(across_mm=across, back_mm=back, up_mm=up))


def _with(moves: tuple[Move, ...], move: Move) -> tuple[Move, ...]:
    """Put a move last; one that leads nowhere or farther than any chamber is wide is held at its bounds."""
    shifts = [min(max(one, -_FARTHEST_MM), _FARTHEST_MM) for one in move[1:4]]
    turns = [(one + 180.0) % 360.0 - 180.0 for one in move[4:]]
    kept = Move(move.body, *shifts, *turns)
    others = tuple(one for one in moves if one.body != move.body)
    return (*others, kept) if any(kept[1:]) else others


def read_moves(words: Sequence[str]) -> tuple[Move, ...]:
    """Read moves as they stand in an address.

    Parameters
    ----------
    words
        Each ``body:across,back,up,turned,tipped,rolled``, in millimetres and degrees.

    Returns
    -------
    tuple[Move, ...]
        The moves.

    Raises
    ------
    InputError
        When one is no such thing, or there are more than twenty.
    """
    moves: tuple[Move, ...] = ()
    for word in words:
        body, _, numbers = word.partition(":")
        try:
            move = Move(int(body), *(float(one) for one in numbers.split(",")))
        except (TypeError, ValueError) as fault:
            raise InputError("move", f"{word!r} cannot be read", "such as 12:10,0,0,15,0,0") from fault
        if not all(math.isfinite(one) for one in move):
            raise InputError("move", f"{word!r} leads nowhere", "numbers of millimetres and degrees")
        moves = _with(moves, move)
    if len(moves) > _MOST_MOVED:
        raise InputError("move", f"{len(moves)} pieces are moved", f"at most {_MOST_MOVED}: plan the load anew")
    return moves


def moves_words(moves: Sequence[Move]) -> list[str]:
    """Write moves as they stand in an address.

    Parameters
    ----------
    moves
        The moves.

    Returns
    -------
    list[str]
        What ``read_moves`` reads.
    """
    return [f"{move.body}:" + ",".join(f"{one:g}" for one in move[1:]) for move in moves]


def moved_pose(solid: PlacedSolid, move: Move) -> Pose:
    """Return where a piece stands after a move.

    Parameters
    ----------
    solid
        The piece as planned.
    move
        The move.

    Returns
    -------
    Pose
        Turned about the middle of its bounds, then shifted.
    """
    up, across = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
    turn = (
        _about(up, move.turned_deg) @ _about(across, move.tipped_deg) @ _about(solid.pose.turn[:, 2], move.rolled_deg)
    )
    pose = rotated_in_place(solid, turn)
    return Pose(pose.turn, pose.shift_m + np.array([move.across_mm, move.back_mm, move.up_mm]) / 1000)


def _about(axis: Floats, degrees: float) -> Floats:
    """Return the rotation about an axis (Rodrigues' formula)."""
    angle = math.radians(degrees)
    crossed = np.cross(np.eye(3), axis)
    turn: Floats = np.eye(3) + math.sin(angle) * crossed + (1 - math.cos(angle)) * crossed @ crossed
    return turn

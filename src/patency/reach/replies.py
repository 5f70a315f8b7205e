"""The answers to **held** and **reached** for every piece of a load."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

from patency.catalogue import Placing
from patency.load import Figure, Question, Reply, pieces_of_set
from patency.quantities import Answer
from patency.reach.coiling import coil_fit
from patency.reach.draining import LYING_DEG, drainage
from patency.reach.jet_replies import joined, with_forces, with_jets
from patency.reach.jets.moments import tipping_moment_n_m
from patency.reach.placement import load_standing
from patency.reach.room import basket_fit, clearance
from patency.reach.support import moment_left_n_m, tipping

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from patency.catalogue import Department, PieceType, Programme
    from patency.load import Load, PlacedPiece
    from patency.reach.load_reach import LoadReach

T = TypeVar("T")
_LEANS = 0.0017  # cosine of the steepest inclination that counts as leaning
# Where no stage is wet, the water is taken as cold as the room: the longest plug.
_ROOM_C = 20.0
_HOTTEST_WATER_C = 100.0


def held(department: Department, load: Load, found: LoadReach | None = None) -> dict[tuple[str, str], Reply]:
    """Answer for every piece of a load whether it stays as it is put.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of jets and geometry; None where it was not.

    Returns
    -------
    dict[tuple[str, str], Reply]
        Set and piece to the answer to **held**: movable parts in the prescribed state, the prescribed way up, a net
        where jets could lift it, weight against tipping in an inclined stand and, where computed, against the force
        of the jets on what lies free.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    replies = _for_each(department, load, _held)
    if found is None:
        return replies
    whole = with_forces(replies, found)

    def against(department: Department, load: Load, placed: PlacedPiece, piece: PieceType) -> Reply | None:
        return _against_jets(department, load, placed, piece, found)

    moments = _for_each(department, load, against)
    return {key: _both(reply, moments[key]) for key, reply in whole.items()}


def reached(department: Department, load: Load, found: LoadReach | None = None) -> dict[tuple[str, str], Reply]:
    """Answer for every piece of a load whether water gets to its surfaces and off them.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of jets and geometry; None where it was not, and then nothing is answered ``yes``.

    Returns
    -------
    dict[tuple[str, str], Reply]
        Set and piece to the answer to **reached**: ``no`` when it does not drain, has no room, breaks a rule as it is
        placed, or when jets strike less of it directly than the site asks for; ``unknown`` when something had to be
        known and is not. That a surface is struck does not say that it is clean.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    return with_jets(_for_each(department, load, _reached), found, department.limits.load)


def _for_each(
    department: Department, load: Load, answer: Callable[[Department, Load, PlacedPiece, PieceType], T]
) -> dict[tuple[str, str], T]:
    types = {
        (piece.set, piece.key): piece.piece_type for name in load.sets for piece in pieces_of_set(department, name)
    }
    return {
        (placed.set, placed.piece): answer(department, load, placed, types[placed.set, placed.piece])
        for placed in load.pieces
    }


def _held(department: Department, load: Load, placed: PlacedPiece, piece: PieceType) -> Reply:
    replies = [_prepared(placed, piece)]
    if placed.placing is Placing.PORT:
        stands = load_standing(department, load, placed)
        replies.append(tipping(piece, stands, department.limits.load))
    elif placed.placing is Placing.BASKET and not placed.net:
        replies += _without_net(piece)
    elif placed.placing is Placing.COIL_RACK:
        replies.append(Reply(Question.HELD, Answer.YES, "both ends go into their clips"))
    return joined(Question.HELD, replies)


def _against_jets(
    department: Department, load: Load, placed: PlacedPiece, piece: PieceType, found: LoadReach
) -> Reply | None:
    """Hold what jets tip a leaning piece with against its weight; a nozzle, sleeve or hose at its foot holds too.

    What lies free is told by its faults; here only that nobody states how much jets may push it.
    """
    key = (placed.set, placed.piece)
    if found.strikes is None or key not in found.strikes.pieces:
        return None
    if placed.placing is Placing.BASKET and not placed.net and found.strikes.pieces[key].push_n > 0.0:
        why = "jets push it, and with which share of its weight they may is not stated"
        return Reply(Question.HELD, Answer.UNKNOWN, why) if department.limits.load.push_share is None else None
    if placed.placing is not Placing.PORT:
        return None
    stands = load_standing(department, load, placed)
    if stands.cosine < _LEANS:
        return None
    axis = found.arranged.solids[found.arranged.number_of[key]].pose.turn[:, 2]
    axis = -axis if placed.way_up == "distal down" else axis
    at = stands.port.at
    support = np.array([at.x_m, at.y_m, at.z_m]) + stands.support_at_m * axis
    over = np.cross([0.0, 0.0, 1.0], axis)
    moment = tipping_moment_n_m(found.strikes, key, support, over / np.linalg.norm(over))
    moment *= found.strikes.arms.forces_times
    figures = (Figure("largest moment with which jets tip it", moment, "N m"),)
    left = moment_left_n_m(piece, stands)
    if any(one.port == placed.position for one in placed.lumens) or left is None or moment < left:
        return Reply(Question.HELD, Answer.YES, "", figures)
    why = f"jets tip it over its support with {moment:.3f} N m, its weight holds {max(left, 0.0):.3f} N m"
    return Reply(Question.HELD, Answer.NO, why, figures)


def _both(reply: Reply, more: Reply | None) -> Reply:
    if more is None:
        return reply
    if more.answer is Answer.YES:
        return Reply(reply.question, reply.answer, reply.why, (*reply.figures, *more.figures))
    return joined(Question.HELD, [reply, more])


def _without_net(piece: PieceType) -> Iterator[Reply]:
    if piece.needs_net:
        yield Reply(Question.HELD, Answer.NO, "jets could lift it and no net goes over it")
    elif piece.needs_net is None:
        yield Reply(Question.HELD, Answer.UNKNOWN, "whether jets could lift it is not stated and no net goes over it")


def _prepared(placed: PlacedPiece, piece: PieceType) -> Reply:
    prescribed = placed.states if piece.states is None else piece.states
    faults = [
        f"{part} planned {placed.states.get(part, 'as found')}, prescribed {prescribed.get(part, 'nothing')}"
        for part in sorted(placed.states.keys() | prescribed.keys())
        if placed.states.get(part) is not prescribed.get(part)
    ]
    if placed.way_up != piece.way_up:
        faults.append(f"placed {placed.way_up}, prescribed {piece.way_up}")
    if faults:
        return Reply(Question.HELD, Answer.NO, "; ".join(faults))
    if piece.states is None:
        return Reply(Question.HELD, Answer.UNKNOWN, "what has to be done to its movable parts is not stated")
    told = ", ".join(f"{part} {state}" for part, state in piece.states.items())
    return Reply(Question.HELD, Answer.YES, f"{piece.way_up}, {told}" if told else piece.way_up)


def _reached(department: Department, load: Load, placed: PlacedPiece, piece: PieceType) -> Reply:
    limits = department.limits.load
    inclination = LYING_DEG
    replies = []
    if placed.placing is Placing.PORT:
        stands = load_standing(department, load, placed)
        inclination = stands.inclination_deg
        carrier = department.carriers[load.carrier]
        kind = department.machine_kinds[load.machine_kind]
        replies.append(clearance(piece, stands, carrier, kind, limits))
    else:
        replies += _room_for(department, load, placed, piece)
    temperature = _last_water_c(department.programmes[load.programme])
    replies.append(drainage(piece, inclination, limits, temperature))
    return joined(Question.REACHED, replies)


def _room_for(department: Department, load: Load, placed: PlacedPiece, piece: PieceType) -> list[Reply]:
    carrier = department.carriers[load.carrier]
    if placed.placing is Placing.BASKET:
        return [basket_fit(piece, carrier.basket_areas[placed.position])]
    if placed.placing is Placing.COIL_RACK:
        return [coil_fit(piece, carrier.coil_places[placed.position])]
    return []


def _last_water_c(programme: Programme) -> float:
    """Return the temperature of the water that stays: that of the last wet stage."""
    wet = [stage.temperature_c for stage in programme.stages if stage.kind.wet]
    return min(wet[-1], _HOTTEST_WATER_C) if wet else _ROOM_C

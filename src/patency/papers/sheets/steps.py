"""The steps of loading: first what goes on a port, one line each, then what lies in baskets, pods, holders, coils."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.papers.drawing.piece import draw_piece
from patency.texts import WAY_UP_WORDS, people_length, state_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department, PieceType
    from patency.load import Load, PlacedPiece

# Millimetres on paper per metre of piece: the longest shafts (about half a metre) just fill their column.
PIECE_SCALE = 120.0
_PLACES = (Placing.BASKET, Placing.POD, Placing.OPTIC_HOLDER, Placing.COIL_RACK)


@dataclass(frozen=True, slots=True)
class PortStep:
    """A piece that goes on one port or more.

    Parameters
    ----------
    number
        Its place in the order of loading.
    ports
        Its ports, as marked on the carrier.
    letter
        The set's letter.
    name
        The piece, in the trade's words.
    picture_svg
        The piece drawn to scale.
    connect
        For each lumen the chain in words, from the port to the piece.
    set_up
        Way up, depth of a nozzle, what is open, released or off.
    warning
        ``sharp`` where a person can be hurt, else empty.
    """

    number: int
    ports: tuple[str, ...]
    letter: str
    name: str
    picture_svg: str
    connect: tuple[str, ...]
    set_up: tuple[str, ...]
    warning: str


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """Equal pieces that lie together.

    Parameters
    ----------
    count
        How many.
    name
        The piece, in the trade's words.
    set_up
        What is open, released or off.
    warning
        ``sharp`` where a person can be hurt, else empty.
    """

    count: int
    name: str
    set_up: tuple[str, ...]
    warning: str


@dataclass(frozen=True, slots=True)
class PlaceStep:
    """A basket, pod, holder or coil place and what of one set goes there.

    Parameters
    ----------
    number
        Its place in the order of loading.
    kind
        ``basket``, ``pod``, ``optic holder`` or ``coil rack``.
    place
        As marked on the carrier; for a pod the set it belongs to.
    letter
        The set's letter.
    lines
        The pieces.
    """

    number: int
    kind: str
    place: str
    letter: str
    lines: tuple[PlaceLine, ...]


def port_steps(department: Department, load: Load, letters: Mapping[str, str]) -> tuple[PortStep, ...]:
    """List the pieces that go on ports, in the order of the walk: near to far.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    letters
        Set to the letter that stands for it.

    Returns
    -------
    tuple[PortStep, ...]
        Numbered from 1.
    """
    walk = {port: place for place, port in enumerate(department.carriers[load.carrier].ports)}
    on_ports = [piece for piece in load.pieces if piece.placing is Placing.PORT]
    ordered = sorted(on_ports, key=lambda piece: min(walk[connection.port] for connection in piece.lumens))
    return tuple(
        _port_step(department, number, piece, letters[piece.set]) for number, piece in enumerate(ordered, start=1)
    )


def place_steps(department: Department, load: Load, letters: Mapping[str, str], first: int) -> tuple[PlaceStep, ...]:
    """List the baskets, pods, optic holders and coil places with what goes there.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    letters
        Set to the letter that stands for it.
    first
        Number of the first of these steps.

    Returns
    -------
    tuple[PlaceStep, ...]
        Baskets first, then pods, optic holders, coil rack.
    """
    groups: dict[tuple[int, str, str], list[PlacedPiece]] = {}
    for piece in load.pieces:
        if piece.placing is not Placing.PORT:
            key = (_PLACES.index(piece.placing), letters[piece.set], piece.position)
            groups.setdefault(key, []).append(piece)
    return tuple(
        PlaceStep(number, _PLACES[kind].value, place, letter, _place_lines(department, pieces))
        for number, ((kind, letter, place), pieces) in enumerate(sorted(groups.items()), start=first)
    )


def _port_step(department: Department, number: int, piece: PlacedPiece, letter: str) -> PortStep:
    piece_type, name = _type_and_name(department, piece)
    return PortStep(
        number=number,
        ports=tuple(connection.port for connection in piece.lumens),
        letter=letter,
        name=name,
        picture_svg=draw_piece(piece_type, PIECE_SCALE),
        connect=_connect_words(department, piece),
        set_up=_set_up(piece),
        warning="sharp" if piece_type.sharp else "",
    )


def _place_lines(department: Department, pieces: list[PlacedPiece]) -> tuple[PlaceLine, ...]:
    counts: dict[tuple[str, tuple[str, ...], str], int] = {}
    for piece in pieces:
        piece_type, name = _type_and_name(department, piece)
        set_up = tuple(state_words(part, state) for part, state in piece.states.items())
        set_up += ("net over it",) if piece.net else ()
        line = (name, set_up, "sharp" if piece_type.sharp else "")
        counts[line] = counts.get(line, 0) + 1
    return tuple(PlaceLine(count, *line) for line, count in counts.items())


def _type_and_name(department: Department, piece: PlacedPiece) -> tuple[PieceType, str]:
    instrument, _, part = piece.piece.split("/")[:3]
    instrument_type = department.instruments[instrument]
    piece_type = instrument_type.pieces[part]
    alone = len(instrument_type.pieces) == 1 or piece_type.name == instrument_type.name
    return piece_type, instrument_type.name if alone else f"{piece_type.name} – {instrument_type.name}"


def _connect_words(department: Department, piece: PlacedPiece) -> tuple[str, ...]:
    chains = [
        " > ".join(department.accessories[link].name for link in connection.chain) or "straight onto the port"
        for connection in piece.lumens
    ]
    if len(chains) == 1:
        return tuple(chains)
    return tuple(
        f"{connection.port}: {chain} > {connection.lumen}"
        for connection, chain in zip(piece.lumens, chains, strict=True)
    )


def _set_up(piece: PlacedPiece) -> tuple[str, ...]:
    lines = [WAY_UP_WORDS[piece.way_up]]
    lines += [
        f"nozzle {people_length(connection.nozzle_depth_m)} inside"
        for connection in piece.lumens
        if connection.nozzle_depth_m is not None
    ]
    return (*lines, *(state_words(part, state) for part, state in piece.states.items()))

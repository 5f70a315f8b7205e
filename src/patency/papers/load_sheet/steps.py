"""The steps of loading, one line each: piece, connector chain, port, way up, what is open."""

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


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One line of the loading table.

    Parameters
    ----------
    number
        Its place in the order of loading.
    place
        Ports or place, as marked on the carrier.
    letter
        The set's letter.
    count
        How many equal pieces this line stands for.
    name
        The piece, in the trade's words.
    picture_svg
        The piece drawn to scale.
    connect
        For each lumen: port and chain in words, from the port to the piece.
    set_up
        Way up, depth of a nozzle, what is open, released or off.
    warning
        ``sharp`` where a person can be hurt, else empty.
    """

    number: int
    place: str
    letter: str
    count: int
    name: str
    picture_svg: str
    connect: tuple[str, ...]
    set_up: tuple[str, ...]
    warning: str


def steps_of_load(department: Department, load: Load, letters: Mapping[str, str]) -> tuple[SheetStep, ...]:
    """List the steps: ports in the order of the walk, then baskets, pods, optic holders and coil rack.

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
    tuple[SheetStep, ...]
        Numbered from 1; equal pieces that go to the same place together make one step.
    """
    walk = {port: place for place, port in enumerate(department.carriers[load.carrier].ports)}
    groups: dict[tuple[object, ...], list[PlacedPiece]] = {}
    for piece in load.pieces:
        alone = piece.piece if piece.placing is Placing.PORT else _kind_of(piece)
        groups.setdefault((piece.set, piece.position, alone), []).append(piece)
    ordered = sorted(groups.values(), key=lambda group: _order(group[0], walk, list(letters)))
    return tuple(_step(department, number, group, letters) for number, group in enumerate(ordered, start=1))


def _kind_of(piece: PlacedPiece) -> tuple[str, str]:
    instrument, _, name = piece.piece.split("/")[:3]
    return instrument, name


def _order(piece: PlacedPiece, walk: Mapping[str, int], sets: list[str]) -> tuple[int, int, int, str]:
    if piece.placing is Placing.PORT:
        return 0, min(walk[connection.port] for connection in piece.lumens), 0, ""
    later = [Placing.BASKET, Placing.POD, Placing.OPTIC_HOLDER, Placing.COIL_RACK]
    return 1 + later.index(piece.placing), sets.index(piece.set), 0, piece.position


def _step(department: Department, number: int, group: list[PlacedPiece], letters: Mapping[str, str]) -> SheetStep:
    first = group[0]
    instrument, name = _kind_of(first)
    instrument_type = department.instruments[instrument]
    piece_type = instrument_type.pieces[name]
    ports = [connection.port for connection in first.lumens]
    return SheetStep(
        number=number,
        place=" + ".join(ports) if ports else _place_words(first),
        letter=letters[first.set],
        count=len(group),
        name=_piece_words(instrument_type.name, piece_type, len(instrument_type.pieces)),
        picture_svg=draw_piece(piece_type, PIECE_SCALE),
        connect=_connect_words(department, first),
        set_up=_set_up(first),
        warning="sharp" if piece_type.sharp else "",
    )


def _place_words(piece: PlacedPiece) -> str:
    if piece.placing is Placing.POD:
        return f"Pod {piece.position}" if not piece.position.lower().startswith("pod") else piece.position
    return piece.position


def _piece_words(instrument: str, piece: PieceType, pieces: int) -> str:
    return instrument if pieces == 1 else f"{piece.name} – {instrument}"


def _connect_words(department: Department, piece: PlacedPiece) -> tuple[str, ...]:
    chains = [
        " > ".join(department.accessories[link].name for link in connection.chain) or "straight onto the port"
        for connection in piece.lumens
    ]
    if len(chains) < 2:
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
    lines += [state_words(part, state) for part, state in piece.states.items()]
    if piece.net:
        lines.append("net over it")
    return tuple(lines)

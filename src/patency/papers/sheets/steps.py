"""The steps of loading: first what goes on a port, one line each, then what lies in baskets, pods, holders, coils."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from string import ascii_uppercase
from typing import TYPE_CHECKING

from patency.catalogue import Placing, PortKind
from patency.load import pieces_of_set
from patency.papers.drawing.piece import draw_piece
from patency.papers.sheets.watch import SheetWatch
from patency.reach import stated_floor
from patency.texts import (
    PLACE_NOTES,
    ROW_LOOKS,
    WAY_UP_WORDS,
    leans_words,
    people_length,
    stands_in_words,
    state_words,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Carrier, Department
    from patency.load import Load, PieceToPlace, PlacedPiece

# Millimetres on paper per metre of piece, and the width of the column that the longest piece has to fit into.
_PIECE_SCALE = 120.0
_PIECE_ROOM_MM = 51.0
_PLACES = (Placing.BASKET, Placing.POD, Placing.OPTIC_HOLDER, Placing.COIL_RACK)
_THEN = " > "
NOTHING_TO_WATCH = SheetWatch()


@dataclass(frozen=True, slots=True)
class PortStep:
    """A piece that goes on one port or more.

    Parameters
    ----------
    number
        Its place in the order of loading.
    ports
        Its ports, as marked on the carrier; the one it stands at first.
    letter
        The set's letter.
    name
        The piece, in the trade's words.
    of
        The instrument it is a piece of; empty where the piece is the whole instrument.
    picture_svg
        The piece drawn to scale.
    connect
        For each lumen the chain in words, from the port to the piece.
    set_up
        Way up, depth of a nozzle, what is open, released or off.
    warning
        ``sharp`` where a person can be hurt, else empty.
    light
        Whether the piece is held against the light before it goes on.
    on
        What is looked at once it is on, in one word or two each.
    harm
        What losing this connection does to other lumens, where it is among those that harm most; else empty.
    piece
        The set and the piece's key within it.
    """

    number: int
    ports: tuple[str, ...]
    letter: str
    name: str
    of: str
    picture_svg: str
    connect: tuple[str, ...]
    set_up: tuple[str, ...]
    warning: str
    light: bool
    on: tuple[str, ...]
    harm: str
    piece: tuple[str, str]


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """Equal pieces that lie together.

    Parameters
    ----------
    count
        How many.
    name
        The piece, in the trade's words.
    of
        The instrument it is a piece of; empty where the piece is the whole instrument.
    set_up
        What is open, released or off.
    warning
        ``sharp`` where a person can be hurt, else empty.
    number
        Its number in the picture of the floor on which it lies; empty where the plan leaves open where it lies.
    pieces
        The set and the key within it of each.
    """

    count: int
    name: str
    of: str
    set_up: tuple[str, ...]
    warning: str
    number: str
    pieces: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PlaceStep:
    """A basket, pod, holder or coil place and what of one set goes there.

    Parameters
    ----------
    number
        Its place in the order of loading.
    place
        What to look for: the mark on the carrier, ``pod`` or ``optic holder``.
    letter
        The set's letter.
    lines
        The pieces.
    notes
        What covers it and where it stands.
    pieces
        The set and the key within it of each piece.
    floors_svg
        Each floor from above on which something comes to lie first in this step, where the plan states it.
    """

    number: int
    place: str
    letter: str
    lines: tuple[PlaceLine, ...]
    notes: tuple[str, ...]
    pieces: tuple[tuple[str, str], ...]
    floors_svg: tuple[str, ...] = ()


def set_letters(load: Load) -> dict[str, str]:
    """Give each set of a load the letter that stands for it all over its sheet.

    Parameters
    ----------
    load
        The load.

    Returns
    -------
    dict[str, str]
        Set to A to Z; after these AA, AB and so on.
    """
    places = enumerate(load.sets)
    return {
        name: ascii_uppercase[place // 26 - 1] * (place > 25) + ascii_uppercase[place % 26] for place, name in places
    }


def port_steps(
    department: Department, load: Load, letters: Mapping[str, str], watch: SheetWatch = NOTHING_TO_WATCH
) -> tuple[PortStep, ...]:
    """List the pieces that go on ports, in the order of the walk: near to far.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    letters
        Set to the letter that stands for it.
    watch
        What people watch in this load.

    Returns
    -------
    tuple[PortStep, ...]
        Numbered from 1.
    """
    carrier, pieces = department.carriers[load.carrier], _pieces(department, load)
    walk = {port: place for place, port in enumerate(carrier.ports)}
    on_ports = [placed for placed in load.pieces if placed.placing is Placing.PORT]
    ordered = sorted(on_ports, key=lambda placed: min(walk[connection.port] for connection in placed.lumens))
    longest_m = max((pieces[placed.set, placed.piece].piece_type.length_m for placed in on_ports), default=1.0)
    scale = min(_PIECE_SCALE, _PIECE_ROOM_MM / longest_m)
    steps = []
    for number, placed in enumerate(ordered, start=1):
        piece = pieces[placed.set, placed.piece]
        ports = tuple(connection.port for connection in placed.lumens)
        steps.append(
            PortStep(
                number=number,
                ports=ports,
                letter=letters[placed.set],
                name=_name(piece),
                of=_whole(piece),
                picture_svg=draw_piece(piece.piece_type, scale),
                connect=_connect_words(department, carrier, placed),
                set_up=_set_up(placed),
                warning=_warning(piece),
                light=any(port in watch.light for port in ports),
                on=_looked_at_on(carrier, ports, watch),
                harm=next((watch.harms[port] for port in ports if port in watch.harms), ""),
                piece=(placed.set, placed.piece),
            )
        )
    return tuple(steps)


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
        Baskets first, then pods, optic holders, coil rack; each kind in the carrier's order.
    """
    carrier, pieces = department.carriers[load.carrier], _pieces(department, load)
    walk = {place: number for number, place in enumerate([*carrier.basket_areas, *carrier.coil_places])}
    groups: dict[tuple[int, int, str, str], list[PlacedPiece]] = {}
    for placed in load.pieces:
        if placed.placing is not Placing.PORT:
            kind, place = _PLACES.index(placed.placing), placed.position
            groups.setdefault((kind, walk.get(place, 0), letters[placed.set], place), []).append(placed)
    given = Counter[str]()
    return tuple(
        PlaceStep(
            number=number,
            place=place if place in walk else _PLACES[kind].value,
            letter=letter,
            lines=_place_lines(load, pieces, together, given),
            notes=_notes(together),
            pieces=tuple((placed.set, placed.piece) for placed in together),
        )
        for number, ((kind, _, letter, place), together) in enumerate(sorted(groups.items()), start=first)
    )


def _pieces(department: Department, load: Load) -> dict[tuple[str, str], PieceToPlace]:
    return {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}


def _name(piece: PieceToPlace) -> str:
    return piece.piece_type.name if _whole(piece) else piece.words


def _whole(piece: PieceToPlace) -> str:
    """Name the instrument a piece belongs to, where the piece alone does not say it."""
    return "" if piece.words == piece.instrument_type.name else piece.instrument_type.name


def _warning(piece: PieceToPlace) -> str:
    return "sharp" if piece.piece_type.sharp else ""


def _place_lines(
    load: Load, pieces: Mapping[tuple[str, str], PieceToPlace], together: list[PlacedPiece], given: Counter[str]
) -> tuple[PlaceLine, ...]:
    """Gather equal pieces; those with a stated place get the next number that is not given on their floor."""
    some_bare = not all(placed.net for placed in together)
    lines: dict[tuple[str, str, tuple[str, ...], str, str], list[tuple[str, str]]] = {}
    for placed in together:
        piece = pieces[placed.set, placed.piece]
        set_up = tuple(state_words(part, state) for part, state in placed.states.items())
        set_up += (PLACE_NOTES["net"],) if placed.net and some_bare else ()
        line = (_name(piece), _whole(piece), set_up, _warning(piece), stated_floor(load, placed) or "")
        lines.setdefault(line, []).append((placed.set, placed.piece))
    found = []
    for (name, of, set_up, warning, floor), alike in lines.items():
        given[floor] += 1
        number = str(given[floor]) if floor else ""
        found.append(PlaceLine(len(alike), name, of, set_up, warning, number, tuple(alike)))
    return tuple(found)


def _notes(together: list[PlacedPiece]) -> tuple[str, ...]:
    """Say what covers what lies together, and where a pod or holder stands."""
    placing = together[0].placing
    if placing is Placing.BASKET:
        return (PLACE_NOTES["net"],) if all(placed.net for placed in together) else ()
    if placing is Placing.COIL_RACK:
        return ()
    areas = dict.fromkeys(placed.stands_in for placed in together if placed.stands_in is not None)
    return (PLACE_NOTES[placing], *map(stands_in_words, areas))


def _connect_words(department: Department, carrier: Carrier, placed: PlacedPiece) -> tuple[str, ...]:
    several = len(placed.lumens) > 1
    lines = []
    for connection in placed.lumens:
        links = ["hose"] if carrier.ports[connection.port].hose is not None else []
        links += [department.accessories[link].name for link in connection.chain]
        if several:
            lines.append(f"{connection.port}: {_THEN.join([*links, connection.lumen])}")
        else:
            lines.append(_THEN.join(links) if connection.chain else " ".join([*links, "straight on"]))
    return tuple(lines)


def _looked_at_on(carrier: Carrier, ports: tuple[str, ...], watch: SheetWatch) -> tuple[str, ...]:
    """Say what is looked at once a piece is on: a pull at every hose and taper, and what else the load asks for."""
    over = any(carrier.ports[port].kind is PortKind.NOZZLE or port in watch.over_nozzle for port in ports)
    pull = any(carrier.ports[port].kind is not PortKind.NOZZLE or port in watch.pull for port in ports)
    return tuple(ROW_LOOKS[look] for look, asked in (("CONNECTIONS", pull), ("OVER_NOZZLES", over)) if asked)


def _set_up(placed: PlacedPiece) -> tuple[str, ...]:
    states = (state_words(part, state) for part, state in placed.states.items())
    depths = (connection.nozzle_depth_m for connection in placed.lumens if connection.nozzle_depth_m is not None)
    leans = () if placed.leans is None else (leans_words(placed.leans),)
    return (
        WAY_UP_WORDS[placed.way_up],
        *leans,
        *states,
        *(f"nozzle {people_length(depth)} inside" for depth in depths),
    )

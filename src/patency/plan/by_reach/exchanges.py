"""Other places for one piece of a load that leave everything else about the load as it was planned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.load import CappedPort, pieces_of_set
from patency.plan.fits import Fitter, NoOption, PortOption, standing_lumen
from patency.quantities import Answer
from patency.reach import basket_fit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Department, PieceType
    from patency.load import Load, PlacedPiece

PieceKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Exchange:
    """A load with one piece elsewhere, or two that have changed places.

    Parameters
    ----------
    load
        The load so arranged.
    moved
        The pieces that are placed otherwise in it.
    words
        What was done, for the person who reads the plan.
    """

    load: Load
    moved: tuple[PlacedPiece, ...]
    words: str


class Exchanges:
    """Finds other places for the pieces of one department's loads.

    A piece on a port changes places with another or goes to a port that is capped or left open, both through the very
    chains that are planned, so that stock, caps and connectors stay as they were proven. A piece in a basket goes to
    another basket area of its own set. Pieces under a net, in pods, holders and on the rack stay.

    Parameters
    ----------
    department
        The department, with the limits that hold on the day.
    """

    def __init__(self, department: Department) -> None:
        self._department = department
        self._fitter = Fitter(department)
        self._pieces = {(one.set, one.key): one for name in department.sets for one in pieces_of_set(department, name)}

    def of(self, load: Load, key: PieceKey) -> Iterator[Exchange]:
        """List other places for a piece.

        Parameters
        ----------
        load
            The load.
        key
            Set and piece.

        Yields
        ------
        Exchange
            In the order of the walk. Room, tipping, drainage and the bend of hoses are asked as in planning; the flow
            and what the jets strike are not.
        """
        placed = next(one for one in load.pieces if (one.set, one.piece) == key)
        if placed.placing is Placing.PORT:
            yield from self._with_another_piece(load, placed)
            yield from self._to_a_free_port(load, placed)
        elif placed.placing is Placing.BASKET and not placed.net:
            yield from self._to_another_area(load, placed)

    def _with_another_piece(self, load: Load, placed: PlacedPiece) -> Iterator[Exchange]:
        own = self._type(placed)
        for other in load.pieces:
            theirs = self._type(other)
            if other.placing is not Placing.PORT or theirs is own:
                continue
            here, there = self._at(load, placed, other.position), self._at(load, other, placed.position)
            if here is not None and there is not None:
                words = f"{self._words(placed)} and {self._words(other)} change places"
                yield Exchange(self._written(load, here, there), (here, there), f"{words}: {_where(here, there)}")

    def _to_a_free_port(self, load: Load, placed: PlacedPiece) -> Iterator[Exchange]:
        ports = self._department.carriers[load.carrier].ports
        left = ports[placed.position]
        caps = {capped.port: capped.cap for capped in load.capped_ports}
        for port in (*caps, *load.open_ports):
            if (ports[port].kind, ports[port].end) != (left.kind, left.end):
                continue
            here = self._at(load, placed, port)
            if here is None:
                continue
            moved = self._written(load, here)
            kept = {free: cap for free, cap in caps.items() if free != port}
            if port in caps:
                kept[placed.position] = caps[port]
            stay_open = {*load.open_ports} - {port} | (set() if port in caps else {placed.position})
            walk = list(ports)
            free = {
                "capped_ports": tuple(CappedPort(port=one, cap=kept[one]) for one in sorted(kept, key=walk.index)),
                "open_ports": tuple(sorted(stay_open, key=walk.index)),
            }
            words = f"{self._words(placed)} stands at {port} instead of {placed.position}"
            yield Exchange(moved.model_copy(update=free), (here,), words)

    def _to_another_area(self, load: Load, placed: PlacedPiece) -> Iterator[Exchange]:
        areas = self._department.carriers[load.carrier].basket_areas
        under_net = {one.position for one in load.pieces if one.net}
        lying = [one.position for one in load.pieces if one.set == placed.set and one.placing is Placing.BASKET]
        standing = [one.stands_in for one in load.pieces if one.set == placed.set and one.stands_in is not None]
        for area in dict.fromkeys((*lying, *standing)):
            if area == placed.position or area in under_net:
                continue
            if basket_fit(self._type(placed), areas[area]).answer is Answer.YES:
                here = placed.model_copy(update={"position": area})
                words = f"{self._words(placed)} lies in {area} instead of {placed.position}"
                yield Exchange(self._written(load, here), (here,), words)

    def _at(self, load: Load, placed: PlacedPiece, port: str) -> PlacedPiece | None:
        """Stand a piece at another port behind the chain it was planned with; None where that does not do."""
        piece, carrier = self._type(placed), self._department.carriers[load.carrier]
        stands = standing_lumen(piece)
        own = next(one for one in placed.lumens if one.lumen == stands)
        options = self._fitter.options(carrier, carrier.ports[port], piece, stands, [load.machine_kind])
        if isinstance(options, NoOption):
            return None
        option = next((one for one in options if one.chain == own.chain), None)
        if option is None or not self._hoses_reach(load, placed, port, option):
            return None
        here = own.model_copy(update={"port": port, "nozzle_depth_m": option.depth_m})
        lumens = tuple(here if one is own else one for one in placed.lumens)
        leans = carrier.ports[port].stand.leans
        return placed.model_copy(update={"position": port, "lumens": lumens, "leans": leans})

    def _hoses_reach(self, load: Load, placed: PlacedPiece, port: str, option: PortOption) -> bool:
        ports, piece = self._department.carriers[load.carrier].ports, self._type(placed)
        others = [one for one in placed.lumens if one.lumen != standing_lumen(piece)]
        replies = [self._fitter.reaches_over(piece, ports[port], option, ports[one.port], one.chain) for one in others]
        return all(reply is None or reply.answer is Answer.YES for reply in replies)

    def _written(self, load: Load, *moved: PlacedPiece) -> Load:
        """Put pieces where they are now, and all pieces on ports back into the order of the walk within their set."""
        now = {(one.set, one.piece): one for one in moved}
        pieces = [now.get((one.set, one.piece), one) for one in load.pieces]
        walk, sets = list(self._department.carriers[load.carrier].ports), list(load.sets)
        on_ports = [one for one in pieces if one.placing is Placing.PORT]
        beside = [one for one in pieces if one.placing is not Placing.PORT]
        on_ports.sort(key=lambda one: (sets.index(one.set), walk.index(one.position)))
        return load.model_copy(update={"pieces": (*on_ports, *beside)})

    def _type(self, placed: PlacedPiece) -> PieceType:
        return self._pieces[placed.set, placed.piece].piece_type

    def _words(self, placed: PlacedPiece) -> str:
        return f"{self._pieces[placed.set, placed.piece].words} ({placed.set})"


def _where(one: PlacedPiece, other: PlacedPiece) -> str:
    return f"now at {one.position} and {other.position}"

"""Other ways to feed one lumen of a load that stands half loaded: free ports and the chains that join them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.load import Connection, pieces_of_set
from patency.plan.fits import Fitter, NoOption, PortOption, standing_lumen
from patency.plan.limits_in_force import on_day
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping
    from datetime import date

    from patency.catalogue import Carrier, Department, PieceType
    from patency.load import Load, PlacedPiece


@dataclass(frozen=True, slots=True)
class OtherWay:
    """A lumen of a piece fed in another way than planned.

    Parameters
    ----------
    connection
        The new connection.
    cost
        What its chain costs when chains are compared; the smaller the better.
    """

    connection: Connection
    cost: int


def other_ways(
    department: Department,
    load: Load,
    placed: PlacedPiece,
    lumen: str,
    day: date,
    *,
    closed: Collection[str],
    spare: Mapping[str, int],
) -> list[OtherWay]:
    """List the permitted ways to feed a lumen from its own port or a free one.

    Parameters
    ----------
    department
        The department.
    load
        The load as it stands.
    placed
        A piece of it.
    lumen
        The lumen that needs another way.
    day
        Day of the decision.
    closed
        Ports that cannot be used.
    spare
        Accessory to how many are at hand; one left out is not at hand.

    Returns
    -------
    list[OtherWay]
        Cheap chains first, then in the order of the walk; empty where there is none. Room, tipping, drainage and the
        bend of hoses are asked as in planning, of every lumen of the piece.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    in_force = on_day(department, day)
    carrier = in_force.carriers[load.carrier]
    pieces = {piece.key: piece.piece_type for piece in pieces_of_set(in_force, placed.set)}
    piece = pieces[placed.piece]
    walk = list(carrier.ports)
    planned = next(one for one in placed.lumens if one.lumen == lumen)
    taken = {one.port for other in load.pieces for one in other.lumens} - {planned.port}
    ports = [port for port in walk if port not in taken and port not in closed]
    found = [
        OtherWay(Connection(lumen=lumen, port=port, chain=option.chain, nozzle_depth_m=option.depth_m), option.cost)
        for port, option in _options(Fitter(in_force), carrier, load, piece, placed, lumen, ports)
        if (option.chain, port) != (planned.chain, planned.port) and _at_hand(option.chain, spare)
    ]
    return sorted(found, key=lambda way: (way.cost, walk.index(way.connection.port)))


def _at_hand(chain: tuple[str, ...], spare: Mapping[str, int]) -> bool:
    """Ask whether a chain can be made of what is at hand."""
    return all(spare.get(link, 0) >= chain.count(link) for link in chain)


def _options(
    fitter: Fitter,
    carrier: Carrier,
    load: Load,
    piece: PieceType,
    placed: PlacedPiece,
    lumen: str,
    ports: list[str],
) -> Iterator[tuple[str, PortOption]]:
    """Find how each port would do; where the piece stands elsewhere then, its other hoses have to reach it there."""
    stands = standing_lumen(piece)
    for port in ports:
        options = fitter.options(carrier, carrier.ports[port], piece, lumen, [load.machine_kind])
        if isinstance(options, NoOption):
            continue
        for option in options:
            if lumen == stands:
                here = [(port, option, one.port, one.chain) for one in placed.lumens if one.lumen != lumen]
            else:
                own = next(one for one in placed.lumens if one.lumen == stands)
                at = PortOption(own.chain, 0, own.nozzle_depth_m, frozenset({load.machine_kind}))
                here = [(own.port, at, port, option.chain)]
            replies = [
                fitter.reaches_over(piece, carrier.ports[stand], at_stand, carrier.ports[hose], chain)
                for stand, at_stand, hose, chain in here
            ]
            if all(reply is None or reply.answer is Answer.YES for reply in replies):
                yield port, option

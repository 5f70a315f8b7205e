"""A load of the search as a load for people: every piece in its place, with its connections and states."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.load import CappedPort, Connection, Load, PlacedPiece
from patency.plan.search.linear import FORBIDDEN, cheapest_matching
from patency.plan.stowing import areas_for, areas_to_stand_in, coil_places_for, first_and_last, holders_for, placed
from patency.quantities import Answer
from patency.reach import basket_fit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from patency.catalogue import Leaning
    from patency.load import PieceToPlace
    from patency.plan.joints import Arranged, Fed, Joint
    from patency.plan.posing import Posed
    from patency.plan.search.problem import Run


def load_of(posed: Posed, run: Run, arranged: Arranged, name: str, machine: str) -> Load:
    """Write one load out in full.

    Parameters
    ----------
    posed
        The posed problem.
    run
        The load of the search.
    arranged
        Its lumens at their ports.
    name
        Name of the load.
    machine
        The machine it runs in.

    Returns
    -------
    Load
        Every piece in its place; set by set in the order of the walk.
    """
    begin = posed.day.shift_starts
    sets = sorted(run.sets, key=lambda key: (posed.problem.sets[key].ready_min, key))
    return Load(
        id=name,
        carrier=run.carrier,
        machine_kind=posed.problem.machines[run.machine].kind,
        machine=machine,
        programme=run.programme,
        sets=tuple(sets),
        starts=begin + timedelta(minutes=run.start_min),
        ends=begin + timedelta(minutes=run.end_min),
        pieces=(*_on_ports(posed, run, sets, arranged), *_beside(posed, run, sets)),
        capped_ports=tuple(CappedPort(port=port, cap=cap) for port, cap in arranged.caps.items()),
        open_ports=arranged.open,
    )


def machines_of(posed: Posed, runs: Sequence[Run]) -> list[str]:
    """Give each load a machine of its class: of those that are free the one named first.

    Parameters
    ----------
    posed
        The posed problem.
    runs
        The loads by start.

    Returns
    -------
    list[str]
        A machine for each.
    """
    free: dict[str, int] = {}
    chosen = []
    for run in runs:
        names = posed.problem.machines[run.machine].names
        machine = next(name for name in names if free.get(name, 0) <= run.start_min)
        free[machine] = run.end_min
        chosen.append(machine)
    return chosen


def _on_ports(posed: Posed, run: Run, sets: list[str], arranged: Arranged) -> Iterator[PlacedPiece]:
    ports = posed.department.carriers[run.carrier].ports
    rank = {port: place for place, port in enumerate(ports)}
    by_piece: dict[tuple[str, str], dict[Joint, Fed]] = {}
    for joint, fed in arranged.joints.items():
        by_piece.setdefault((joint.set, joint.key), {})[joint] = fed
    for name in sets:
        pieces = [piece for piece in posed.pieces[name] if piece.piece_type.placing is Placing.PORT]
        stands = {
            piece.key: next(fed.port for joint, fed in by_piece[name, piece.key].items() if joint.stands)
            for piece in pieces
        }
        for piece in sorted(pieces, key=lambda piece: rank[stands[piece.key]]):
            fed_by = {joint.lumen: fed for joint, fed in by_piece[name, piece.key].items()}
            connections = tuple(
                Connection(
                    lumen=lumen,
                    port=fed_by[lumen].port,
                    chain=fed_by[lumen].option.chain,
                    nozzle_depth_m=fed_by[lumen].option.depth_m,
                )
                for lumen in piece.lumens
            )
            stands_at = stands[piece.key]
            yield _placed(piece, stands_at, lumens=connections, leans=ports[stands_at].stand.leans)


def _beside(posed: Posed, run: Run, sets: list[str]) -> Iterator[PlacedPiece]:
    """Everything that is on no port: on the rack, in baskets, pods and holders."""
    areas = _areas(posed, run, sets)
    racked = [piece for name in sets for piece in posed.pieces[name] if piece.piece_type.placing is Placing.COIL_RACK]
    coils = _coil_places(posed, run, racked)
    holders = _holders(posed, run, sets)
    for name in sets:
        loose = [piece for piece in posed.pieces[name] if piece.piece_type.placing is Placing.BASKET]
        netted = any(piece.piece_type.goes_under_net for piece in loose)
        stands_in = _stands_in(areas[name], _stand(posed, run, name))
        for piece in posed.pieces[name]:
            match piece.piece_type.placing:
                case Placing.BASKET:
                    area = _area_of(posed, run, piece, areas[name], netted=netted)
                    yield _placed(piece, area, net=netted and area == areas[name][0])
                case Placing.POD:
                    yield _placed(piece, name, stands_in=stands_in)
                case Placing.COIL_RACK:
                    yield _placed(piece, coils[piece.set, piece.key])
                case Placing.OPTIC_HOLDER:
                    yield _placed(piece, holders[piece.set, piece.key], stands_in=stands_in)
                case Placing.PORT:
                    pass


def _placed(
    piece: PieceToPlace,
    position: str,
    *,
    lumens: tuple[Connection, ...] = (),
    net: bool = False,
    stands_in: str | None = None,
    leans: Leaning | None = None,
) -> PlacedPiece:
    piece_type = piece.piece_type
    return PlacedPiece(
        set=piece.set,
        piece=piece.key,
        placing=piece_type.placing,
        position=position,
        lumens=lumens,
        stands_in=stands_in,
        way_up=piece_type.way_up,
        leans=leans,
        states=dict(piece_type.states or {}),
        net=net,
    )


def _stand(posed: Posed, run: Run, name: str) -> list[str]:
    return areas_to_stand_in(posed.department, posed.department.carriers[run.carrier], posed.pieces[name])


def _stands_in(areas: list[str], stand: list[str]) -> str | None:
    """Choose of the areas of a set the last in which its pod and holders find room: the first is under the net."""
    return next((area for area in reversed(areas) if area in stand), None)


def _area_of(posed: Posed, run: Run, piece: PieceToPlace, areas: list[str], *, netted: bool) -> str:
    """Light pieces go under the net in the first area, the others beside them where there is a second."""
    if netted and not piece.piece_type.goes_under_net:
        described = posed.department.carriers[run.carrier].basket_areas
        for area in areas[1:]:
            if basket_fit(piece.piece_type, described[area]).answer is Answer.YES:
                return area
    return areas[0]


def _areas(posed: Posed, run: Run, sets: list[str]) -> dict[str, list[str]]:
    """Deal out the basket areas: to each set one for all its loose pieces, one for its pod and holders."""
    carrier = posed.department.carriers[run.carrier]
    names = list(carrier.basket_areas)
    rows: list[tuple[str, list[str]]] = []
    for name in sets:
        count = posed.department.sets[name].basket_areas if posed.problem.sets[name].needs else 0
        lie = areas_for(carrier, placed(posed.pieces[name], Placing.BASKET))
        first, last = first_and_last(carrier, lie, _stand(posed, run, name), count)
        rows += [(name, those) for those in [first, *[names] * (count - 2), last][:count]]
    costs = [
        [abs(column - row) if area in those else FORBIDDEN for column, area in enumerate(names)]
        for row, (_, those) in enumerate(rows)
    ]
    columns = cheapest_matching(costs) or []
    dealt: dict[str, list[str]] = {name: [] for name in sets}
    for (name, _), column in zip(rows, columns, strict=True):
        dealt[name].append(names[column])
    return dealt


def _coil_places(posed: Posed, run: Run, racked: list[PieceToPlace]) -> dict[tuple[str, str], str]:
    carrier = posed.department.carriers[run.carrier]
    names = list(carrier.coil_places)
    costs = []
    for row, piece in enumerate(racked):
        fitting = set(coil_places_for(carrier, piece.piece_type))
        costs.append([abs(column - row) if name in fitting else FORBIDDEN for column, name in enumerate(names)])
    columns = cheapest_matching(costs) or []
    return {(piece.set, piece.key): names[c] for piece, c in zip(racked, columns, strict=True)}


def _holders(posed: Posed, run: Run, sets: list[str]) -> dict[tuple[str, str], str]:
    """Take the optic holders the search reserved."""
    left: dict[str, int] = _reserved(run)
    chosen = {}
    optics = [p for name in sets for p in posed.pieces[name] if p.piece_type.placing is Placing.OPTIC_HOLDER]
    units = [name for name, number in left.items() for _ in range(number)]
    costs = [
        [0.0 if unit in holders_for(posed.department, optic.piece_type) else FORBIDDEN for unit in units]
        for optic in optics
    ]
    for optic, column in zip(optics, cheapest_matching(costs) or [], strict=True):
        chosen[optic.set, optic.key] = units[column]
    return chosen


def _reserved(run: Run) -> dict[str, int]:
    total: dict[str, int] = {}
    for (_, way), times in run.ways.items():
        if way.place is None:
            for accessory, number in way.uses:
                total[accessory] = total.get(accessory, 0) + number * times
    return total

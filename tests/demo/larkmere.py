"""The demo department and four loads of it put together by hand, without the planner."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING

from patency.catalogue import (
    Cap,
    FedBy,
    InjectorNozzle,
    Placing,
    PortKind,
    read_department,
)
from patency.demo import larkmere_texts
from patency.load import CappedPort, Connection, Load, PieceToPlace, PlacedPiece, pieces_of_set
from patency.quantities import Answer
from patency.reach import clearance, hose_bend, inlet_gap_m, standing, tipping

if TYPE_CHECKING:
    from collections.abc import Iterable

    from patency.catalogue import Department, Lumen, Port
    from patency.reach import Standing

KIND = "four-arm lumen washer"
LOADS = {
    "L1": ("Lapwing", ("Gallbladder One", "Gallbladder Two")),
    "L2": ("Lapwing", ("Pelvis One", "Appendix", "Shoulder Scope")),
    "L3": ("Lapwing", ("Long Colon", "Pelvis Two")),
    "D1": ("Dunlin", ("Knee Scope", "Little Otter", "Groin Repair")),
}
TEN_SETS = tuple(name for _, names in LOADS.values() for name in names)


@cache
def larkmere() -> Department:
    """Read the demo department."""
    return read_department(larkmere_texts())


def kind_of_port(lumen: Lumen) -> PortKind:
    """Tell which kind of port a lumen of the demo needs."""
    if lumen.fed_by is FedBy.INJECTOR_NOZZLE:
        return PortKind.NOZZLE
    assert lumen.inlet is not None
    return PortKind.TAPER if lumen.inlet.family == "wide taper" else PortKind.HOSE


def chain_to(lumen: Lumen) -> tuple[str, ...]:
    """Choose the connector chain a technician would choose."""
    if lumen.fed_by is FedBy.INJECTOR_NOZZLE:
        return (_nozzle_for(lumen),)
    assert lumen.inlet is not None
    if lumen.inlet.family == "tube end":
        return ("flushing_sleeve_m",)
    if lumen.inlet.gender == "male":
        return ("luer_adapter_female_female",)
    return ("strainer_fine",) if lumen.strainer_upstream else ()


def _nozzle_for(lumen: Lumen) -> str:
    bore = lumen.segments[0]
    assert bore.shape == "bore"
    nozzles = [(key, part) for key, part in larkmere().accessories.items() if isinstance(part, InjectorNozzle)]
    fitting = [
        (part.outer_m, part.length_m.nominal, key)
        for key, part in nozzles
        if part.outer_m <= 0.7 * bore.bore_m.nominal + 1e-9 and part.length_m.nominal <= bore.length_m.nominal
    ]
    return max(fitting)[2]


@dataclass
class _Want:
    """A lumen that looks for one of some ports."""

    piece: PieceToPlace
    lumen: str
    ports: list[str]


def ports_for(piece: PieceToPlace, lumen: str, carrier_key: str) -> list[str]:
    """List the ports at which a piece finds room and stays, fed through one of its lumens."""
    site, carrier = larkmere(), larkmere().carriers[carrier_key]
    kind = kind_of_port(piece.lumens[lumen])
    chain = [site.accessories[key] for key in chain_to(piece.lumens[lumen])]
    depth = depth_in(piece.lumens[lumen]) or 0.0
    found = []
    for key, port in carrier.ports.items():
        if port.kind is not kind:
            continue
        stands = standing(port, chain, depth)  # type: ignore[arg-type]
        room = clearance(piece.piece_type, stands, carrier, site.machine_kinds[KIND], site.limits.load)
        stays = tipping(piece.piece_type, stands, site.limits.load)
        if room.answer is Answer.YES and stays.answer is Answer.YES:
            found.append(key)
    return found


def depth_in(lumen: Lumen) -> float | None:
    """Return how deep the injector nozzle stands: as deep as it is long."""
    if lumen.fed_by is not FedBy.INJECTOR_NOZZLE:
        return None
    nozzle = larkmere().accessories[_nozzle_for(lumen)]
    assert isinstance(nozzle, InjectorNozzle)
    return nozzle.length_m.nominal


def _matched(wants: list[_Want]) -> list[tuple[_Want, str]]:
    """Match wants to ports by augmenting paths; fail where not all find one."""
    taken: dict[str, int] = {}

    def find(number: int, seen: set[str]) -> bool:
        for port in wants[number].ports:
            if port in seen:
                continue
            seen.add(port)
            if port not in taken or find(taken[port], seen):
                taken[port] = number
                return True
        return False

    for number, want in enumerate(wants):
        assert find(number, set()), f"no port for {want.piece.key} {want.lumen}"
    return [(wants[number], port) for port, number in taken.items()]


@cache
def hand_made_load(load_id: str) -> Load:
    """Put a load together: each piece on a port where it finds room and stays, every other port capped."""
    site = larkmere()
    carrier_key, names = LOADS[load_id]
    carrier = site.carriers[carrier_key]
    pieces = [piece for name in names for piece in pieces_of_set(site, name)]
    ports = _ports_of_pieces_with_several_lumens(pieces, carrier_key)
    wants = [
        _Want(piece, lumen, [port for port in ports_for(piece, lumen, carrier_key) if port not in ports.values()])
        for piece in pieces
        for lumen in piece.lumens
        if (piece.set, piece.key, lumen) not in ports
    ]
    ports |= {(want.piece.set, want.piece.key, want.lumen): port for want, port in _matched(wants)}
    caps = {cap.near.family: key for key, cap in site.accessories.items() if isinstance(cap, Cap)}
    capped = [
        CappedPort(port=key, cap=caps[port.hose.end.family if port.hose else port.end.family])
        for key, port in carrier.ports.items()
        if key not in ports.values()
    ]
    return Load(
        id=load_id,
        carrier=carrier_key,
        machine_kind=KIND,
        machine="Alder",
        programme="gentle_lumen",
        sets=names,
        starts=datetime.fromisoformat("2026-05-12T12:00"),
        ends=datetime.fromisoformat("2026-05-12T13:06"),
        pieces=tuple(_placed(pieces, ports, carrier_key)),
        capped_ports=tuple(capped),
    )


def _ports_of_pieces_with_several_lumens(
    pieces: list[PieceToPlace], carrier_key: str
) -> dict[tuple[str, str, str], str]:
    """Give such a piece the first free port it can stand at and the nearest ones in line that its hoses come from."""
    carrier = larkmere().carriers[carrier_key]
    ports: dict[tuple[str, str, str], str] = {}
    for piece in pieces:
        if len(piece.lumens) < 2:
            continue
        first, *further = piece.lumens
        stand_key = next(key for key in ports_for(piece, first, carrier_key) if key not in ports.values())
        ports[piece.set, piece.key, first] = stand_key
        stands = standing(carrier.ports[stand_key])
        for lumen in further:
            near = (key for key, port in carrier.ports.items() if _hose_reaches(port, piece, stands))
            ports[piece.set, piece.key, lumen] = next(key for key in near if key not in ports.values())
    return ports


def _hose_reaches(port: Port, piece: PieceToPlace, stands: Standing) -> bool:
    bend = hose_bend(port, (), inlet_gap_m(port, piece.piece_type, stands), larkmere().limits.load)
    return port.kind is PortKind.HOSE and bend is not None and bend.answer is Answer.YES


def _placed(
    pieces: list[PieceToPlace], ports: dict[tuple[str, str, str], str], carrier_key: str
) -> Iterable[PlacedPiece]:
    carrier = larkmere().carriers[carrier_key]
    coils, areas = iter(carrier.coil_places), _areas_of_sets(pieces, carrier_key)
    for piece in pieces:
        connections = tuple(
            Connection(
                lumen=key,
                port=ports[piece.set, piece.key, key],
                chain=chain_to(lumen),
                nozzle_depth_m=depth_in(lumen),
            )
            for key, lumen in piece.lumens.items()
        )
        placing = piece.piece_type.placing
        position = {Placing.POD: piece.set, Placing.BASKET: areas[piece.set], Placing.OPTIC_HOLDER: areas[piece.set]}
        standing = placing in {Placing.POD, Placing.OPTIC_HOLDER}
        yield PlacedPiece(
            set=piece.set,
            piece=piece.key,
            placing=placing,
            position=connections[0].port
            if connections
            else next(coils)
            if placing is Placing.COIL_RACK
            else position[placing],
            lumens=connections,
            stands_in=areas[piece.set] if standing else None,
            way_up=piece.piece_type.way_up,
            leans=carrier.ports[connections[0].port].stand.leans if connections else None,
            states=piece.piece_type.states or {},
            net=piece.piece_type.goes_under_net,
        )


def _areas_of_sets(pieces: list[PieceToPlace], carrier_key: str) -> dict[str, str]:
    site = larkmere()
    free = list(site.carriers[carrier_key].basket_areas)
    areas = {}
    for name in dict.fromkeys(piece.set for piece in pieces):
        mine, free = free[: site.sets[name].basket_areas], free[site.sets[name].basket_areas :]
        areas[name] = mine[0]
    return areas

"""Other ways for one lumen of a load: free ports, what is at hand, room for the piece and its hoses."""

from __future__ import annotations

import pytest

from patency.load import Load, PlacedPiece
from patency.plan import other_ways
from tests.demo.larkmere import hand_made_load, larkmere

PLENTY = dict.fromkeys(larkmere().accessories, 99)


def ways(
    load: Load, placed: PlacedPiece, lumen: str, closed: set[str], spare: dict[str, int]
) -> dict[str, tuple[str, ...]]:
    day = larkmere().day
    assert day is not None
    found = other_ways(larkmere(), load, placed, lumen, day.date, closed=closed, spare=spare)
    assert [way.cost for way in found] == sorted(way.cost for way in found)
    return {way.connection.port: way.connection.chain for way in found[::-1]}


def piece(load: Load, name: str) -> PlacedPiece:
    return next(one for one in load.pieces if one.piece.startswith(name) and one.lumens)


def test_a_blocked_port_leaves_only_free_ports_of_a_fitting_kind() -> None:
    load = hand_made_load("L1")
    placed = piece(load, "mod5/1/tube")
    own = placed.lumens[0].port
    found = ways(load, placed, "bore", {own}, PLENTY)
    free = {one.port for one in load.capped_ports}
    assert found
    assert {*found} <= free
    assert all(chain[-1] == "flushing_sleeve_m" for chain in found.values())


def test_nothing_at_hand_leaves_no_way_that_needs_it() -> None:
    load = hand_made_load("L1")
    assert ways(load, piece(load, "mod5/1/tube"), "bore", set(), {}) == {}


@pytest.mark.parametrize("lumen", [0, 1])
def test_both_hoses_of_a_piece_have_to_reach_it_where_it_stands(lumen: int) -> None:
    load = hand_made_load("L2")
    placed = piece(load, "manipulator/1")
    connection = placed.lumens[lumen]
    ports = larkmere().carriers[load.carrier].ports
    capped = tuple(one for one in load.capped_ports)
    # Every hose port but those of this piece is set free, so that distance alone decides.
    alone = load.model_copy(update={"pieces": (placed,), "capped_ports": capped})
    found = ways(alone, placed, connection.lumen, {connection.port}, PLENTY)
    other = placed.lumens[1 - lumen]
    assert found
    assert other.port not in found
    far = [port for port in found if abs(ports[port].at.y_m - ports[other.port].at.y_m) > 0.5]
    assert far == []


def test_an_injector_nozzle_stays_on_nozzle_ports() -> None:
    load = hand_made_load("D1")
    placed = piece(load, "sleeve6/1/sleeve")
    found = ways(load, placed, "bore", {placed.lumens[0].port}, PLENTY)
    ports = larkmere().carriers[load.carrier].ports
    assert {ports[port].kind.value for port in found} <= {"nozzle"}

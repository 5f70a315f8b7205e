"""The pressure along a carrier's manifold, place by place."""

from __future__ import annotations

import pytest

from patency.flow import network_of_load, pressure_along_manifold, solve, solve_load
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import SMALL_PLAN
from tests.small_site import small_department

SITE, LOAD = small_department(), SMALL_PLAN.loads[0]


def test_every_port_stands_once_on_its_circuit_at_its_way_from_the_dock() -> None:
    carrier = larkmere().carriers["Dunlin"]
    load = hand_made_load("D1")
    along = pressure_along_manifold(carrier, solve_load(larkmere(), load), "cleaning")
    found = {port: (name, place) for name, places in along.items() for place in places for port in place.ports}
    assert set(found) == set(carrier.ports)
    assert {port: name for port, (name, _) in found.items()} == {
        port: described.circuit for port, described in carrier.ports.items()
    }
    # Inlet of the header 150 mm, the front rail branches off at 750 mm, its inlet 260 mm, H1 at 10 mm, H2 at 100 mm.
    assert along["front rail"][0].distance_m == pytest.approx(0.900)
    assert found["H1"][1].distance_m == pytest.approx(1.170)
    assert found["H2"][1].distance_m == pytest.approx(1.260)


def test_the_pressures_are_the_heads_of_the_network_solved_by_itself() -> None:
    stage = SITE.programmes[LOAD.programme].stages[0]
    network = network_of_load(SITE, LOAD, stage)
    heads = solve(network.network).heads_m
    along = pressure_along_manifold(SITE.carriers[LOAD.carrier], solve_load(SITE, LOAD), stage.name)
    # Of water at 20 °C, 998.2 kg/m³ by IAPWS-95 (2018). What developing laminar flow costs moves the heads by less.
    node_of = {outlet.id: outlet.node for outlet in network.network.outlets}
    for places in along.values():
        for place in places:
            for port in place.ports:
                head_m = heads[node_of[network.ports[port][0]]]
                assert place.pressure_pa == pytest.approx(head_m * 9.80665 * 998.2, rel=2e-3)


def test_the_pressure_falls_along_every_circuit_and_each_begins_where_it_is_fed() -> None:
    carrier = larkmere().carriers["Lapwing"]
    solved = solve_load(larkmere(), hand_made_load("L3"))
    for stage in solved.stages:
        along = pressure_along_manifold(carrier, solved, stage)
        begins_with = {name: places[0].pressure_pa for name, places in along.items()}
        for name, places in along.items():
            pressures = [place.pressure_pa for place in places]
            distances = [place.distance_m for place in places]
            assert pressures == sorted(pressures, reverse=True)
            assert distances == sorted(distances)
            fed_from = carrier.circuits[name].fed_from
            if fed_from != "dock":
                assert begins_with[name] in [place.pressure_pa for place in along[fed_from]]

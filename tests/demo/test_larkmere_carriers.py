"""The carriers of the demo department as things in space: ports apart, inside, reachable, out of the arms' way."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest

from patency.catalogue import BasketArea, CoilPlace, InjectorNozzle, PortKind
from patency.quantities import Answer
from tests.demo.larkmere import KIND, larkmere

NAMES = ("Lapwing", "Dunlin")
APART_M = 0.05


@pytest.mark.parametrize("name", NAMES)
def test_ports_stand_apart(name: str) -> None:
    ports = larkmere().carriers[name].ports
    for (one, a), (other, b) in combinations(ports.items(), 2):
        distance = math.dist((a.at.x_m, a.at.y_m, a.at.z_m), (b.at.x_m, b.at.y_m, b.at.z_m))
        assert distance >= APART_M, f"{one} and {other}"


@pytest.mark.parametrize("name", NAMES)
def test_ports_stand_inside_the_carrier_above_their_level(name: str) -> None:
    carrier = larkmere().carriers[name]
    for key, port in carrier.ports.items():
        assert 0.02 < port.at.x_m < carrier.width_m - 0.02, key
        assert 0.02 < port.at.y_m < carrier.depth_m - 0.02, key
        assert carrier.levels[port.level].height_m <= port.at.z_m < carrier.height_m, key


@pytest.mark.parametrize("name", NAMES)
def test_the_longest_piece_of_a_port_stays_inside_the_carrier_when_it_leans_back(name: str) -> None:
    carrier = larkmere().carriers[name]
    for key, port in carrier.ports.items():
        back = port.at.y_m + (port.reach_m or 0.0) * math.cos(math.radians(port.stand.inclination_deg))
        assert back < carrier.depth_m, key


@pytest.mark.parametrize("name", NAMES)
def test_the_stated_clearance_is_what_is_left_below_the_sweep_of_the_top_arm(name: str) -> None:
    carrier, arm = larkmere().carriers[name], larkmere().machine_kinds[KIND].arms["top arm"]
    swept_from = arm.height_m - arm.swept_thickness_m / 2
    for key, port in carrier.ports.items():
        assert port.clearance_m == pytest.approx(swept_from - port.at.z_m), key
        plane = carrier.levels[port.level].arm_above_m
        assert plane == pytest.approx(swept_from), key


@pytest.mark.parametrize("name", NAMES)
def test_the_longest_piece_of_a_port_keeps_the_distance_to_the_arm(name: str) -> None:
    distance = larkmere().limits.load.arm_clearance
    assert distance is not None
    for key, port in larkmere().carriers[name].ports.items():
        high = (port.reach_m or 0.0) * math.sin(math.radians(port.stand.inclination_deg))
        assert high + distance.value <= port.clearance_m, key


@pytest.mark.parametrize("name", NAMES)
def test_no_arm_sweeps_through_baskets_or_coils(name: str) -> None:
    carrier = larkmere().carriers[name]
    spaces = [_box(area) for area in carrier.basket_areas.values()]
    spaces += [_box(place) for place in carrier.coil_places.values()]
    for arm in larkmere().machine_kinds[KIND].arms.values():
        low, high = arm.height_m - arm.swept_thickness_m / 2, arm.height_m + arm.swept_thickness_m / 2
        for x, y, z in spaces:
            nearest = math.hypot(_outside(arm.centre_x_m, x), _outside(arm.centre_y_m, y))
            assert nearest >= arm.radius_m or high < z[0] or low > z[1]


@pytest.mark.parametrize("name", NAMES)
def test_baskets_and_coils_do_not_share_space_and_lie_inside(name: str) -> None:
    carrier = larkmere().carriers[name]
    spaces = {key: _box(area) for key, area in carrier.basket_areas.items()}
    spaces |= {key: _box(place) for key, place in carrier.coil_places.items()}
    for (one, a), (other, b) in combinations(spaces.items(), 2):
        assert any(p[1] <= q[0] + 1e-9 or q[1] <= p[0] + 1e-9 for p, q in zip(a, b, strict=True)), f"{one} and {other}"
    for key, space in spaces.items():
        for (low, high), most in zip(space, (carrier.width_m, carrier.depth_m, carrier.height_m), strict=True):
            assert 0.0 <= low < high <= most, key


@pytest.mark.parametrize("name", NAMES)
def test_pieces_on_nozzles_and_tapers_do_not_touch_the_longest_pieces_leaning_over_them(name: str) -> None:
    carrier = larkmere().carriers[name]
    upright = [port for port in carrier.ports.values() if port.kind is not PortKind.HOSE]
    for port in upright:
        top = port.at.z_m + (0.19 if port.kind is PortKind.TAPER else 0.16)
        for other in carrier.ports.values():
            along = port.at.y_m - other.at.y_m
            if other.kind is PortKind.HOSE and along > 0:
                over = other.at.z_m + along * math.tan(math.radians(other.stand.inclination_deg))
                assert over > top + 0.02


@pytest.mark.parametrize("name", NAMES)
def test_pipes_are_long_enough_for_the_distances_between_their_ports(name: str) -> None:
    carrier = larkmere().carriers[name]
    for circuit in carrier.circuits:
        row = sorted((p for p in carrier.ports.values() if p.circuit == circuit), key=lambda port: port.along_m)
        for near, far in pairwise(row):
            straight = math.dist((near.at.x_m, near.at.y_m), (far.at.x_m, far.at.y_m))
            if circuit != "header":
                assert far.along_m - near.along_m == pytest.approx(straight, abs=0.04)
            assert far.along_m > near.along_m


@pytest.mark.parametrize("name", NAMES)
def test_each_nozzle_bore_of_the_demo_has_a_nozzle_of_at_most_seventy_percent(name: str) -> None:
    site = larkmere()
    nozzles = [part for part in site.accessories.values() if isinstance(part, InjectorNozzle)]
    thread = next(port.end for port in site.carriers[name].ports.values() if port.kind is PortKind.NOZZLE)
    for bore, length in ((4.0, 70), (5.5, 90), (5.8, 160), (6.0, 150), (6.2, 105), (11.5, 110), (13.5, 110)):
        fitting = [n for n in nozzles if n.outer_m * 1000 <= 0.7 * bore and n.length_m.nominal * 1000 <= length]
        assert fitting, bore
        assert all(nozzle.near.mates_with(thread) is Answer.YES for nozzle in fitting)
        # A jet goes on where the nozzle ends; half a bore on its own is what the demo allows.
        assert max(nozzle.length_m.nominal for nozzle in fitting) * 1000 >= 0.5 * length


def test_wide_nozzles_have_side_holes_that_stand_inside_the_bore() -> None:
    for key in ("nozzle_wide", "nozzle_extra_wide"):
        nozzle = larkmere().accessories[key]
        assert isinstance(nozzle, InjectorNozzle)
        assert nozzle.side_holes
        assert all(0.0 < holes.from_inlet_m < nozzle.length_m.nominal for holes in nozzle.side_holes)


def _box(space: BasketArea | CoilPlace) -> tuple[tuple[float, float], ...]:
    at = space.at
    if isinstance(space, BasketArea):
        return (
            (at.x_m, at.x_m + space.width_m),
            (at.y_m, at.y_m + space.depth_m),
            (at.z_m, at.z_m + space.clear_height_m),
        )
    radius = space.mandrel_diameter_m / 2 + space.pitch_m
    return (
        (at.x_m, at.x_m + space.turns * space.pitch_m),
        (at.y_m - radius, at.y_m + radius),
        (at.z_m - radius, at.z_m + radius),
    )


def _outside(value: float, span: tuple[float, float]) -> float:
    return max(span[0] - value, value - span[1], 0.0)

"""Every single fault of a load is listed once, and drawn as what it leaves open."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest

from patency.flow import Bore, Fault, FaultKind, Orifice, faults_of_load, network_of_load
from patency.flow.faults.listing import FaultList
from tests.demo.larkmere import LOADS, hand_made_load, larkmere
from tests.flow.one_port import HOSE, bore, connected, nozzle, one_load, one_port, over_nozzle, sleeve
from tests.small_plan import LOAD, NOON_LOAD
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import Link, Outlet
    from patency.load import Load

KEY = ("One", "thing/1/tube", "bore")
TUBE = {"family": "tube", "gender": "male", "size": "5 ± 0.05 mm"}
K = FaultKind


def listed(department: Department, load: Load) -> FaultList:
    programme = department.programmes[load.programme]
    return faults_of_load(department, load, network_of_load(department, load, programme.stages[0]))


def kinds_at(faults: FaultList, place: str) -> list[FaultKind]:
    return [fault.kind for fault in faults.faults if fault.place == place]


def drawn(faults: FaultList, name: str) -> Link | Outlet:
    paths: tuple[Link | Outlet, ...] = (*faults.network.links, *faults.network.outlets)
    (found,) = [path for path in paths if path.id == name]
    return found


def one_port_faults(lumen: dict[str, Any], chain: list[str], accessories: dict[str, Any], **port: Any) -> FaultList:  # noqa: ANN401
    return listed(one_port(lumen, accessories, port), one_load(chain))


def test_the_small_load_has_these_faults_and_no_others() -> None:
    faults = listed(small_department(SMALL_SITE), NOON_LOAD)
    machine = [K.SIEVE_CLOGGED, K.PUMP_AT_90, K.PUMP_AT_80]
    assert {place: kinds_at(faults, place) for place in (*(f"{x}" for x in ("N1", "N2", "H1", "H2", "H3", "T1")),)} == {
        "N1": [K.CAP_MISSING],
        "N2": [K.PIECE_OFF_NOZZLE, K.BLOCKED, K.HALF_BLOCKED],
        "H1": [K.CAP_MISSING],
        "H2": [K.CAP_MISSING],
        "H3": [K.HOSE_OFF_PORT, K.HOSE_OFF_PIECE, K.BLOCKED, K.HALF_BLOCKED, K.ROD_LYING],
        "T1": [K.CAP_MISSING],
    }
    assert kinds_at(faults, "lower") == kinds_at(faults, "upper") == [K.ARM_STUCK]
    assert kinds_at(faults, "machine") == machine
    assert faults.not_computed == (
        "arm lost, lower: the feed it would leave open is not described",
        "arm lost, upper: the feed it would leave open is not described",
    )


@pytest.mark.parametrize("load_id", LOADS)
def test_no_two_faults_have_one_name_and_every_lumen_and_cap_has_its_own(load_id: str) -> None:
    load = hand_made_load(load_id)
    faults = listed(larkmere(), load)
    assert max(Counter(fault.name for fault in faults.faults).values()) == 1
    lumens = {(piece.set, piece.piece, connection.lumen) for piece in load.pieces for connection in piece.lumens}
    for kind in (K.BLOCKED, K.HALF_BLOCKED):
        assert {fault.lumen for fault in faults.faults if fault.kind is kind} == lumens
    caps = [fault.place for fault in faults.faults if fault.kind is K.CAP_MISSING]
    assert caps == [
        port for port in larkmere().carriers[load.carrier].ports if port in {c.port for c in load.capped_ports}
    ]


def test_faults_follow_the_walk_along_the_ports_and_end_with_the_machine() -> None:
    load = hand_made_load("L2")
    walk = list(larkmere().carriers[load.carrier].ports)
    places = [fault.place for fault in listed(larkmere(), load).faults]
    ports = [walk.index(place) for place in places if place in walk]
    assert ports == sorted(ports)
    assert not set(places[len(ports) :]) & set(walk)


def test_whatever_a_fault_would_open_is_closed_in_the_load_as_planned() -> None:
    load = hand_made_load("L2")
    faults = listed(larkmere(), load)
    planned = {
        outlet.id
        for outlet in network_of_load(larkmere(), load, larkmere().programmes[load.programme].stages[0]).network.outlets
    }
    added = [outlet for outlet in faults.network.outlets if outlet.id not in planned]
    assert added
    assert {outlet.state for outlet in added} == {"closed"}
    opened = {name for case in faults.cases for name in case.change.opens}
    assert {outlet.id for outlet in added} <= opened


def test_a_hose_can_come_off_the_port_or_off_the_piece() -> None:
    faults = one_port_faults(connected(bore("4.2 mm"), inlet=TUBE), ["s"], {"s": sleeve()}, hose=HOSE)
    port, piece = drawn(faults, "hose off at the port, P"), drawn(faults, "hose off at the piece, P")
    assert [part.diameter_m for part in port.segments if isinstance(part, Bore)] == [8e-3]
    assert [part.diameter_m for part in piece.segments if isinstance(part, Bore)] == [8e-3, 4e-3, 2e-3, 3e-3]


def test_a_loose_hose_in_the_chain_can_come_off_and_a_piece_without_hose_comes_off_whole() -> None:
    hose = {
        "kind": "hose",
        "name": "hose",
        "stock": 1,
        "near": {"family": "thread", "gender": "female"},
        "far": {"family": "luer", "gender": "male"},
        "bore": "4 mm",
        "length": "500 mm",
        "outer": "6 mm",
    }
    with_hose = one_port_faults(connected(bore("2 mm")), ["h"], {"h": hose})
    assert kinds_at(with_hose, "P")[:2] == [K.HOSE_OFF_PORT, K.HOSE_OFF_PIECE]
    assert kinds_at(one_port_faults(connected(bore("2 mm")), [], {}), "P") == [
        K.PIECE_OFF_PORT,
        K.BLOCKED,
        K.HALF_BLOCKED,
    ]


def test_a_blocked_lumen_in_an_open_sleeve_leaves_the_water_outside_the_tube() -> None:
    faults = one_port_faults(connected(bore("4.2 mm"), inlet=TUBE), ["s"], {"s": sleeve(end_cap=False)}, hose=HOSE)
    (blocked,) = [case for case in faults.cases if case.fault.kind is K.BLOCKED]
    assert blocked.change.closes == ("lumen One thing/1/tube bore",)
    (off,) = [case for case in faults.cases if case.fault.kind is K.HOSE_OFF_PORT]
    assert off.change.closes == ("lumen One thing/1/tube bore", "lumen One thing/1/tube bore outside")


def test_half_blocked_is_half_the_area_along_the_whole_lumen() -> None:
    faults = one_port_faults(connected(bore("2 mm"), bore("3 mm")), [], {})
    (half,) = [case.change for case in faults.cases if case.fault.kind is K.HALF_BLOCKED]
    squares = [part.diameter_m**2 for part in half.segments.values() if isinstance(part, Bore)]
    assert squares == pytest.approx([2e-6, 4.5e-6])


def test_a_sleeve_without_its_end_cap_lets_water_out_along_the_tube() -> None:
    faults = one_port_faults(connected(bore("4.2 mm"), inlet=TUBE), ["s"], {"s": sleeve()}, hose=HOSE)
    (missing,) = [case for case in faults.cases if case.fault.kind is K.END_CAP_MISSING]
    path = missing.change.moved[KEY]
    assert path.outside in missing.change.opens
    assert missing.change.closes == ("lumen One thing/1/tube bore",)
    open_sleeve = one_port_faults(connected(bore("4.2 mm"), inlet=TUBE), ["s"], {"s": sleeve(end_cap=False)}, hose=HOSE)
    assert K.END_CAP_MISSING not in kinds_at(open_sleeve, "P")


def test_the_next_narrower_and_the_next_wider_nozzle_can_stand_in_place_of_the_right_one() -> None:
    nozzles = {name: nozzle(name=name, outlet=size) for name, size in (("a", "1 mm"), ("b", "1.5 mm"), ("d", "3 mm"))}
    faults = one_port_faults(over_nozzle(bore("10 mm")), ["n"], {"n": nozzle(), **nozzles})
    wrong = [fault for fault in faults.faults if fault.kind is K.WRONG_NOZZLE]
    assert [fault.detail for fault in wrong] == ["b", "d"]
    last = drawn(faults, "lumen One thing/1/tube bore, d").segments[-1]
    assert isinstance(last, Orifice)
    assert last.diameter_m == pytest.approx(3e-3)


def test_a_strainer_and_the_sieve_half_clogged_cost_four_times_their_stated_loss() -> None:
    strainer = {
        "kind": "strainer",
        "name": "strainer",
        "stock": 1,
        "near": {"family": "thread", "gender": "female"},
        "far": {"family": "luer", "gender": "male"},
        "bore": "4 mm",
        "length": "30 mm",
        "loss": "8",
    }
    faults = one_port_faults(connected(bore("2 mm")), ["s"], {"s": strainer})
    (clogged,) = [case.change for case in faults.cases if case.fault.kind is K.STRAINER_CLOGGED]
    ((place, segment),) = clogged.segments.items()
    before = drawn(faults, place[0]).segments[place[1]]
    assert isinstance(segment, Bore)
    assert isinstance(before, Bore)
    assert segment.minor_loss - before.minor_loss == pytest.approx(24.0)
    small = listed(small_department(SMALL_SITE), LOAD)
    (sieve,) = [case.change for case in small.cases if case.fault.kind is K.SIEVE_CLOGGED]
    ((place, segment),) = sieve.segments.items()
    assert place == ("discharge", 0)
    assert isinstance(segment, Bore)
    assert segment.minor_loss == pytest.approx(8.0)


def test_an_arm_that_is_lost_leaves_its_feed_open() -> None:
    faults = listed(larkmere(), hand_made_load("L2"))
    (lost,) = [case.change for case in faults.cases if case.fault == Fault(K.ARM_LOST, "top arm")]
    ((place, end),) = lost.segments.items()
    assert place == ("arm top arm", 1)
    assert isinstance(end, Orifice)
    assert (end.diameter_m, end.discharge_coefficient) == pytest.approx((0.032, 1.0))


def test_a_programme_that_drives_no_water_through_ports_leaves_the_machine_s_faults_alone() -> None:
    site = small_department(changed(SMALL_SITE, "    for_lumens: true", "    for_lumens: false"))
    assert {fault.place for fault in listed(site, LOAD).faults} == {"lower", "upper", "machine"}


def test_two_faults_at_once_close_and_open_what_both_do() -> None:
    cases = {case.fault.name: case.change for case in listed(small_department(SMALL_SITE), NOON_LOAD).cases}
    both = cases["cap missing, H1"] + cases["pump at 90 % of its speed, machine"] + cases["lumen blocked, H3"]
    assert both.opens == ("port H1",)
    assert both.closes == ("lumen Noon fix5/1/whole shaft",)
    assert both.pump_speed == pytest.approx(0.9)
    assert (cases["cap missing, H1"] + cases["pump at 90 % of its speed, machine"]).pump_speed == 0.9

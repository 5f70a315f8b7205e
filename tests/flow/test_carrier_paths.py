"""Pump, arms, dock and circuits of a carrier become links and outlets where they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from patency.errors import InputError
from patency.flow import Bore, Orifice, PumpPoints, network_of_load
from patency.flow.carrier_paths import circuit_node, pump_at
from tests.flow.one_port import is_opening
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, changed, small_department

if TYPE_CHECKING:
    from patency.flow import Segment

STAGE = small_department(SMALL_SITE).programmes["gentle"].stages[0]


def parts(site: dict[str, str] | None = None) -> dict[str, tuple[str, str, tuple[Segment, ...]]]:
    network = network_of_load(small_department(site or SMALL_SITE), LOAD, STAGE).network
    links = {link.id: (link.from_node, link.to_node, link.segments) for link in network.links}
    return links | {outlet.id: (outlet.node, "", outlet.segments) for outlet in network.outlets}


def test_the_pump_runs_at_its_own_speed_times_that_of_the_stage() -> None:
    site = changed(SMALL_SITE, "      relative_speed: 1\n", "      relative_speed: 0.9\n")
    pump = pump_at(small_department(site).machine_kinds["front_loader"], 0.8, None)
    assert isinstance(pump, PumpPoints)
    assert pump.relative_speed == pytest.approx(0.72)
    unsaid = pump_at(small_department(site).machine_kinds["front_loader"], None, None)
    assert unsaid.relative_speed == 0.9
    assert pump.sump_level_m == -0.15
    assert pump.points[0] == (0.0, 7.0)


def test_the_water_runs_from_the_sump_over_machine_and_dock_along_the_circuits() -> None:
    ways = {name: (start, end) for name, (start, end, _) in parts().items() if end}
    assert ways == {
        "discharge": ("SUMP", "machine"),
        "dock": ("machine", "dock"),
        "riser to 100 mm": ("dock", "riser at 100 mm"),
        "riser to 200 mm": ("riser at 100 mm", "riser at 200 mm"),
        "riser to 280 mm": ("riser at 200 mm", "riser at 280 mm"),
        "riser to 350 mm": ("riser at 280 mm", "riser at 350 mm"),
        "hoses to 50 mm": ("riser at 100 mm", "hoses at 50 mm"),
        "hoses to 100 mm": ("hoses at 50 mm", "hoses at 100 mm"),
        "hoses to 150 mm": ("hoses at 100 mm", "hoses at 150 mm"),
    }


def test_a_circuit_begins_with_its_inlet_and_goes_on_as_pipe() -> None:
    inlet, pipe = parts()["riser to 100 mm"][2]
    assert isinstance(inlet, Bore)
    assert isinstance(pipe, Bore)
    assert (inlet.diameter_m, inlet.length_m) == (0.025, 0.3)
    assert inlet.minor_loss == pytest.approx(1.1 + 0.5 * (1.0 - (25.0 / 32.0) ** 2))
    assert (pipe.diameter_m, pipe.length_m, pipe.minor_loss) == (0.025, 0.1, 0.0)


def test_a_circuit_that_branches_off_another_pays_for_the_turn_once() -> None:
    (first,) = parts()["hoses to 50 mm"][2]
    (second,) = parts()["hoses to 100 mm"][2]
    assert isinstance(first, Bore)
    assert isinstance(second, Bore)
    assert (first.minor_loss, second.minor_loss) == (1.0, 0.0)
    assert (first.length_m, second.length_m) == pytest.approx((0.05, 0.05))


def test_an_arm_is_the_one_opening_of_all_its_nozzles_at_its_height() -> None:
    load_network = network_of_load(small_department(SMALL_SITE), LOAD, STAGE)
    arm = next(outlet for outlet in load_network.network.outlets if outlet.id == load_network.arms["upper"])
    assert arm.node == "machine"
    assert arm.elevation_m == 0.54
    (jets,) = arm.segments
    assert is_opening(jets, 10 * 4e-3**2, 0.8)


def test_an_arm_on_the_carrier_hangs_behind_the_dock_with_its_feed() -> None:
    arm = "      upper:\n        fed_from: dock\n        feed: [{shape: bore, bore: 20 mm, length: 100 mm}]\n"
    stated = SMALL_SITE["machines.yaml"].replace("        feed: []\n", "")
    site = changed({**SMALL_SITE, "machines.yaml": stated}, "      upper:\n        fed_from: machine\n", arm)
    node, _, (feed, jets) = parts(site)["arm upper"]
    assert node == "dock"
    assert isinstance(feed, Bore)
    assert feed.minor_loss == pytest.approx(0.5 * (1.0 - (20.0 / 32.0) ** 2))
    assert isinstance(jets, Orifice)


def dock_loss(site: dict[str, str]) -> float:
    (dock,) = parts(site)["dock"][2]
    assert isinstance(dock, Bore)
    return dock.minor_loss


def test_the_dock_pays_for_a_widening_only_where_all_its_water_goes_on_there() -> None:
    narrow = 1.5 + 0.5 * (1.0 - (32.0 / 50.0) ** 2)
    wide = changed(SMALL_SITE, "inlet: [{shape: bore, bore: 25 mm,", "inlet: [{shape: bore, bore: 40 mm,")
    without_inlet = changed(
        changed(SMALL_SITE, "        bore: 25 mm\n        inlet:", "        bore: 40 mm\n        inlet:"),
        "        inlet: [{shape: bore, bore: 25 mm, length: 300 mm, loss: 1.1}]\n",
        "",
    )
    parted = changed(wide, "      upper:\n        fed_from: machine\n", "      upper:\n        fed_from: dock\n")
    widening = (1.0 - (32.0 / 40.0) ** 2) ** 2
    assert dock_loss(dict(SMALL_SITE)) == pytest.approx(narrow)
    assert dock_loss(wide) == pytest.approx(narrow + widening)
    assert dock_loss(without_inlet) == pytest.approx(narrow + widening)
    assert dock_loss(parted) == pytest.approx(narrow)


def test_a_branch_at_the_very_inlet_of_a_circuit_without_inlet_hangs_where_the_circuit_does() -> None:
    site = changed(SMALL_SITE, "along: 50 mm", "along: 0 mm")
    carrier = small_department(site).carriers["Wren"]
    assert circuit_node(carrier, "hoses", 0.0) == "riser at 100 mm"
    ways = parts(site)
    assert "hoses to 0 mm" not in ways
    assert ways["hoses to 100 mm"][:2] == ("riser at 100 mm", "hoses at 100 mm")
    assert ways["lumen Morning mod5/1/tube bore"][0] == "riser at 100 mm"


def test_a_branch_at_the_end_of_an_inlet_stands_behind_the_inlet() -> None:
    site = changed(SMALL_SITE, "branches_at: 100 mm", "branches_at: 0 mm")
    ways = parts(site)
    (inlet,) = ways["riser to 0 mm"][2]
    assert isinstance(inlet, Bore)
    assert ways["hoses to 50 mm"][0] == "riser at 0 mm"
    (pipe,) = ways["riser to 200 mm"][2]
    assert isinstance(pipe, Bore)
    assert pipe.minor_loss == 0.0


def test_ports_at_the_same_place_share_a_node() -> None:
    site = changed(SMALL_SITE, "        along: 280 mm\n", "        along: 200 mm\n")
    ways = parts(site)
    assert ways["lumen Noon sleeve11/1/sleeve bore"][0] == ways["lumen Morning sleeve11/1/sleeve bore"][0]


def test_an_unknown_circuit_is_refused() -> None:
    carrier = small_department(SMALL_SITE).carriers["Wren"]
    with pytest.raises(InputError, match="no circuit 'attic'"):
        circuit_node(carrier, "attic", 0.0)

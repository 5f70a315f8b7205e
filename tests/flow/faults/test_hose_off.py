"""A hose that comes off hardly shows at the sensor: least and most of what it does."""

from __future__ import annotations

import pytest

from patency.flow import flow_of_load, nominal_flow_of_load, solve
from patency.flow.from_load import network_of_load
from tests.flow.one_port import bore, connected, nozzle, one_load, one_port, over_nozzle
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, small_department

DEPARTMENT = small_department(SMALL_SITE)


def test_the_most_is_what_a_network_drawn_without_the_hose_shows() -> None:
    # Independent way: a load in which the hose of H3 is cut off its port and nothing stands on it.
    planned = nominal_flow_of_load(DEPARTMENT, LOAD).stages["cleaning"].circulation_pa.nominal
    cut = DEPARTMENT.model_copy(deep=True)
    port = cut.carriers["Wren"].ports["H3"]
    cut.carriers["Wren"].ports["H3"] = port.model_copy(update={"hose": None})
    without = LOAD.model_copy(update={"pieces": tuple(piece for piece in LOAD.pieces if piece.position != "H3")})
    network = network_of_load(cut, without, cut.programmes["gentle"].stages[1]).network
    off = solve(network).heads_m["machine"] * 985.71 * 9.80665  # density of water at 55 °C
    lowest, highest = flow_of_load(DEPARTMENT, LOAD).hose_off_pressure_change_pa["cleaning"]
    assert lowest == pytest.approx(off - planned, rel=0.05)
    assert lowest < highest


def test_every_wet_stage_has_its_changes_and_all_are_small() -> None:
    load_flow = flow_of_load(DEPARTMENT, LOAD)
    assert list(load_flow.hose_off_pressure_change_pa) == list(load_flow.stages)
    for name, (lowest, highest) in load_flow.hose_off_pressure_change_pa.items():
        assert -0.01 * load_flow.stages[name].circulation_pa.nominal < lowest <= highest
        assert lowest < 0.0


def test_a_load_on_nozzles_only_has_no_hose_to_lose() -> None:
    department = one_port(over_nozzle(bore("10 mm")), {"n": nozzle()})
    load = one_load(["n"], 0.05)
    assert flow_of_load(department, load).hose_off_pressure_change_pa == {}


def test_a_lumen_right_on_a_thread_has_no_hose_to_lose() -> None:
    assert flow_of_load(one_port(connected(bore("2 mm"))), one_load()).hose_off_pressure_change_pa == {}

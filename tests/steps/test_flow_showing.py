"""What the charts of a load's flow are handed is what was computed, in the order of the ports."""

from __future__ import annotations

from patency.flow import fed, flow_of_load, least_values
from patency.steps import flow_of_plan, flow_pictures
from patency.steps.weakest import weakest_lumens
from tests.demo.larkmere import hand_made_load, larkmere
from tests.small_plan import SMALL_PLAN
from tests.small_site import small_department


def test_every_connected_lumen_is_handed_over_with_its_interval_in_the_order_of_the_ports() -> None:
    department, load = larkmere(), hand_made_load("L3")
    plan = SMALL_PLAN.model_copy(update={"loads": (load,)})
    (shown,) = flow_of_plan(department, plan, "L3")
    water = flow_of_load(department, load)
    least, replies = least_values(department, load, water, plan.day), fed(department, load, water, plan.day)
    at = {
        connection.port: (placed.set, placed.piece, connection.lumen)
        for placed in load.pieces
        for connection in placed.lumens
    }
    ports = [port for port in department.carriers[load.carrier].ports if port in at]
    assert [bar.name.rpartition(" ")[2] for bar in shown.bars] == ports
    for port, bar in zip(ports, shown.bars, strict=True):
        lumen = water.lumens[at[port]]
        assert (bar.flow_m3_s, bar.shear_pa) == (lumen.flow_m3_s, lumen.shear_pa)
        assert (bar.least_flow, bar.least_shear) == (least[at[port]].flow_m3_s, least[at[port]].shear_pa)
    looked_at = {line.port for line in weakest_lumens(department, load, water, replies, 5)}
    assert {port for port, bar in zip(ports, shown.bars, strict=True) if bar.weak} == looked_at
    assert shown.stage == min(water.stages, key=lambda name: water.stages[name].circulation_pa.nominal)


def test_a_load_without_connected_lumen_gets_the_manifold_alone() -> None:
    load = SMALL_PLAN.loads[0]
    bare = load.model_copy(update={"pieces": tuple(piece for piece in load.pieces if not piece.lumens)})
    shown = flow_of_plan(small_department(), SMALL_PLAN.model_copy(update={"loads": (bare,)}))
    assert list(flow_pictures(shown)) == ["load-L1-manifold.svg"]

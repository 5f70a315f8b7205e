"""A lumen, its side holes, the gap outside a tube and the jet of a nozzle become links and outlets as they are."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pytest

from patency.flow import Annulus, Bore, network_of_load, nominal_flow_of_load
from tests.flow.one_port import HOSE, bore, connected, is_opening, nozzle, one_load, one_port, over_nozzle, sleeve

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import Link, Outlet
    from patency.flow.lumen_paths import LumenPath
    from patency.load import Load

KEY = ("One", "thing/1/tube", "bore")
NAME = "lumen One thing/1/tube bore"
TUBE = {"family": "tube", "gender": "male", "size": "5 ± 0.05 mm"}
UPRIGHT = {"stand": {"inclination": "90 °", "support_at": "50 mm"}}


def drawn(department: Department, load: Load) -> tuple[LumenPath, dict[str, Link], dict[str, Outlet]]:
    load_network = network_of_load(department, load, department.programmes["gentle"].stages[0])
    network = load_network.network
    path = load_network.lumens[KEY]
    assert load_network.ports == {"P": path.outlets}
    links = {link.id: link for link in network.links if link.id not in load_network.shared}
    return path, links, {outlet.id: outlet for outlet in network.outlets}


def with_sleeve(lumen: dict[str, Any], **changes: Any) -> tuple[Department, Load]:  # noqa: ANN401
    return one_port(lumen, {"s": sleeve(**changes)}, {"hose": HOSE, **UPRIGHT}), one_load(["s"])


def test_a_plain_lumen_is_one_outlet_with_its_chain_before_it() -> None:
    path, links, outlets = drawn(one_port(connected(bore("2 mm"), bore("3 mm")), port=UPRIGHT), one_load())
    assert links == {}
    outlet = outlets[NAME]
    assert [segment.diameter_m for segment in outlet.segments if isinstance(segment, Bore)] == [8e-3, 2e-3, 3e-3]
    assert (path.entry, path.own) == ((NAME, 1), ((NAME, 1), (NAME, 2)))
    assert outlet.exit_loss == 1.0
    assert outlet.elevation_m == pytest.approx(0.6)
    assert path.inlet_elevation_m == 0.0
    assert path.jet is None


def test_steps_along_chain_and_lumen_are_charged_where_they_are() -> None:
    _, _, outlets = drawn(one_port(connected(bore("2 mm"), bore("4 mm"))), one_load())
    losses = [segment.minor_loss for segment in outlets[NAME].segments if isinstance(segment, Bore)]
    assert losses == pytest.approx([1.0, 0.5 * (1.0 - 1.0 / 16.0) + 0.5625, 0.0])


def test_side_holes_let_water_out_on_the_way_and_the_lumen_goes_on_behind_them() -> None:
    holes = [{"count": 4, "diameter": "1 mm", "from_inlet": "100 mm"}]
    path, links, outlets = drawn(one_port(connected(bore("4 mm"), side_holes=holes), port=UPRIGHT), one_load())
    before, opening = links[f"{NAME} to side hole 1"], outlets[f"{NAME} side hole 1"]
    assert before.to_node == opening.node == outlets[NAME].node
    (holes_together,) = opening.segments
    assert is_opening(holes_together, 4e-6, 0.61)
    assert (opening.elevation_m, opening.exit_loss) == pytest.approx((0.1, 0.0))
    assert path.own == ((before.id, 1), (NAME, 0))
    assert path.side_holes == ((opening.id, NAME),)
    assert path.outlets == (opening.id, NAME)


def test_a_capped_sleeve_leads_into_the_bore_only() -> None:
    path, links, outlets = drawn(*with_sleeve(connected(bore("4.2 mm"), inlet=TUBE)))
    assert links == {}
    assert list(outlets) == [NAME]
    assert path.entry == (NAME, 4)


def test_an_open_sleeve_parts_its_water_between_the_bore_and_the_gap_outside() -> None:
    lumen = connected(bore("4.2 mm"), inlet=TUBE, grip="60 mm")
    path, links, outlets = drawn(*with_sleeve(lumen, end_cap=False))
    chamber, outside = links[f"{NAME} sleeve"], outlets[f"{NAME} outside"]
    assert chamber.to_node == outside.node == outlets[NAME].node
    passage = chamber.segments[-1]
    (gap,) = outside.segments
    assert isinstance(passage, Bore)
    assert isinstance(gap, Annulus)
    assert passage.minor_loss == pytest.approx((1.0 - (3.0 / 5.4) ** 2) ** 2)
    assert (gap.outer_diameter_m, gap.inner_diameter_m, gap.length_m) == pytest.approx((5.4e-3, 5e-3, 0.035))
    assert gap.minor_loss == pytest.approx(0.5 * (1.0 - (5.4**2 - 5.0**2) / 5.4**2))
    assert outside.elevation_m == pytest.approx(0.035)
    (inside,) = outlets[NAME].segments
    assert isinstance(inside, Bore)
    assert inside.minor_loss == pytest.approx(0.5 * (1.0 - (4.2 / 5.4) ** 2))
    assert path.own == ((NAME, 0),)
    assert set(path.outlets) == {NAME, outside.id}


def test_an_open_sleeve_takes_flow_from_the_bore_that_a_capped_one_leaves_it() -> None:
    lumen = connected(bore("4.2 mm"), inlet=TUBE)
    capped = nominal_flow_of_load(*with_sleeve(lumen)).lumens[KEY].flow_m3_s.nominal
    parted = nominal_flow_of_load(*with_sleeve(lumen, end_cap=False)).lumens[KEY].flow_m3_s.nominal
    assert 0.5 * capped < parted < capped


def test_an_open_sleeve_narrower_than_the_tube_closes_around_it() -> None:
    path, _, _ = drawn(*with_sleeve(connected(bore("4.2 mm"), inlet=TUBE), end_cap=False, inner="4.8 mm"))
    assert path.outlets == (NAME,)


def test_a_tube_without_stated_end_is_as_wide_as_it_is_drawn() -> None:
    _, _, outlets = drawn(*with_sleeve(connected(bore("4.2 mm")), end_cap=False))
    (gap,) = outlets[f"{NAME} outside"].segments
    assert isinstance(gap, Annulus)
    assert gap.inner_diameter_m == 5e-3


def test_side_holes_behind_an_open_sleeve_are_drawn_too() -> None:
    holes = [{"count": 4, "diameter": "1 mm", "from_inlet": "280 mm"}]
    lumen = connected(bore("4.2 mm"), inlet=TUBE, side_holes=holes)
    path, links, outlets = drawn(*with_sleeve(lumen, end_cap=False))
    assert set(links) == {f"{NAME} sleeve", f"{NAME} to side hole 1"}
    assert set(outlets) == set(path.outlets) == {NAME, f"{NAME} outside", f"{NAME} side hole 1"}


def jet_department(**changes: Any) -> Department:  # noqa: ANN401
    return one_port(over_nozzle(bore("10 mm", "100 mm")), {"n": nozzle(**changes)}, UPRIGHT)


def test_a_nozzle_leaves_as_a_jet_at_its_tip() -> None:
    path, links, outlets = drawn(jet_department(), one_load(["n"], 0.06))
    assert links == {}
    outlet = outlets[NAME]
    assert is_opening(outlet.segments[-1], 4e-6, 0.8)
    assert (outlet.exit_loss, outlet.elevation_m) == pytest.approx((0.0, 0.08))
    assert (path.entry, path.own, path.inlet_elevation_m) == ((NAME, 1), (), 0.0)
    assert path.jet is not None
    assert (path.jet.share_inside, path.jet.share_tip) == (1.0, 1.0)
    assert path.jet.climb_m == pytest.approx(0.04)


@pytest.mark.parametrize(("depth_m", "inside"), [(0.06, 8.0 / 12.0), (0.07, 1.0), (None, 4.0 / 12.0)])
def test_side_holes_count_only_where_they_stand_inside_the_bore(depth_m: float | None, inside: float) -> None:
    holes = [
        {"count": 4, "diameter": "1 mm", "from_inlet": "40 mm"},
        {"count": 4, "diameter": "1 mm", "from_inlet": "10 mm"},
    ]
    path, _, _ = drawn(jet_department(side_holes=holes), one_load(["n"], depth_m))
    assert path.jet is not None
    assert path.jet.share_inside == pytest.approx(inside)
    assert path.jet.share_tip == pytest.approx(4.0 / 12.0)


def test_a_jet_whose_depth_nobody_states_has_the_whole_bore_to_climb() -> None:
    path, _, _ = drawn(jet_department(), one_load(["n"]))
    assert path.jet is not None
    assert path.jet.climb_m == pytest.approx(0.1)


def test_the_share_that_can_leave_by_the_far_end_is_at_most_the_tip_s() -> None:
    holes = [{"count": 4, "diameter": "1 mm", "from_inlet": "70 mm"}]
    flow = nominal_flow_of_load(jet_department(side_holes=holes), one_load(["n"], 0.06)).lumens[KEY]
    assert flow.jet is not None
    assert flow.jet.reaches_the_far_end
    assert flow.jet.rise_m == pytest.approx(flow.velocity_m_s.low**2 / (2.0 * 9.80665))
    assert (flow.jet.share_through_low, flow.jet.share_through_high) == pytest.approx((0.0, 0.5))


def test_a_jet_too_weak_for_the_bore_does_not_reach_the_far_end() -> None:
    department = one_port(over_nozzle(bore("10 mm", "2.5 m")), {"n": nozzle(length="50 mm")}, UPRIGHT)
    flow = nominal_flow_of_load(department, one_load(["n"], 0.04)).lumens[KEY]
    assert flow.jet is not None
    assert not flow.jet.reaches_the_far_end
    assert flow.jet.share_through_high == 0.0
    assert math.isclose(flow.jet.climb_m, 2.46)

"""How water behaves in networks, worked out by both kernels: caps, dry outlets, dead ends, loops, pumps, traps."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from patency.errors import PhysicsError
from patency.flow import (
    Bore,
    Link,
    Network,
    Orifice,
    Outlet,
    PumpLaw,
    PumpPoints,
    Water,
    compile_network,
    solve,
    wall_shear_pa,
)
from patency.flow.compiled_network import water_state
from patency.flow.machine_code import Kernel
from patency.flow.solver import solve_compiled
from tests.flow.random_networks import network_of_thin_gaps, random_networks
from tests.flow.small_networks import LUMEN, RESERVOIR, under_head, under_pressure

PIPE = Bore(diameter_m=10e-3, length_m=0.5, roughness_m=1.5e-6, minor_loss=0.5)
WATER = Water(temperature_c=45.0)
PUMP = PumpLaw(shutoff_head_m=5.0, coefficient=5.0 / 1e-3**2, exponent=2.0)  # run-out at 60 L/min

both = pytest.mark.parametrize("kernel", list(Kernel))


def outlet(name: str, node: str, elevation_m: float = 0.0, segment: Bore | Orifice = LUMEN) -> Outlet:
    return Outlet(id=name, node=node, state="open", elevation_m=elevation_m, segments=(segment,))


def link(name: str, start: str, end: str, segment: Bore = PIPE) -> Link:
    return Link(id=name, from_node=start, to_node=end, segments=(segment,))


def network(links: list[Link], outlets: list[Outlet], pump: PumpLaw | PumpPoints = PUMP) -> Network:
    return Network(water=WATER, pump=pump, links=tuple(links), outlets=tuple(outlets))


FEED = link("L0", "SUMP", "A", RESERVOIR)


@both
def test_a_capped_port_carries_exactly_zero(kernel: Kernel) -> None:
    open_one, capped = outlet("P0", "A"), replace(outlet("P1", "A"), state="closed")
    result = solve(network([FEED], [open_one, capped]), kernel)
    alone = solve(network([FEED], [open_one]), kernel)
    assert result.flows_m3_s["P1"] == 0.0
    assert result.flows_m3_s["P0"] == pytest.approx(alone.flows_m3_s["P0"], rel=1e-12)
    assert result.dry_outlets == ()
    assert [row.velocity_m_s for row in result.segments["P1"]] == [0.0]


@both
def test_with_every_outlet_closed_the_pump_stands_at_shut_off(kernel: Kernel) -> None:
    closed = [replace(outlet(f"P{k}", node), state="closed") for k, node in enumerate("AB")]
    result = solve(network([FEED, link("L1", "A", "B"), link("L2", "B", "A")], closed), kernel)
    assert set(result.flows_m3_s.values()) == {0.0}
    assert result.heads_m == {"A": 5.0, "B": 5.0}


@both
def test_an_outlet_above_the_head_runs_dry_and_never_backwards(kernel: Kernel) -> None:
    low, high = outlet("P0", "A", segment=Orifice(diameter_m=8e-3, discharge_coefficient=0.61)), outlet("P1", "A", 4.8)
    result = solve(network([FEED], [low, high]), kernel)
    assert result.heads_m["A"] < 4.8
    assert result.flows_m3_s["P1"] == 0.0
    assert result.dry_outlets == ("P1",)
    capped = solve(network([FEED], [replace(low, state="closed"), high]), kernel)  # with the big jet shut it runs
    assert capped.flows_m3_s["P1"] > 0.0
    assert capped.dry_outlets == ()


@both
def test_a_pump_whose_head_lies_below_all_outlets_moves_nothing(kernel: Kernel) -> None:
    result = solve(network([FEED, link("L1", "A", "B")], [outlet("P0", "A", 5.1), outlet("P1", "B", 9.0)]), kernel)
    assert set(result.flows_m3_s.values()) == {0.0}
    assert result.dry_outlets == ("P0", "P1")
    assert result.heads_m == {"A": 5.0, "B": 5.0}


@both
def test_dead_ends_carry_exactly_zero_in_trees_and_in_loops(kernel: Kernel) -> None:
    tail = [link("T1", "A", "T"), link("T2", "T", "U"), link("T3", "U", "T"), link("T4", "V", "U")]
    ring = [link("L1", "A", "B"), link("L2", "A", "B")]
    result = solve(network([FEED, *ring, *tail], [outlet("P0", "B")]), kernel)
    assert [result.flows_m3_s[name] for name in ("T1", "T2", "T3", "T4")] == [0.0, 0.0, 0.0, 0.0]
    assert result.heads_m["A"] == result.heads_m["T"] == result.heads_m["U"] == result.heads_m["V"]
    assert result.flows_m3_s["L1"] == pytest.approx(result.flows_m3_s["L2"], rel=1e-12)


@both
@pytest.mark.parametrize("backwards", [False, True])
def test_a_link_written_against_the_flow_counts_negative(kernel: Kernel, backwards: bool) -> None:
    half = replace(PIPE, diameter_m=8e-3)
    along = Link(id="L1", from_node="A", to_node="B", segments=(PIPE, half))
    against = Link(id="L1", from_node="B", to_node="A", segments=(half, PIPE))
    result = solve(network([FEED, against if backwards else along], [outlet("P0", "B")]), kernel)
    sign = -1 if backwards else 1
    assert result.flows_m3_s["L1"] * sign == pytest.approx(result.flows_m3_s["P0"], rel=1e-12)
    rows = result.segments["L1"][::sign]
    assert rows[0].velocity_m_s * sign * math.pi / 4 * 10e-3**2 == pytest.approx(result.flows_m3_s["P0"])
    assert rows[1].pressure_drop_pa * sign > rows[0].pressure_drop_pa * sign > 0
    assert rows[1].wall_shear_pa is not None
    assert rows[1].wall_shear_pa > 0
    head_lost = sum(row.pressure_drop_pa for row in rows) * sign / (water_state(WATER).density_kg_m3 * 9.80665)
    assert result.heads_m["A"] - result.heads_m["B"] == pytest.approx(head_lost, abs=1e-12)


@both
def test_heads_are_measured_from_the_sump(kernel: Kernel) -> None:
    ground = solve(network([FEED], [outlet("P0", "A", 0.5)]), kernel)
    raised = solve(network([FEED], [outlet("P0", "A", 2.5)], replace(PUMP, sump_level_m=2.0)), kernel)
    assert raised.flows_m3_s["P0"] == pytest.approx(ground.flows_m3_s["P0"], rel=1e-10)
    assert raised.heads_m["A"] == pytest.approx(ground.heads_m["A"], abs=1e-10)


@both
def test_a_pump_driven_beyond_its_run_out_is_an_error_with_a_clear_line(kernel: Kernel) -> None:
    drain = outlet("P0", "A", -3.0, Bore(diameter_m=0.1, length_m=0.1, roughness_m=0.0, minor_loss=0.0))
    with pytest.raises(PhysicsError, match=r"^pump: beyond its run-out: .* L/min \(expected: at most 60 L/min"):
        solve(network([FEED], [drain]), kernel)
    points = PumpPoints(points=((0.0, 5.0), (5e-4, 4.0)))
    wide = replace(drain, elevation_m=0.0)
    with pytest.raises(PhysicsError, match=r"^pump: beyond its run-out: .* at most 30 L/min"):
        solve(network([FEED], [wide], points), kernel)


@both
def test_a_pump_by_points_runs_between_them_on_straight_lines(kernel: Kernel) -> None:
    points = PumpPoints(points=((0.0, 5.0), (2e-4, 4.0), (6e-4, 1.0)), relative_speed=0.9)
    nozzle = outlet("P0", "A", segment=Orifice(diameter_m=7e-3, discharge_coefficient=0.61))
    result = solve(network([FEED], [nozzle], points), kernel)
    flow = result.flows_m3_s["L0"] / 0.9
    assert 2e-4 < flow < 6e-4
    assert result.heads_m["A"] == pytest.approx(0.81 * (4.0 + (1.0 - 4.0) * (flow - 2e-4) / 4e-4), abs=1e-9)


@both
def test_speed_moves_flow_and_head_by_the_affinity_laws(kernel: Kernel) -> None:
    jet = Orifice(diameter_m=6e-3, discharge_coefficient=0.61)  # a quadratic network keeps its working point
    one = solve(network([FEED], [outlet("P0", "A", segment=jet)]), kernel)
    half = solve(network([FEED], [outlet("P0", "A", segment=jet)], replace(PUMP, relative_speed=0.5)), kernel)
    assert half.flows_m3_s["P0"] == pytest.approx(one.flows_m3_s["P0"] / 2, rel=1e-6)
    assert half.heads_m["A"] == pytest.approx(one.heads_m["A"] / 4, rel=1e-6)


@both
def test_a_hair_thin_lumen_beside_a_wide_orifice_keeps_its_digits(kernel: Kernel) -> None:
    hair = Bore(diameter_m=0.3e-3, length_m=0.5, roughness_m=1.5e-6, minor_loss=0.5)
    jet = Orifice(diameter_m=8e-3, discharge_coefficient=0.61)
    result = solve(
        network([FEED, link("L1", "A", "B")], [outlet("P0", "B", segment=hair), outlet("P1", "B", segment=jet)]), kernel
    )
    flow, head = result.flows_m3_s["P0"], result.heads_m["B"]
    assert 0 < flow < 1e-3 * result.flows_m3_s["P1"]
    velocity = flow / (math.pi / 4 * 0.3e-3**2)
    viscosity = water_state(WATER).kinematic_viscosity_m2_s
    laminar = 64 * viscosity / (velocity * 0.3e-3) * 0.5 / 0.3e-3
    assert (laminar + 0.5 + 1.0) * velocity**2 / (2 * 9.80665) == pytest.approx(head, rel=1e-10)


@both
@pytest.mark.parametrize("width", [0.35e-3, 1e-3, 3e-3])
def test_a_jet_of_no_loss_behind_a_lumen_of_all_still_balances(kernel: Kernel, width: float) -> None:
    throttle = link("L0", "SUMP", "A", replace(LUMEN, diameter_m=width))
    jets = [outlet(f"P{k}", "A", 0.25, Orifice(diameter_m=8e-3, discharge_coefficient=0.61)) for k in range(3)]
    result = solve(network([throttle], jets), kernel)
    assert result.energy_error_m < 1e-9
    assert result.flows_m3_s["P0"] == pytest.approx(result.flows_m3_s["L0"] / 3, rel=1e-6)


@both
def test_the_balances_close_in_every_network(kernel: Kernel) -> None:
    for place, some in enumerate(random_networks(5, 30, dry_share=0.25)):
        result = solve(some, kernel)
        assert result.mass_balance_error_m3_s < 1e-12, place
        assert result.energy_error_m < 1e-9, place
        assert result.iterations <= 25, place
        assert min(result.flows_m3_s[foot.id] for foot in some.outlets) >= 0.0, place


def test_both_kernels_give_the_same() -> None:
    for some in random_networks(6, 40, dry_share=0.25):
        compiled, plain = solve(some), solve(some, Kernel.INTERPRETED)
        assert plain.dry_outlets == compiled.dry_outlets
        for name, flow in compiled.flows_m3_s.items():
            assert plain.flows_m3_s[name] == pytest.approx(flow, rel=1e-9, abs=1e-15)
        for name, head in compiled.heads_m.items():
            assert plain.heads_m[name] == pytest.approx(head, abs=1e-9)


@both
def test_where_a_law_that_switches_has_no_answer_ours_has_one(kernel: Kernel) -> None:
    # 2 mm by 330 mm at 5 kPa and 20 °C: laminar friction gives Re 2719, turbulent friction Re 2023; with a switch
    # at 2300 neither stands. Churchill's smooth law gives 227.0 mL/min at Re 2400, 5.93 Pa.
    bore = Bore(diameter_m=2e-3, length_m=0.33, roughness_m=1.5e-6, minor_loss=0.5)
    result = solve(under_pressure(5e3, [bore], 20.0, exit_loss=1.0), kernel)
    (segment,) = result.segments["P0"]
    assert 2000 < segment.reynolds < 2719
    assert result.flows_m3_s["P0"] * 6e7 == pytest.approx(227.0, rel=0.05)
    assert segment.wall_shear_pa == pytest.approx(5.93, rel=0.05)
    assert result.energy_error_m < 1e-12


@both
def test_warmer_water_can_mean_less_flow(kernel: Kernel) -> None:
    # 1 mm by 330 mm at 20 kPa. Churchill's law: 79.6 at 20 °C, 87.2 at 30, 74.9 at 60, 79.7 mL/min at 90 °C.
    flows = {
        t: solve(under_pressure(20e3, [LUMEN], t, exit_loss=1.0), kernel).flows_m3_s["P0"] * 6e7
        for t in (20.0, 30.0, 60.0, 70.0, 90.0)
    }
    assert flows[20.0] < flows[30.0] > flows[60.0] > flows[70.0] < flows[90.0]
    assert flows[20.0] == pytest.approx(79.59, abs=0.01)  # laminar: the laws agree
    assert flows[90.0] == pytest.approx(79.72, rel=1e-3)  # turbulent: they nearly do
    assert flows[60.0] == pytest.approx(74.92, rel=0.05)  # between: none is right


def test_every_target_in_the_transition_is_found_from_every_start() -> None:
    chance = np.random.default_rng(8)
    bore = Bore(diameter_m=2e-3, length_m=5.0, roughness_m=0.0, minor_loss=0.0)
    compiled = compile_network(under_head(1.0, [bore] * 5, Water(temperature_c=20.0)))
    for _ in range(1000):
        pump = PumpLaw(shutoff_head_m=float(10 ** chance.uniform(-1.5, 1.0)), coefficient=0.0, exponent=2.0)
        roughness = np.concatenate(([0.0], 10 ** chance.uniform(-6, -3.05, 5)))
        changed = compiled.with_changes(pump=pump, geometry=compiled.geometry._replace(roughness_m=roughness))
        cold = solve_compiled(changed)
        start = replace(cold, flow_m3_s=10 ** chance.uniform(-9, -3, 6))
        warm = solve_compiled(changed, start)
        np.testing.assert_allclose(warm.flow_m3_s, cold.flow_m3_s, rtol=1e-9)
        assert max(cold.iterations, warm.iterations) <= 40


def test_wall_shear_is_friction_s_share_of_the_pressure_drop() -> None:
    result = solve(under_pressure(20e3, [replace(LUMEN, minor_loss=0.0)], 45.0))
    (segment,) = result.segments["P0"]
    assert segment.wall_shear_pa == pytest.approx(segment.pressure_drop_pa * 1e-3 / (4 * 0.33), rel=1e-12)
    assert segment.friction_factor is not None
    density = water_state(WATER).density_kg_m3
    by_law = wall_shear_pa(segment.friction_factor, density, segment.velocity_m_s)
    assert segment.wall_shear_pa == pytest.approx(by_law, rel=1e-14)


@both
def test_numbers_that_no_float_can_balance_are_an_error_in_one_line(kernel: Kernel) -> None:
    needle = replace(RESERVOIR, diameter_m=1e-9)
    lake = Bore(diameter_m=1e6, length_m=1.0, roughness_m=0.0, minor_loss=0.0)
    with pytest.raises(PhysicsError, match=r"^network: no balance found: sizes too far apart"):
        solve(network([link("L0", "SUMP", "A", needle)], [outlet("P0", "A", segment=lake)]), kernel)


@both
def test_numbers_that_leave_the_range_of_floats_are_an_error_in_one_line(kernel: Kernel) -> None:
    cliff = PumpLaw(shutoff_head_m=7.0, coefficient=3e4, exponent=1e5, relative_speed=1.01)
    wide = replace(PIPE, diameter_m=2.0)
    ring = [link("L0", "SUMP", "A", wide), link("L1", "A", "B", wide), link("L2", "A", "B", wide)]
    with pytest.raises(PhysicsError, match=r"^network: no balance found: sizes too far apart"):
        solve(network(ring, [outlet("P0", "B", segment=wide)], cliff), kernel)


def test_gaps_of_a_fiftieth_of_a_millimetre_are_solved_and_thinner_ones_are_solved_or_refused_in_one_line() -> None:
    for number in range(100):
        wide = network_of_thin_gaps(np.random.default_rng([7, number]), 20e-6, 50e-6)
        flows = solve(wide).flows_m3_s
        leaving = [flows[one.id] for one in wide.outlets]
        assert min(leaving) >= 0.0
        assert sum(leaving) == pytest.approx(flows["L0"], rel=1e-9)
    said = set()
    for number in range(100):
        try:
            solve(network_of_thin_gaps(np.random.default_rng([7, number]), 2e-6, 4e-6))
        except PhysicsError as fault:
            said.add(str(fault).split(" (")[0])
    assert said <= {"network: no balance found: sizes too far apart to compute with"}

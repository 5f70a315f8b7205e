"""What is read off a solution agrees with the solution told by name."""

from __future__ import annotations

import numpy as np
import pytest

from patency.flow import Scenarios, compile_network, network_of_load, solve, solve_many
from patency.flow.batch.scenarios import scenario_network
from patency.flow.compiled_network import Geometry
from patency.flow.machine_code import Kernel
from patency.flow.readings import Gauge, Readings
from patency.flow.solver import solve_compiled
from tests.flow.one_port import bore, connected, one_load, one_port
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, small_department

DEPARTMENT = small_department(SMALL_SITE)
LOAD_NETWORK = network_of_load(DEPARTMENT, LOAD, DEPARTMENT.programmes["gentle"].stages[0])
RESULT = solve(LOAD_NETWORK.network)
COMPILED = compile_network(LOAD_NETWORK.network)
KEYS = list(LOAD_NETWORK.lumens)


def readings(friction: float | None = None) -> Readings:
    factors = None if friction is None else np.full(COMPILED.geometry.length_m.size, friction)
    return Gauge(LOAD_NETWORK, COMPILED).read(COMPILED, solve_compiled(COMPILED), factors)


def test_flows_velocities_and_shear_are_those_of_the_lumen_s_own_segments() -> None:
    read = readings()
    for row, key in enumerate(KEYS):
        path = LOAD_NETWORK.lumens[key]
        assert read.flow_m3_s[row] == pytest.approx(RESULT.flows_m3_s[path.entry[0]], rel=1e-9)
        if path.jet is None:
            ((name, place),) = path.own
            segment = RESULT.segments[name][place]
            assert read.velocity_m_s[row] == pytest.approx(segment.velocity_m_s, rel=1e-9)
            assert read.reynolds[row] == pytest.approx(segment.reynolds, rel=1e-9)
            assert read.shear_pa[row] == pytest.approx(segment.wall_shear_pa, rel=1e-9)


def test_over_a_nozzle_the_velocity_is_the_jet_s_and_shear_is_not_a_number() -> None:
    read = readings()
    rows = [row for row, key in enumerate(KEYS) if LOAD_NETWORK.lumens[key].jet is not None]
    assert len(rows) == 2
    for row in rows:
        opening = RESULT.segments[LOAD_NETWORK.lumens[KEYS[row]].entry[0]][-1]
        assert read.velocity_m_s[row] == pytest.approx(opening.velocity_m_s, rel=1e-9)
        assert np.isnan(read.shear_pa[row])


def test_the_pressure_at_the_connection_is_what_the_lumen_uses_up() -> None:
    # Reckoned from the far end: exit, the lumen's own drop, the height it climbs.
    read = readings()
    density, gravity = COMPILED.water.density_kg_m3, COMPILED.gravity_m_s2
    outlets = {outlet.id: outlet for outlet in LOAD_NETWORK.network.outlets}
    for row, key in enumerate(KEYS):
        path = LOAD_NETWORK.lumens[key]
        if path.jet is not None:
            continue
        last = RESULT.segments[path.entry[0]][-1]
        used = last.pressure_drop_pa + density * last.velocity_m_s**2 / 2.0
        climbed = density * gravity * (outlets[path.entry[0]].elevation_m - path.inlet_elevation_m)
        assert read.pressure_pa[row] == pytest.approx(used + climbed, rel=1e-6)


def test_the_slowest_of_several_segments_counts() -> None:
    department = one_port(connected(bore("2 mm"), bore("4 mm"), bore("3 mm")))
    load_network = network_of_load(department, one_load(), department.programmes["gentle"].stages[0])
    compiled = compile_network(load_network.network)
    flow = solve_compiled(compiled)
    read = Gauge(load_network, compiled).read(compiled, flow)
    assert read.velocity_m_s[0] == pytest.approx(read.flow_m3_s[0] / (np.pi / 4.0 * 0.004**2))


def test_other_friction_changes_the_shear_that_is_read() -> None:
    plain, half = readings(), readings(0.5)
    known = ~np.isnan(plain.shear_pa)
    assert half.shear_pa[known] == pytest.approx(0.5 * plain.shear_pa[known])
    assert half.flow_m3_s == pytest.approx(plain.flow_m3_s)


def test_the_sensor_reads_above_the_sump_s_level() -> None:
    weight = COMPILED.water.density_kg_m3 * COMPILED.gravity_m_s2
    assert readings().circulation_pa[0] == pytest.approx(weight * RESULT.heads_m["machine"], rel=1e-9)
    assert readings().total_m3_s[0] == pytest.approx(RESULT.flows_m3_s["discharge"], rel=1e-9)
    assert readings().arm_flow_m3_s == pytest.approx(
        [RESULT.flows_m3_s[name] for name in LOAD_NETWORK.arms.values()], rel=1e-9
    )


@pytest.mark.parametrize("kernel", list(Kernel))
def test_many_solutions_are_read_as_each_by_itself(kernel: Kernel) -> None:
    gauge, count = Gauge(LOAD_NETWORK, COMPILED), 5
    wide = COMPILED.geometry.diameter_m * np.linspace(0.9, 1.1, count)[:, np.newaxis]
    scenarios = Scenarios(count=count, diameter_m=wide)
    networks = [scenario_network(COMPILED, scenarios, row) for row in range(count)]
    sizes = COMPILED.geometry._replace(diameter_m=wide)
    rows = Geometry(*(np.atleast_2d(size) for size in sizes))
    friction = np.full((1, COMPILED.geometry.length_m.size), 1.3)
    many = gauge.read_many(COMPILED, rows, solve_many(COMPILED, scenarios), friction, kernel)
    for row, network in enumerate(networks):
        alone = gauge.read(network, solve_compiled(network), friction[0])
        for found, expected in zip(many, alone, strict=True):
            np.testing.assert_allclose(found[row], expected, rtol=1e-8)
    without = gauge.read_many(COMPILED, rows, solve_many(COMPILED, scenarios), friction, kernel, with_pressure=False)
    assert np.isnan(without.pressure_pa).all()
    np.testing.assert_array_equal(without.shear_pa, many.shear_pa)

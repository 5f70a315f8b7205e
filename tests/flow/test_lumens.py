"""The water of a load against hand formulas, stage by stage, and which stage decides."""

from __future__ import annotations

import math

import pytest

from patency.errors import InputError, PhysicsError
from patency.flow import flow_of_load, nominal_flow_of_load
from patency.flow.development import laminar_development_loss
from patency.flow.load_flow import predicted_pressures
from patency.flow.solved_load import wet_stages
from patency.quantities import STANDARD_GRAVITY_M_S2, water_density_kg_m3, water_dynamic_viscosity_pa_s
from tests.flow.one_port import HEAD_M, SITE, bore, connected, nozzle, one_load, one_port, over_nozzle
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, changed, small_department

KEY = ("One", "thing/1/tube", "bore")
G = STANDARD_GRAVITY_M_S2


def test_a_narrow_bore_alone_carries_what_hagen_and_poiseuille_say() -> None:
    # By hand: rho g H = 32 mu L v / d² + (0.5 (1 - A2/A1) + development + exit) rho v²/2; the fitting is 8 mm wide.
    d, length = 1e-3, 0.3
    lumen = nominal_flow_of_load(one_port(connected(bore("1 mm"))), one_load()).stages["wash"].lumens[KEY]
    rho, mu = water_density_kg_m3(20.0), water_dynamic_viscosity_pa_s(20.0)
    reynolds = rho * lumen.velocity_m_s.nominal * d / mu
    losses = 0.5 * (1.0 - (1.0 / 8.0) ** 2) + laminar_development_loss(length, d, reynolds, 0.0) + 1.0
    a, b, c = losses * rho / 2.0, 32.0 * mu * length / d**2, -rho * G * HEAD_M
    velocity = (-b + math.sqrt(b * b - 4.0 * a * c)) / (2.0 * a)
    assert reynolds < 2000.0
    assert lumen.velocity_m_s.nominal == pytest.approx(velocity, rel=2e-4)
    assert lumen.flow_m3_s.nominal == pytest.approx(velocity * math.pi * d**2 / 4.0, rel=2e-4)
    assert lumen.reynolds == pytest.approx(reynolds, rel=1e-9)
    assert lumen.shear_pa is not None
    assert lumen.shear_pa.nominal == pytest.approx(8.0 * mu * velocity / d, rel=2e-4)
    assert lumen.pressure_pa.nominal == pytest.approx(rho * G * HEAD_M, rel=2e-4)


def test_a_nozzle_alone_gives_what_the_orifice_formula_says() -> None:
    # By hand: Q = C A sqrt(2 g H) with the little that fitting and nozzle tube take off H.
    department = one_port(over_nozzle(bore("10 mm", "100 mm")), {"n": nozzle()})
    lumen = nominal_flow_of_load(department, one_load(["n"], 0.06)).stages["wash"].lumens[KEY]
    ideal = 0.8 * math.pi * 0.002**2 / 4.0 * math.sqrt(2.0 * G * HEAD_M)
    assert 0.97 * ideal < lumen.flow_m3_s.nominal < ideal
    assert lumen.velocity_m_s.nominal == pytest.approx(lumen.flow_m3_s.nominal / (math.pi * 0.002**2 / 4.0))
    assert lumen.shear_pa is None


def test_volume_exchanges_and_filling_time_follow_from_flow_and_volume() -> None:
    flow = nominal_flow_of_load(one_port(connected(bore("1 mm"))), one_load()).lumens[KEY]
    assert flow.volume_m3 == pytest.approx(math.pi * 1e-3**2 / 4.0 * 0.3)
    assert flow.exchanges_per_min == pytest.approx(60.0 * flow.flow_m3_s.nominal / flow.volume_m3)
    assert flow.filling_time_s == pytest.approx(60.0 / flow.exchanges_per_min)


def test_a_lumen_above_the_pump_s_reach_is_dry_and_never_fills() -> None:
    department = one_port(connected(bore("1 mm")), port={"at": {"x": "0 mm", "y": "0 mm", "z": "2.5 m"}})
    flow = flow_of_load(department, one_load()).lumens[KEY]
    assert flow.dry
    assert flow.flow_m3_s.nominal == flow.exchanges_per_min == flow.pressure_pa.nominal == 0.0
    assert flow.filling_time_s == math.inf


def test_height_costs_pressure_at_the_connection_and_flow() -> None:
    low = nominal_flow_of_load(one_port(connected(bore("1 mm"))), one_load()).lumens[KEY]
    high_port = {"at": {"x": "0 mm", "y": "0 mm", "z": "500 mm"}}
    high = nominal_flow_of_load(one_port(connected(bore("1 mm")), port=high_port), one_load()).lumens[KEY]
    lost = low.pressure_pa.nominal - high.pressure_pa.nominal
    assert lost == pytest.approx(water_density_kg_m3(60.0) * G * 0.5, rel=1e-3)
    assert high.flow_m3_s.nominal < low.flow_m3_s.nominal


def test_stages_of_the_same_name_are_told_apart_and_dry_ones_left_out() -> None:
    stages = wet_stages(one_port(connected(bore("1 mm"))).programmes["gentle"])
    assert {name: stage.temperature_c for name, stage in stages.items()} == {"wash": 20.0, "wash 2": 60.0}


def test_each_number_comes_from_the_stage_that_is_worst_for_it() -> None:
    # A laminar bore: cold water runs slower, while at a given friction loss the wall shear hardly changes.
    load_flow = nominal_flow_of_load(one_port(connected(bore("0.5 mm"))), one_load())
    flow = load_flow.lumens[KEY]
    cold, warm = load_flow.stages["wash"].lumens[KEY], load_flow.stages["wash 2"].lumens[KEY]
    assert cold.flow_m3_s.nominal < warm.flow_m3_s.nominal
    assert flow.flow_m3_s == cold.flow_m3_s
    assert flow.worst_stages["flow"] == "wash"
    assert flow.shear_pa is not None
    assert warm.shear_pa is not None
    assert flow.shear_pa == warm.shear_pa
    assert flow.worst_stages["shear"] == "wash 2"
    assert flow.highest_pressure_pa == max(cold.pressure_pa.high, warm.pressure_pa.high)


def test_warmer_water_can_give_less_flow_in_the_transition() -> None:
    # A published trap of the transition region: 1 mm bore, about 20 kPa, less flow at 50 °C than at 30 °C.
    site = changed({"site": SITE}, "temperature: 20 °C", "temperature: 30 °C")
    site = changed(site, "temperature: 60 °C", "temperature: 50 °C")
    load_flow = nominal_flow_of_load(one_port(connected(bore("1 mm", "330 mm")), site=site["site"]), one_load())
    assert load_flow.lumens[KEY].worst_stages["flow"] == "wash 2"


def test_a_lumen_over_a_nozzle_is_named_after_the_stage_of_least_flow() -> None:
    department = one_port(over_nozzle(bore("10 mm", "100 mm")), {"n": nozzle()})
    flow = nominal_flow_of_load(department, one_load(["n"], 0.06)).lumens[KEY]
    assert set(flow.worst_stages) == {"flow", "velocity", "pressure"}


def test_flows_add_up_to_what_the_pump_gives() -> None:
    load_flow = nominal_flow_of_load(small_department(SMALL_SITE), LOAD)
    for stage in load_flow.stages.values():
        lumens = sum(lumen.flow_m3_s.nominal for lumen in stage.lumens.values())
        arms = sum(flow.nominal for flow in stage.arms_m3_s.values())
        assert lumens + arms == pytest.approx(stage.total_m3_s.nominal, rel=1e-12)


def test_the_predicted_pressures_are_those_of_the_stages() -> None:
    load_flow = nominal_flow_of_load(small_department(SMALL_SITE), LOAD)
    pressures = predicted_pressures(load_flow)
    assert list(pressures) == ["first rinse", "cleaning", "rinse", "disinfection"]
    assert all(pressures[name] == stage.circulation_pa for name, stage in load_flow.stages.items())


def test_the_pressure_at_the_sensor_is_the_pump_s_head_less_the_discharge() -> None:
    stage = nominal_flow_of_load(small_department(SMALL_SITE), LOAD).stages["first rinse"]
    flow = stage.total_m3_s.nominal
    assert 0.0 < flow < 200.0 / 6e4  # between the first two points of the pump's curve
    head = 7.0 - 0.3 * flow * 6e4 / 200.0
    velocity = flow / (math.pi * 0.05**2 / 4.0)
    # 2 velocity heads stated for the discharge, and f L/D of about 0.02 x 24 for its friction
    lost = (2.0 + 0.020 * 1.2 / 0.05) * velocity**2 / (2.0 * G)
    expected = water_density_kg_m3(20.0) * G * (head - lost)
    assert stage.circulation_pa.nominal == pytest.approx(expected, rel=1e-3)


def test_nominal_numbers_are_those_inside_the_intervals() -> None:
    department = small_department(SMALL_SITE)
    nominal, whole = nominal_flow_of_load(department, LOAD), flow_of_load(department, LOAD)
    assert not nominal.with_intervals
    assert whole.with_intervals
    assert nominal.hose_off_pressure_change_pa == {}
    for name, stage in whole.stages.items():
        assert nominal.stages[name].circulation_pa.nominal == stage.circulation_pa.nominal
        assert nominal.stages[name].circulation_pa.low == nominal.stages[name].circulation_pa.high
        for key, lumen in stage.lumens.items():
            assert nominal.stages[name].lumens[key].flow_m3_s.nominal == lumen.flow_m3_s.nominal
            assert lumen.flow_m3_s.low < lumen.flow_m3_s.nominal < lumen.flow_m3_s.high


def test_a_load_without_lumens_still_has_a_pressure() -> None:
    load = LOAD.model_copy(update={"pieces": (), "capped_ports": (), "open_ports": ("T1",)})
    load_flow = flow_of_load(small_department(SMALL_SITE), load)
    assert load_flow.lumens == {}
    assert load_flow.hose_off_pressure_change_pa == {}
    assert load_flow.stages["rinse"].circulation_pa.low > 0.0


def test_an_unknown_programme_is_refused() -> None:
    with pytest.raises(InputError, match="no programme 'brutal'"):
        flow_of_load(small_department(SMALL_SITE), LOAD.model_copy(update={"programme": "brutal"}))


def test_a_programme_without_water_is_refused() -> None:
    site = SITE[: SITE.index("    stages:")] + "    stages: [{name: dry, kind: dry, hold: 3 min, temperature: 90 °C}]\n"
    with pytest.raises(InputError, match="no wet stage"):
        flow_of_load(one_port(connected(bore("1 mm")), site=site), one_load())


def test_a_pump_beyond_its_run_out_is_refused() -> None:
    site = changed(SMALL_SITE, "- {flow: 200 L/min, head: 6.7 m}", "- {flow: 20 L/min, head: 6.7 m}")
    site = changed(site, "- {flow: 400 L/min, head: 5.7 m}", "- {flow: 40 L/min, head: 5.7 m}")
    site = changed(site, "- {flow: 600 L/min, head: 4.0 m}", "- {flow: 60 L/min, head: 5.4 m}")
    site = changed(site, "- {flow: 800 L/min, head: 1.7 m}", "- {flow: 80 L/min, head: 5.3 m}")
    with pytest.raises(PhysicsError, match="run-out"):
        flow_of_load(small_department(site), LOAD)

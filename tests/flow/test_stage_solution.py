"""Losses of developing flow and side holes depend on the flow; the solution is one in which both agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from patency.flow import compile_network, network_of_load
from patency.flow.development import laminar_development_loss
from patency.flow.network import PumpPoints
from patency.flow.solver import segment_table
from patency.flow.stage_solution import solve_stage
from tests.flow.one_port import bore, connected, one_load, one_port

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow import LoadNetwork
    from patency.flow.stage_solution import StageSolution

NAME = "lumen One thing/1/tube bore"


def solved(department: Department, temperature_c: float = 20.0) -> tuple[LoadNetwork, StageSolution]:
    load_network = network_of_load(department, one_load(), department.programmes["gentle"].stages[0])
    pump = load_network.network.pump
    assert isinstance(pump, PumpPoints)
    return load_network, solve_stage(load_network, compile_network(load_network.network), pump, temperature_c)


def added_loss(load_network: LoadNetwork, solution: StageSolution, row: int) -> float:
    """Return what the solution adds to the loss of one segment of the lumen's path."""
    stated = load_network.stretches[NAME][row].segment
    assert stated.shape != "orifice"
    return float(solution.compiled.geometry.minor_loss[solution.compiled.rows(NAME)][row]) - stated.minor_loss


def reynolds_of(solution: StageSolution, row: int) -> float:
    return float(segment_table(solution.compiled, solution.flow).reynolds[solution.compiled.rows(NAME)][row])


def test_a_laminar_bore_gets_the_loss_of_its_own_reynolds_number() -> None:
    load_network, solution = solved(one_port(connected(bore("1 mm"))))
    reynolds = reynolds_of(solution, 1)
    assert 1000.0 < reynolds < 2000.0
    expected = laminar_development_loss(0.3, 1e-3, reynolds, ratio=0.0)
    assert added_loss(load_network, solution, 1) == pytest.approx(expected, rel=1e-4)


def test_a_turbulent_bore_gets_none() -> None:
    load_network, solution = solved(one_port(connected(bore("4 mm"))))
    assert reynolds_of(solution, 1) > 4000.0
    assert added_loss(load_network, solution, 1) == 0.0


def test_between_laminar_and_turbulent_the_loss_fades() -> None:
    load_network, solution = solved(one_port(connected(bore("1.2 mm"))))
    reynolds = reynolds_of(solution, 1)
    assert 2000.0 < reynolds < 4000.0
    whole = laminar_development_loss(0.3, 1.2e-3, reynolds, ratio=0.0)
    assert added_loss(load_network, solution, 1) == pytest.approx(whole * (4000.0 - reynolds) / 2000.0, rel=1e-3)


def test_an_annulus_is_judged_by_its_equivalent_reynolds_number() -> None:
    annulus = {"shape": "annulus", "outer": "3.3 mm", "inner": "2 mm", "length": "330 mm"}
    load_network, solution = solved(one_port(connected(annulus)))
    row = solution.compiled.rows(NAME).start + 1
    reynolds = reynolds_of(solution, 1)
    assert solution.equivalent_reynolds[row] == pytest.approx(reynolds * 64.0 / 95.6, rel=1e-2)
    assert reynolds > 2000.0 > solution.equivalent_reynolds[row]
    expected = laminar_development_loss(0.33, 1.3e-3, reynolds, ratio=2.0 / 3.3)
    assert added_loss(load_network, solution, 1) == pytest.approx(expected, rel=1e-4)


def test_where_the_passage_goes_on_as_wide_the_profile_goes_on_too() -> None:
    load_network, solution = solved(one_port(connected(bore("0.8 mm", "100 mm"), bore("0.8 mm", "200 mm"))))
    assert added_loss(load_network, solution, 1) > 0.5
    assert added_loss(load_network, solution, 2) == 0.0


def test_nothing_flows_and_nothing_develops_in_a_dry_lumen() -> None:
    department = one_port(connected(bore("1 mm")), port={"at": {"x": "0 mm", "y": "0 mm", "z": "3 m"}})
    load_network, solution = solved(department)
    assert added_loss(load_network, solution, 1) == 0.0
    assert solution.flow.flow_m3_s.max() == 0.0


def side_hole_department(**more: Any) -> Department:  # noqa: ANN401
    holes = [{"count": 4, "diameter": "1.5 mm", "from_inlet": "270 mm"}]
    return one_port(connected(bore("4 mm"), side_holes=holes, **more))


def test_a_side_hole_sees_the_pressure_without_the_velocity_head_of_what_passes_it() -> None:
    _, solution = solved(side_hole_department())
    compiled, flow = solution.compiled, solution.flow
    chain = {name: k for k, name in enumerate(compiled.chain_names)}
    node = compiled.node_names.index(f"{NAME} side hole 1")
    tip_velocity = flow.flow_m3_s[chain[NAME]] / (np.pi / 4.0 * 0.004**2)
    head = flow.head_m[node] - tip_velocity**2 / (2.0 * compiled.gravity_m_s2)
    area = 4 * np.pi / 4.0 * 0.0015**2
    expected = 0.61 * area * np.sqrt(2.0 * compiled.gravity_m_s2 * head)
    assert flow.flow_m3_s[chain[f"{NAME} side hole 1"]] == pytest.approx(expected, rel=1e-3)


def test_most_of_the_water_passes_the_holes_near_an_open_end() -> None:
    _, solution = solved(side_hole_department())
    chain = {name: k for k, name in enumerate(solution.compiled.chain_names)}
    aside = solution.flow.flow_m3_s[chain[f"{NAME} side hole 1"]]
    onward = solution.flow.flow_m3_s[chain[NAME]]
    assert 0.02 < aside / (aside + onward) < 0.2


@pytest.mark.parametrize("diameter", ["0.6 mm", "1 mm", "1.2 mm", "2 mm"])
def test_one_round_more_changes_next_to_nothing(diameter: str, monkeypatch: pytest.MonkeyPatch) -> None:
    _, solution = solved(one_port(connected(bore(diameter))))
    monkeypatch.setattr("patency.flow.stage_solution._SETTLED", 1e-9)
    _, longer = solved(one_port(connected(bore(diameter))))
    assert solution.flow.flow_m3_s == pytest.approx(longer.flow.flow_m3_s, rel=2e-4)


def test_rounds_settle_with_side_holes_too(monkeypatch: pytest.MonkeyPatch) -> None:
    _, solution = solved(side_hole_department())
    monkeypatch.setattr("patency.flow.stage_solution._SETTLED", 1e-9)
    _, longer = solved(side_hole_department())
    assert solution.flow.flow_m3_s == pytest.approx(longer.flow.flow_m3_s, rel=3e-4)

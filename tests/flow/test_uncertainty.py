"""Intervals follow the tolerances: each alone as large as a hand formula says, together in quadrature."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.flow import flow_of_load
from tests.flow.one_port import SITE, bore, connected, nozzle, one_load, one_port, over_nozzle
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, small_department

if TYPE_CHECKING:
    from patency.flow import LumenFlow
    from patency.flow.load_flow import StageLumen
    from patency.quantities import Interval

KEY = ("One", "thing/1/tube", "bore")
TOLERANCES = ("bore_tolerance", "rod_tolerance", "roughness_factor", "loss_tolerance", "pump_tolerance")


def only(*kept: str) -> str:
    """Return the site with all tolerances but these at nothing."""
    lines = []
    for line in SITE.splitlines():
        name = line.strip().partition(":")[0]
        value = "1" if name == "roughness_factor" else "0 %"
        silent = name in TOLERANCES and name not in kept
        lines.append(f"    {name}: {{value: {value}, source: no source}}" if silent else line)
    return "\n".join(lines)


def stage_lumen(site: str, diameter: str = "1 mm", **segment: str) -> StageLumen:
    department = one_port(connected(bore(diameter, **segment)), port={"bore": "8 ± 0 mm"}, site=site)
    return flow_of_load(department, one_load()).stages["wash"].lumens[KEY]


def spread(interval: Interval) -> tuple[float, float]:
    return 1.0 - interval.low / interval.nominal, interval.high / interval.nominal - 1.0


def test_without_tolerances_a_laminar_bore_has_no_interval() -> None:
    lumen = stage_lumen(only())
    assert lumen.reynolds < 2000.0
    assert spread(lumen.flow_m3_s) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_a_bore_2_percent_narrower_carries_the_less_that_the_laminar_law_says() -> None:
    # Hagen-Poiseuille alone: (1 - 0.98^4) = 7.8 %; the losses of entry and exit, which go with v² d^-4, take some off.
    down, up = spread(stage_lumen(only("bore_tolerance"), "0.5 mm").flow_m3_s)
    assert 0.07 < down < 0.0785
    assert up == pytest.approx(down)


def test_a_stated_tolerance_rules_out_the_site_s() -> None:
    site = only("bore_tolerance")
    exact = stage_lumen(site, "0.5 ± 0 mm").flow_m3_s
    loose = stage_lumen(site, "0.5 ± 0.02 mm").flow_m3_s
    assert spread(exact) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert spread(loose)[0] > 0.12


def test_the_pump_s_tolerance_moves_a_laminar_flow_in_proportion() -> None:
    # 3 % of 2.3 m are 6.9 cm of the 2 m above the port: 3.45 % of the flow where friction is all.
    down, up = spread(stage_lumen(only("pump_tolerance"), "0.5 mm").flow_m3_s)
    assert down == pytest.approx(0.0345, rel=0.05)
    assert up == pytest.approx(down)


def test_the_pressure_at_the_sensor_has_the_pump_s_tolerance() -> None:
    department = one_port(connected(bore("1 mm")), site=only("pump_tolerance"))
    pressure = flow_of_load(department, one_load()).stages["wash"].circulation_pa
    assert spread(pressure) == pytest.approx((0.03, 0.03), rel=1e-3)


def test_the_tolerance_of_losses_moves_a_nozzle_by_what_its_coefficient_leaves_to_the_jet() -> None:
    # 1/C² = 1 + 0.5625 at C = 0.8; 20 % of 0.5625 more is 7.2 % more head for the same flow.
    department = one_port(over_nozzle(bore("10 mm")), {"n": nozzle(outlet="2 ± 0 mm")}, site=only("loss_tolerance"))
    down, up = spread(flow_of_load(department, one_load(["n"], 0.05)).stages["wash"].lumens[KEY].flow_m3_s)
    assert down == pytest.approx(1.0 - (1.0 + 0.2 * 0.5625 / 1.5625) ** -0.5, rel=0.05)
    assert up == pytest.approx(down, rel=1e-3)


def test_rougher_and_smoother_each_count_to_their_own_side() -> None:
    lumen = stage_lumen(only("roughness_factor"), "4 mm", roughness="20 µm")
    down, up = spread(lumen.flow_m3_s)
    assert lumen.reynolds > 4000.0
    assert down > up > 0.0


def test_a_laminar_flow_does_not_feel_roughness() -> None:
    down, up = spread(stage_lumen(only("roughness_factor"), roughness="20 µm").flow_m3_s)
    assert down < 1e-5  # what is left is the fitting before it
    assert up < 1e-5


def test_between_laminar_and_turbulent_the_interval_holds_both() -> None:
    lumen = stage_lumen(only(), "1.2 mm")
    down, up = spread(lumen.flow_m3_s)
    assert 2000.0 < lumen.reynolds < 4000.0
    assert 0.02 < down < 0.25
    assert 0.02 < up < 0.25


ANNULUS = {"shape": "annulus", "outer": "3 mm", "inner": "2 mm", "length": "330 mm"}


def test_a_rod_that_may_lie_on_the_wall_counts_upwards_only() -> None:
    lumen = flow_of_load(one_port(connected(ANNULUS), site=only()), one_load()).stages["wash"].lumens[KEY]
    down, up = spread(lumen.flow_m3_s)
    assert lumen.reynolds * 64.0 / 95.7 < 2000.0
    assert down < 1e-9
    # A laminar rod on the wall lets 2.5 times as much through under the same friction; losses and turbulence bound it.
    assert 0.2 < up < 1.5
    assert lumen.shear_pa is not None
    assert lumen.shear_pa.high == pytest.approx(lumen.shear_pa.nominal, rel=1e-9)
    assert lumen.shear_pa.low < 0.9 * lumen.shear_pa.nominal


def test_a_thicker_rod_closes_the_gap_and_never_all_of_it() -> None:
    narrow = {"shape": "annulus", "outer": "3 mm", "inner": "2.97 mm", "length": "330 mm"}
    department = one_port(connected(narrow), site=only("bore_tolerance", "rod_tolerance"))
    lumen = flow_of_load(department, one_load()).stages["wash"].lumens[KEY]
    assert lumen.flow_m3_s.low == 0.0
    assert lumen.flow_m3_s.nominal > 0.0


def test_effects_add_up_in_quadrature() -> None:
    alone = [spread(stage_lumen(only(name)).flow_m3_s)[0] for name in TOLERANCES]
    together = spread(stage_lumen(only(*TOLERANCES)).flow_m3_s)[0]
    assert together == pytest.approx(math.sqrt(sum(one**2 for one in alone)), rel=1e-6)
    assert sum(one > 1e-4 for one in alone) >= 3


def test_pieces_cut_from_one_bore_err_together() -> None:
    # Holes so small that they let next to nothing out cut the bore in two; its interval stays.
    holes = [{"count": 1, "diameter": "0.01 mm", "from_inlet": "150 mm"}]
    site = only("bore_tolerance")
    fitting = {"bore": "8 ± 0 mm"}
    whole = flow_of_load(one_port(connected(bore("0.5 mm")), port=fitting, site=site), one_load())
    cut = flow_of_load(one_port(connected(bore("0.5 mm"), side_holes=holes), port=fitting, site=site), one_load())
    one, two = (spread(flow.stages["wash"].lumens[KEY].flow_m3_s)[0] for flow in (whole, cut))
    assert two == pytest.approx(one, rel=0.01)


def test_a_thousand_draws_of_the_laminar_law_scatter_as_the_interval_says() -> None:
    # Draws bore and pump within their tolerances (even) and compares the spread of the laminar law with the interval.
    chance = np.random.default_rng(7)
    narrower, weaker = chance.uniform(-0.02, 0.02, 1000), chance.uniform(-0.03, 0.03, 1000)
    drawn = (1.0 + narrower) ** 4 * (1.0 + weaker * 2.3 / 2.0)
    down, _ = spread(stage_lumen(only("bore_tolerance", "pump_tolerance"), "0.5 mm").flow_m3_s)
    assert np.percentile(1.0 - drawn, 95.0) < down * 1.02
    assert np.percentile(1.0 - drawn, 99.9) > down * 0.95


def test_all_ends_are_in_order_and_nothing_flows_backwards() -> None:
    load_flow = flow_of_load(small_department(SMALL_SITE), LOAD)

    def ends(lumen: StageLumen | LumenFlow) -> list[Interval]:
        return [lumen.flow_m3_s, lumen.velocity_m_s, lumen.pressure_pa, *([lumen.shear_pa] if lumen.shear_pa else [])]

    found = [interval for stage in load_flow.stages.values() for one in stage.lumens.values() for interval in ends(one)]
    assert all(0.0 <= interval.low < interval.nominal < interval.high for interval in found)

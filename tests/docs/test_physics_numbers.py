"""The figures the page on loads and networks tells of Larkmere are those the tool computes today."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from patency.flow import PumpPoints, compile_network
from patency.flow.solver import segment_table
from patency.flow.stage_solution import solve_stage
from tests.flow.test_larkmere_flow import STAGE, circulation, lumen_of, planned, uncapped, whole

PAGE = " ".join((Path(__file__).parents[2] / "docs" / "physics-load.md").read_text(encoding="utf-8").split())


def spread(name: str) -> str:
    flow = lumen_of(name).flow_m3_s
    return f"−{100 * (1 - flow.low / flow.nominal):.0f}/+{100 * (flow.high / flow.nominal - 1):.0f} %"


@cache
def phrases() -> dict[str, str]:
    stage = whole().stages[STAGE]
    pressure = stage.circulation_pa
    fell, rose = (100 * change / pressure.nominal for change in whole().hose_off_pressure_change_pa[STAGE])
    taper = 100 * (1 - circulation(uncapped("T1")) / planned())
    nozzle = lumen_of("sleeve13").flow_m3_s
    wide = f"±{100 * (pressure.high / pressure.nominal - 1):.1f} %"
    return {
        "load": f"{len(stage.lumens)} lumens, {pressure.nominal / 100:.0f} mbar at the circulation sensor",
        "tubes": f"flow {spread('mod5')} in tubes in sleeves",
        "annuli": f"{spread('bip5')} in 5 mm annuli",
        "nozzles": f"±{100 * (nozzle.high / nozzle.nominal - 1):.0f} % over nozzles",
        "interval": f"circulation pressure {wide}",
        "hose": f"−{-fell:.1f} % and +{rose:.2f} %; the interval is {wide}",
        "taper": f"wide taper lowers it by {taper:.0f} %",
        **_parted_flows(),
    }


def _parted_flows() -> dict[str, str]:
    """Read off the solved network what leaves on the way, and the velocity head where the pressure is taken."""
    load_network = whole().network
    pump = load_network.network.pump
    assert isinstance(pump, PumpPoints)
    compiled = compile_network(load_network.network)
    solved = solve_stage(load_network, compiled, pump, whole().stages[STAGE].temperature_c)
    flows = dict(zip(compiled.chain_names, 6e7 * solved.flow.flow_m3_s, strict=True))
    speed = segment_table(solved.compiled, solved.flow).velocity_m_s[compiled.rows("discharge")][-1]
    head = solved.compiled.water.density_kg_m3 * speed**2 / 2
    sleeve, suction = "lumen Pelvis Two mod5/1/tube bore", "lumen Pelvis Two suction5/1/tube bore"
    return {
        "sleeve": f"{flows[f'{sleeve} outside']:.0f} of {flows[f'{sleeve} sleeve']:.0f} mL/min run outside",
        "holes": f"{flows[f'{suction} side hole 1']:.0f} of {flows[f'{suction} to side hole 1']:.0f} mL/min of",
        "tap": f"{head / 100:.0f} mbar of {planned() / 100:.0f}",
    }


@pytest.mark.parametrize(
    "what", ["load", "tubes", "annuli", "nozzles", "interval", "hose", "taper", "sleeve", "holes", "tap"]
)
def test_a_figure_on_the_page_is_the_one_computed(what: str) -> None:
    assert phrases()[what] in PAGE

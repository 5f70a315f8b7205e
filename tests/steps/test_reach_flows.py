"""Which flow of a load's own solution its jets get: the least for what they strike, the largest for what they push."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from patency.catalogue import ArmNozzle
from patency.flow import LoadFlow, nominal_flow_of_load
from patency.quantities import STANDARD_GRAVITY_M_S2, Interval, water_density_kg_m3
from patency.reach import JetSampling, arms_of_load, held, reach_of_load
from patency.steps.reach_showing import load_reach
from tests.reach.drawn import drawn_load
from tests.small_plan import LOAD
from tests.small_site import SMALL_SITE, small_department


@pytest.fixture(scope="module")
def water() -> LoadFlow:
    return nominal_flow_of_load(*drawn_load())


def spread(water: LoadFlow) -> LoadFlow:
    """Return the same with doubt, in the second stage least at its lower end, in the third most at its upper end."""
    shares = {1: (0.5, 1.1), 2: (0.8, 1.5)}
    stages = {}
    for number, (name, stage) in enumerate(water.stages.items()):
        low, high = shares.get(number, (0.7, 1.2))
        flows = {arm: Interval(low * flow.low, flow.nominal, high * flow.high) for arm, flow in stage.arms_m3_s.items()}
        stages[name] = replace(stage, arms_m3_s=flows)
    return replace(water, stages=stages)


def test_jets_strike_with_the_least_flow_of_any_stage_and_push_with_the_largest(water: LoadFlow) -> None:
    site, load = drawn_load()
    kind = site.machine_kinds[load.machine_kind]
    doubtful = spread(water)
    least = list(doubtful.stages.values())[1]
    found = load_reach(site, load.model_copy(update={"pieces": load.pieces[:1]}), doubtful)
    assert found.arms.water_density_kg_m3 == water_density_kg_m3(least.temperature_c)
    assert [arm.name for arm in found.arms.arms] == list(kind.arms)
    for arm in found.arms.arms:
        assert sum(jet.flow_m3_s for jet in arm.jets) == pytest.approx(0.5 * least.arms_m3_s[arm.name].nominal)
    most = list(doubtful.stages.values())[2]
    ratios = {name: 1.5 * most.arms_m3_s[name].nominal / flow.low for name, flow in least.arms_m3_s.items()}
    assert found.arms.forces_times == pytest.approx(max(ratios.values()) ** 2)


@pytest.mark.parametrize("turns", ["clockwise", "counter-clockwise"])
def test_jets_leave_their_nozzles_with_the_speed_of_the_pressure_at_their_arm(turns: str) -> None:
    # sqrt(2 Δp / ρ), E. Torricelli 1644: nothing stands between the machine's node and this arm, 0.69 m above its sump.
    site = small_department(SMALL_SITE)
    kind = site.machine_kinds[LOAD.machine_kind]
    pointed = {"elevation": "-60 °", "turned": "90 °", "spread": "30 °"}
    nozzles = [ArmNozzle.model_validate({"from_axis": f"{20 * out} mm", **pointed}) for out in range(10)]
    upper = kind.arms["upper"].model_copy(update={"nozzles": nozzles, "turns": turns})
    for stage in nominal_flow_of_load(site, LOAD).stages.values():
        flows = {name: flow.nominal for name, flow in stage.arms_m3_s.items()}
        told = arms_of_load(kind.model_copy(update={"arms": {"upper": upper}}), flows, stage.temperature_c)
        density = water_density_kg_m3(stage.temperature_c)
        pressure = stage.circulation_pa.nominal - density * STANDARD_GRAVITY_M_S2 * (0.54 + 0.15)
        turned = math.pi if turns == "counter-clockwise" else -math.pi  # at 30 turns a minute, rad/s
        for jet in told.arms[0].jets:
            along, across, rises = (jet.speed_m_s * part for part in jet.direction)
            own = math.hypot(along, across - turned * jet.from_axis_m, rises)
            assert own == pytest.approx(math.sqrt(2 * pressure / density), rel=1e-6)


def test_what_the_jets_push_and_tip_with_is_told_for_the_largest_flow(water: LoadFlow) -> None:
    site, load = drawn_load()
    flows = {name: flow.nominal for name, flow in next(iter(water.stages.values())).arms_m3_s.items()}
    kept = tuple(one for one in load.pieces if one.piece.startswith(("clip10", "sleeve11")))
    few = load.model_copy(update={"pieces": kept})
    found = reach_of_load(site, few, flows, 50.0, sampling=JetSampling(12, 1))
    assert found.strikes is not None
    arms = replace(found.strikes.arms, forces_times=1.44)
    told, more = held(site, few, found), held(site, few, replace(found, strikes=replace(found.strikes, arms=arms)))
    names = {"largest push of the jets", "largest moment with which jets tip it"}
    seen = set()
    for key, reply in told.items():
        larger = {figure.name: figure.value for figure in more[key].figures}
        for figure in reply.figures:
            if figure.name in names and figure.value > 0.0:
                assert larger[figure.name] == pytest.approx(1.44 * figure.value)
                seen.add(figure.name)
    assert seen == names

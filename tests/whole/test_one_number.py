"""Blind spots, diagnosis and the prediction that travels to the verdict say of a hose off the same number."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from patency.flow import (
    AGAINST_THE_MODEL,
    Alarm,
    Baseline,
    Observation,
    StageReading,
    blind_spots_of_load,
    diagnose,
    effects_of_faults,
    flow_of_load,
    solve_load,
)
from patency.steps.cycle_judging import prediction_of
from tests.demo.larkmere import hand_made_load, larkmere

DAY = date(2026, 5, 12)


@pytest.mark.slow
@pytest.mark.parametrize("kept", [False, True])
@pytest.mark.parametrize("name", ["L3", "D1"])
def test_the_probability_of_an_alarm_is_one_number_wherever_it_is_told(name: str, *, kept: bool) -> None:
    department, load = larkmere(), hand_made_load(name)
    effects = effects_of_faults(department, load, DAY)
    columns = tuple((stage, sensor.name) for sensor in effects.sensors for stage in effects.stages)
    planned = effects.planned_shown.T.ravel()
    rng = np.random.default_rng(20)
    readings = planned * 1.003 + 20.0 * rng.standard_normal((30, 1)) + 8.0 * rng.standard_normal((30, planned.size))
    baseline = Baseline(load.machine, columns, readings, tuple(f"{row:064x}" for row in range(30))) if kept else None
    spots = blind_spots_of_load(department, load, solve_load(department, load), effects, Alarm(), baseline)
    by_name = baseline.name if baseline else AGAINST_THE_MODEL.name
    blind = dict(zip((fault.name for fault in spots.faults), spots.probability[by_name], strict=True))

    shown = tuple(StageReading(*column, float(value)) for column, value in zip(columns, planned, strict=True))
    arms = {sensor.place: False for sensor in department.machine_kinds[load.machine_kind].sensors.values()}
    arms = {place: stands for place, stands in arms.items() if place.endswith("arm")}
    found = diagnose(department, load, Observation(shown, arms), baseline=baseline)
    told = {one.cause: one.power for one in found.detectability if one.power == one.power_at_most}
    shared = sorted(set(told) & set(blind))
    assert len(shared) > 50
    assert [told[one] for one in shared] == pytest.approx([blind[one] for one in shared], rel=1e-6)

    prediction = prediction_of(department, load, flow_of_load(department, load), spots, baseline)
    assert prediction is not None
    assert prediction.one_hose_off is not None
    most = max(probability for fault, probability in blind.items() if fault.startswith("hose off"))
    assert prediction.one_hose_off.probability == pytest.approx(most, rel=1e-12)
    assert prediction.one_hose_off.compared == by_name

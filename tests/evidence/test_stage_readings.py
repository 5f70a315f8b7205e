"""What is read off a record for a diagnosis: plain numbers at the level of the sump's water, and what was left out."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from patency.catalogue import SensorOffset
from patency.evidence import StagesRead, WaterRead, read_stages
from tests.evidence.cycles import LIMITS, MACHINE, PREDICTION, PROGRAMME, TODAY, Cycle, good_cycle

if TYPE_CHECKING:
    from numpy.typing import NDArray

DAY = timedelta(days=1)
UNPLACED = {**MACHINE.sensors, "P1": MACHINE.sensors["P1"].model_copy(update={"height_m": None})}


def read(cycle: Cycle, **changes: Any) -> StagesRead:  # noqa: ANN401
    beside = {"limits": LIMITS, "prediction": PREDICTION, "machine": MACHINE, **changes}
    return read_stages(cycle.record(), PROGRAMME, beside["limits"], beside["prediction"], beside["machine"], on=TODAY)


def pressures(found: StagesRead) -> list[WaterRead]:
    return [one for one in found.water if one.sensor == "P1"]


def test_each_wet_stage_gives_its_pressure_its_flow_and_its_arm() -> None:
    found = read(good_cycle())
    wet = [stage.name for stage in PROGRAMME.stages if stage.kind.wet]
    assert [one.stage for one in pressures(found)] == wet
    flows = [one for one in found.water if one.sensor == "F1"]
    assert [one.stage for one in flows] == wet
    assert [one.value for one in flows] == pytest.approx([150.0 / 60_000.0] * len(wet))
    assert len(found.water) == len(pressures(found)) + len(flows)
    assert [one.stage for one in found.arms] == wet
    assert found.left_out == ()


def test_what_the_tap_s_height_and_a_known_offset_add_is_taken_off() -> None:
    """Half a metre of water between tap and sump is 49 mbar, within 4 % for hot water; the offset is 3 mbar."""
    at_level = pressures(read(good_cycle()))
    below = pressures(read(good_cycle(), prediction=replace(PREDICTION, sump_level_m=-0.62)))
    offset = SensorOffset(value=3.0, found_on=TODAY, source="invented")
    off = replace(MACHINE, offsets={"Alder": {"P1": offset}})
    shifted = pressures(read(good_cycle(), machine=off))
    for one, lower, with_offset in zip(at_level, below, shifted, strict=True):
        assert lower.value - one.value == pytest.approx(0.5 * 9807.0, rel=0.04)
        assert one.value - with_offset.value == pytest.approx(300.0)


def test_the_median_of_the_steady_part_counts() -> None:
    def spike(_: object, values: NDArray[np.float64]) -> None:
        values[200:210] += 50.0

    assert read(good_cycle().with_column("P1", spike)).water == read(good_cycle()).water


def test_an_arm_that_stands_shows_no_speed() -> None:
    def stand(_: object, values: NDArray[np.float64]) -> None:
        values[100:400] = 0.0

    speeds = {one.stage: one.speed_rpm for one in read(good_cycle().with_column("arm", stand)).arms}
    assert 0.0 in speeds.values()
    assert max(speeds.values()) > 20.0


def test_without_the_share_that_is_steady_nothing_is_read_and_it_is_said() -> None:
    found = read(good_cycle(), limits=LIMITS.model_copy(update={"unsteady_share": None}))
    assert (found.water, found.arms) == ((), ())
    assert len(found.left_out) == 2 * len([stage for stage in PROGRAMME.stages if stage.kind.wet])
    assert all("unsteady share" in why for why in found.left_out)


def test_a_stage_without_a_prediction_is_left_out() -> None:
    stages = {name: one for name, one in PREDICTION.stages.items() if name != "cleaning"}
    found = read(good_cycle(), prediction=replace(PREDICTION, stages=stages))
    assert "cleaning" not in {one.stage for one in pressures(found)}
    assert found.left_out == ("P1 in cleaning: no pressure was predicted for this stage of this load",)


WET = [stage.name for stage in PROGRAMME.stages if stage.kind.wet]
TAP = "the height of its tap is not stated: taken as at the level of the sump's water"
OFFSET = "what this sensor shows too much was never found: taken as nothing"


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"machine": replace(MACHINE, offsets={})}, OFFSET),
        (
            {
                "machine": replace(
                    MACHINE,
                    offsets={"Alder": {"P1": SensorOffset(value=0.0, found_on=TODAY + DAY, source="invented")}},
                )
            },
            OFFSET,
        ),
        ({"prediction": replace(PREDICTION, sump_level_m=None)}, TAP),
        ({"machine": replace(MACHINE, sensors=UNPLACED)}, TAP),
        ({"machine": replace(MACHINE, sensors=UNPLACED, offsets={})}, f"{TAP}; {OFFSET}"),
    ],
)
def test_a_pressure_that_rests_on_something_assumed_is_left_out_and_it_is_said(
    changes: dict[str, Any], why: str
) -> None:
    found = read(good_cycle(), **changes)
    assert pressures(found) == []
    assert found.left_out == (f"P1: its readings would rest on something assumed ({why})",)
    assert [one.stage for one in found.arms] == WET


def test_a_column_of_no_sensor_of_the_machine_is_left_out() -> None:
    found = read(good_cycle(), machine=replace(MACHINE, sensors={}))
    assert not found.water
    assert not found.arms
    assert all("it is no sensor of the machine" in why for why in found.left_out)


def test_stages_that_were_not_found_are_named() -> None:
    cycle = good_cycle()
    step = cycle.step.copy()
    step[step == "rinse"] = "clean"
    found = read(replace(cycle, step=step))
    assert any("the stage was not found in the record" in why for why in found.left_out)

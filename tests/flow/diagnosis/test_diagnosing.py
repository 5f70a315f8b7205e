"""What is said of a cycle's readings on the demo's load, and what is never said."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from patency.catalogue import Department, Sensor
from patency.errors import InputError
from patency.flow import Diagnosis, Observation, Rates, StageReading, Visibility, diagnose
from patency.flow.diagnosis.causes import AS_PLANNED
from patency.flow.diagnosis.diagnosing import NEVER_SHOWN, diagnosis_of
from patency.flow.diagnosis.signatures import CauseModel, signatures_of
from tests.demo.larkmere import hand_made_load, larkmere
from tests.flow.diagnosis.larkmere_model import model, signatures


def said(share: float | list[float] = 1.0, *, top_arm_stands: bool = False) -> Diagnosis:
    """Diagnose readings that are this share of what is shown as planned."""
    shown = signatures().planned * np.asarray(share)
    readings = tuple(
        StageReading(stage, sensor, float(value))
        for (stage, sensor), value in zip(signatures().columns, shown, strict=True)
    )
    return diagnosis_of(model(), "L3", Observation(readings, {"top arm": top_arm_stands}))


def shares_of(name: str) -> list[float]:
    row = next(k for k, cause in enumerate(signatures().causes) if cause.name == name)
    shares: list[float] = signatures().shares[row].tolist()
    return shares


def test_readings_as_planned_never_rule_out_a_hose_that_is_off_or_a_lumen_that_is_blocked() -> None:
    found = said()
    first = found.explanations[0]
    assert first.holds_as_planned
    assert first.probability > 0.99
    hoses = [cause.cause for cause in found.detectability if cause.cause.startswith(("hose off", "lumen blocked"))]
    assert len(hoses) == 23 + 23 + 31
    assert set(hoses) < set(first.causes)


def test_nothing_a_diagnosis_holds_says_that_lumens_were_fed() -> None:
    assert said().never_shown == NEVER_SHOWN
    assert "No reading of these sensors shows that every lumen was fed" in NEVER_SHOWN
    assert not [one.name for one in fields(Diagnosis) if "fed" in one.name or "ok" in one.name.split("_")]
    assert "never" in (Diagnosis.__doc__ or "") or "no answer" in (Diagnosis.__doc__ or "")


def test_a_forgotten_taper_cap_comes_first_with_what_cannot_be_told_from_it() -> None:
    first, *rest = said(shares_of("cap missing, T1")).explanations
    assert "cap missing, T1" in first.causes
    assert first.probability > 0.5
    assert not first.holds_as_planned
    others = {cause for one in rest[:2] for cause in one.causes} | set(first.causes)
    assert {"pump worn or slow", "sensor P1 reads low"} <= others


def test_every_hose_off_is_said_to_be_beyond_what_the_sensors_can_show() -> None:
    found = {one.cause: one for one in said().detectability}
    for name, one in found.items():
        if name.startswith(("hose off", "lumen", "insert rod", "piece off its nozzle")):
            assert one.visibility is Visibility.UNSEEN, name
            assert one.visibility.value == "cannot be seen with these sensors"
            assert one.power < 0.1
    assert found["cap missing, T1"].visibility is Visibility.AT_TIMES
    assert 0.95 < found["cap missing, T1"].power < 0.99
    assert found["arm lost, top arm"].visibility is Visibility.SEEN
    assert found["pump worn or slow"].visibility is Visibility.AT_TIMES
    assert AS_PLANNED not in found


def test_an_arm_is_seen_to_stand_by_its_own_sensor_alone() -> None:
    found = {one.cause: one.visibility for one in said().detectability}
    assert found["arm stuck, top arm"] is Visibility.SEEN
    assert found["arm stuck, bottom arm"] is Visibility.UNSEEN
    stood = said(top_arm_stands=True).explanations[0]
    assert stood.causes == ("arm stuck, top arm",) or AS_PLANNED in stood.causes
    names = [one.causes for one in said(top_arm_stands=True).explanations]
    assert ("arm stuck, top arm",) in names


def test_probabilities_sum_to_one_and_come_in_order() -> None:
    for share in (1.0, 0.97, 0.9, [1.0, 0.85, 1.0, 1.0, 1.0]):
        found = said(share)
        given = [one.probability for one in found.explanations]
        assert given == sorted(given, reverse=True)
        assert sum(given) + found.others == pytest.approx(1.0)
        assert found.fits


def test_readings_nothing_explains_are_said_to_fit_nothing() -> None:
    assert not said([1.3, 0.7, 1.3, 0.7, 1.3]).fits


def test_a_stage_that_was_not_read_is_left_out() -> None:
    one = StageReading(*signatures().columns[1], float(signatures().planned[1]))
    found = diagnosis_of(model(), "L3", Observation((one,), {}))
    assert found.readings == 1
    assert found.explanations[0].holds_as_planned


@pytest.mark.parametrize("reading", [[], [StageReading("cleaning", "no such sensor", 1.0)]])
def test_without_a_reading_that_can_be_weighed_nothing_is_said(reading: list[StageReading]) -> None:
    with pytest.raises(InputError, match="nothing was read that could be weighed"):
        diagnosis_of(model(), "L3", Observation(tuple(reading), {}))


def changed_site(**limits: None) -> Department:
    site = larkmere()
    flow = site.limits.flow.model_copy(update=limits)
    return site.model_copy(update={"limits": site.limits.model_copy(update={"flow": flow})})


def test_a_default_the_site_leaves_out_is_asked_for_and_not_taken_as_certain() -> None:
    observed = Observation((StageReading("cleaning", "P1", 24_000.0),), {})
    with pytest.raises(InputError, match="the site states no pump tolerance") as refused:
        diagnose(changed_site(pump_tolerance=None), hand_made_load("L3"), observed)
    assert refused.value.expected == "limits.flow.pump_tolerance"


def test_a_sensor_of_unknown_uncertainty_tells_nothing() -> None:
    site = larkmere()
    kind = site.machine_kinds["four-arm lumen washer"]
    blind = kind.sensors["P1"].model_copy(update={"uncertainty": None})
    kinds = {"four-arm lumen washer": kind.model_copy(update={"sensors": {**kind.sensors, "P1": blind}})}
    unsure = CauseModel(site.model_copy(update={"machine_kinds": kinds}), hand_made_load("L3"), Rates())
    assert unsure.sensors == ()
    assert "sensor P1 tells nothing: its uncertainty is not stated" in unsure.not_computed


def with_flow_meter() -> Department:
    """Return the demo department with a good flow meter at the circulation of its lumen washers."""
    site = larkmere()
    kind = site.machine_kinds["four-arm lumen washer"]
    meter = Sensor(quantity="flow", place="circulation", unit="L/min", uncertainty=1.0)
    kinds = {"four-arm lumen washer": kind.model_copy(update={"sensors": {**kind.sensors, "F1": meter}})}
    return site.model_copy(update={"machine_kinds": {**site.machine_kinds, **kinds}})


def test_a_flow_meter_beside_the_pressure_shows_more_and_tells_a_worn_pump_from_an_open_port() -> None:
    """More flow at less pressure is an open port, less of both a worn pump; the pressure alone tells them not apart."""
    both = CauseModel(with_flow_meter(), hand_made_load("L3"), Rates())
    read = [(stage, sensor.name) for stage in both.stages for sensor in both.sensors]
    known = signatures_of(both, read)
    cap = next(k for k, cause in enumerate(known.causes) if cause.name == "cap missing, T1")
    shown = known.planned * known.shares[cap]
    readings = tuple(StageReading(*column, float(value)) for column, value in zip(read, shown, strict=True))
    found = diagnosis_of(both, "L3", Observation(readings, {"top arm": False}))
    assert found.readings == 10
    assert found.explanations[0].causes == ("cap missing, T1",)
    assert found.explanations[0].probability > 0.7
    alone = {one.cause: one.distance for one in said().detectability}
    more = {one.cause: one.distance for one in found.detectability}
    assert all(more[name] > alone[name] for name in alone if name.startswith(("hose off", "cap missing")))
    assert known.shares[cap][[column[1] == "F1" for column in read]].min() > 1.0

"""The intensive programme of the demo has two doses, and each is counted by a meter of its own."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from patency.catalogue import read_department
from patency.demo import Fault, MissedDose, Recorder, larkmere_texts, sensors_of, simulate
from patency.evidence import (
    Criterion,
    CriterionState,
    Evidence,
    EyeCheck,
    LoadMachine,
    PredictedPressure,
    PressurePrediction,
    Seen,
    judge,
    read_description,
    read_record,
)
from patency.quantities import Interval

DEPARTMENT = read_department(larkmere_texts())
PROGRAMME = DEPARTMENT.programmes["intensive_lumen"]
KIND = DEPARTMENT.machine_kinds["four-arm lumen washer"]
PRESSURES = {stage.name: 20500.0 for stage in PROGRAMME.stages if stage.kind.wet}
LOOKED = EyeCheck(Seen.ALL_IN_PLACE, "M. Hollis", datetime(2026, 3, 31, 16, 20, tzinfo=UTC))


def judged(*faults: Fault) -> Evidence:
    rng = np.random.default_rng(4)
    recorder = Recorder(machine="Alder", programme="intensive_lumen")
    text, description = simulate(PROGRAMME, PRESSURES, sensors_of(KIND, rng), faults, rng, recorder=recorder)
    expected = {name: PredictedPressure(Interval(0.97 * p, p, 1.03 * p), -0.005 * p) for name, p in PRESSURES.items()}
    return judge(
        read_record(text, read_description(description)),
        PROGRAMME,
        DEPARTMENT.limits.cycle,
        PressurePrediction("the load as planned", expected),
        on=date(2026, 3, 31),
        eye_check=LOOKED,
        programme_key="intensive_lumen",
        machine=LoadMachine(KIND.name, ("Alder",), KIND.sensors),
    )


def doses(evidence: Evidence) -> dict[str | None, Criterion]:
    return {one.stage: one for one in evidence.criteria if one.name.startswith("volume of")}


def test_each_dose_is_counted_by_its_own_meter() -> None:
    found = doses(judged())
    assert {stage: one.sensor for stage, one in found.items()} == {"cleaning": "dose", "neutralisation": "neutral"}
    assert {one.state for one in found.values()} == {CriterionState.MET}
    assert found["neutralisation"].value == pytest.approx(60e-6, rel=0.02)


@pytest.mark.parametrize(
    ("stage", "agent", "other"),
    [("neutralisation", "acidic neutraliser", "cleaning"), ("cleaning", "alkaline detergent", "neutralisation")],
)
def test_a_dose_that_never_arrived_is_missed_and_no_other_meter_hides_it(stage: str, agent: str, other: str) -> None:
    found = doses(judged(MissedDose(stage, agent)))
    assert found[stage].state is CriterionState.NOT_MET
    assert found[other].state is CriterionState.MET

"""The whole verdict on one cycle, as a value, as JSON and as a schema."""

from __future__ import annotations

import json
import re
from datetime import date

import numpy as np
import pytest
from pydantic import ValidationError

from patency.catalogue import CycleLimits
from patency.evidence import (
    CriterionState,
    Evidence,
    FindingKind,
    Origin,
    evidence_document,
    evidence_schema,
    judge_alone,
    read_description,
    read_record,
)
from patency.quantities import Limit
from tests.evidence.cycles import LIMITS, SOURCE, TODAY, Cycle, criterion, good_cycle, limits

# The first is for comparison only, without the second every alarm refuses (tests/evidence/test_alarm.py).
LIMIT_NAMES = sorted(set(type(LIMITS).model_fields) - {"fixed_pressure_window", "false_rejects"})


def test_a_cycle_with_everything_as_it_should_be_is_met() -> None:
    evidence = good_cycle().judged()
    assert evidence.verdict is CriterionState.MET
    assert {c.state for c in evidence.criteria} == {CriterionState.MET}
    assert evidence.findings == ()
    assert (evidence.on, evidence.programme, evidence.programme_version) == (TODAY, "short", "2")
    assert evidence.stages_found_by is Origin.COLUMN
    assert [(stage.name, stage.kind, stage.start_s, stage.end_s) for stage in evidence.stages][:2] == [
        ("cold rinse", "flush", 0.0, 99.0),
        ("cleaning", "clean", 100.0, 399.0),
    ]


def test_the_same_cycle_without_a_stage_column_is_met_too() -> None:
    evidence = good_cycle().without_column("step").judged()
    assert evidence.stages_found_by is Origin.SIGNALS
    assert evidence.verdict is CriterionState.MET
    assert [finding.kind for finding in evidence.findings] == [FindingKind.UNKNOWN_COLUMN]


@pytest.mark.parametrize("name", LIMIT_NAMES)
def test_no_verdict_is_met_without_any_one_of_the_limits(name: str) -> None:
    assert good_cycle().judged(limits=limits(**{name: None})).verdict is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize("name", LIMIT_NAMES)
def test_no_verdict_is_met_with_a_limit_out_of_date(name: str) -> None:
    limit: Limit = getattr(LIMITS, name)
    outdated = Limit(limit.value, limit.unit, SOURCE, valid_until=date(2026, 5, 31))
    evidence = good_cycle().judged(limits=limits(**{name: outdated}))
    assert evidence.verdict is CriterionState.NOT_EVALUATED
    assert any("not on 2026-06-01" in c.why for c in evidence.criteria)


@pytest.mark.parametrize("column", ["T1", "T2", "P1", "arm", "cond", "dose"])
def test_no_verdict_is_met_while_a_sensor_is_of_unknown_uncertainty(column: str) -> None:
    cycle = good_cycle()
    lines = [
        re.sub(r", uncertainty: [0-9.]+", "", line) if line.startswith(f"  {column}:") else line
        for line in cycle.description.splitlines()
    ]
    assert cycle.described(cycle.description, "\n".join(lines)).judged().verdict is CriterionState.NOT_EVALUATED


@pytest.mark.parametrize("column", ["T1", "T2", "P1", "arm", "cond", "dose"])
def test_no_verdict_is_met_while_a_column_is_missing(column: str) -> None:
    assert good_cycle().without_column(column).judged().verdict is CriterionState.NOT_EVALUATED


def test_the_worst_state_of_any_criterion_is_the_verdict() -> None:
    def cold(_: object, values: np.ndarray) -> None:
        values[:] = 20.0

    evidence = good_cycle().with_column("T2", cold).judged(eye_check=None)
    assert {c.state for c in evidence.criteria} == set(CriterionState)
    assert evidence.verdict is CriterionState.NOT_MET


def alone(cycle: Cycle, limits: CycleLimits = LIMITS) -> Evidence:
    return judge_alone(cycle.record(), limits, on=TODAY)


def test_a_record_alone_shows_its_a0_and_leaves_the_rest_open() -> None:
    evidence = alone(good_cycle())
    whole = good_cycle().judged()
    assert (evidence.a0_s, evidence.a0_guarded_s) == (whole.a0_s, whole.a0_guarded_s)
    assert [c.sensor for c in evidence.criteria if c.state is CriterionState.MET] == [None, "T1", "T2"]
    assert evidence.verdict is CriterionState.NOT_EVALUATED
    assert {c.why for c in evidence.criteria if c.state is CriterionState.NOT_EVALUATED} == {
        "no programme and no load were given"
    }


def test_a_record_alone_without_limits_evaluates_nothing() -> None:
    evidence = alone(good_cycle(), CycleLimits())
    assert {c.state for c in evidence.criteria} == {CriterionState.NOT_EVALUATED}


def test_without_stages_only_heat_with_circulation_counts() -> None:
    evidence = alone(good_cycle().without_column("step"))
    assert evidence.a0_s["T1"] == pytest.approx(good_cycle().judged().a0_s["T1"], rel=1e-9)
    assert criterion(evidence, "A0", sensor="T1").state is CriterionState.MET


def test_without_any_sign_of_water_heat_counts_up_to_boiling_and_stays_doubtful() -> None:
    cycle = good_cycle().without_column("step").without_column("P1").without_column("arm")
    evidence = alone(cycle)
    counted = good_cycle().judged().a0_s["T1"]
    # The chamber takes less than 100 s from 92 °C to 100.5 °C, where a second is worth 10^2.05 s.
    assert counted < evidence.a0_s["T1"] < counted + 100 * 10**2.05
    assert criterion(evidence, "A0", sensor="T1").state is CriterionState.NOT_EVALUATED
    assert criterion(evidence, "A0", sensor="T1").why.startswith("nothing in the record shows which heat was moist")


def test_a_record_of_temperatures_alone_has_the_a0_of_its_profile() -> None:
    """The profile of tests/published, 1023.12 s."""
    values = [60, 64, 66, 70, 76, 82, 87, 90, 91, 91, 90, 90, 91, 90, 90, 88, 80, 70, 64]
    text = "time;T1\n" + "".join(f"{10 * place};{value}\n" for place, value in enumerate(values))
    description = read_description(
        "format: patency-record/1\ntime: {column: time, unit: s}\n"
        "columns: {T1: {quantity: temperature, unit: degC, place: load, uncertainty: 1}}\n"
    )
    evidence = judge_alone(read_record(text, description), CycleLimits(), on=TODAY)
    assert evidence.a0_s["T1"] == pytest.approx(1023.12, abs=0.005)
    assert evidence.a0_guarded_s["T1"] < evidence.a0_s["T1"] * 10**-0.1 + 1e-9


def test_the_document_is_plain_json_and_keeps_the_keys_of_its_format() -> None:
    document = evidence_document(good_cycle().described("place: load, uncertainty: 0.25", "place: load").judged())
    again = json.loads(json.dumps(document, allow_nan=False))
    assert again == document
    assert document["format"] == "patency-evidence/1"
    assert set(document["a0_s"]) == {"T1", "T2"}
    assert set(document["a0_guarded_s"]) == {"T1"}
    assert document["verdict"] == "not evaluated"
    for told in document["criteria"]:
        assert {"name", "value", "unit", "limit", "source", "margin", "state", "why"} <= set(told)
        assert told["state"] in {"met", "not met", "not evaluated"}
    assert Evidence.model_validate_json(json.dumps(document)).a0_s == document["a0_s"]


def test_the_schema_names_the_three_states_and_forbids_other_keys() -> None:
    schema = evidence_schema()
    assert schema["$defs"]["CriterionState"]["enum"] == ["met", "not met", "not evaluated"]
    assert schema["additionalProperties"] is False
    assert {"a0_s", "a0_guarded_s", "criteria", "verdict"} <= set(schema["required"])
    assert schema["$schema"].startswith("https://json-schema.org/draft/2020-12")


def test_evidence_never_holds_a_number_that_is_none() -> None:
    evidence = good_cycle().judged()
    with pytest.raises(ValidationError):
        Evidence.model_validate({**evidence_document(evidence), "a0_s": {"T1": float("inf")}})


def test_no_word_of_the_evidence_claims_more_than_was_evaluated() -> None:
    words = json.dumps(evidence_document(good_cycle().judged(eye_check=None))).lower()
    for forbidden in ("passed", "sterile", "guarantee", "safe", "released", " clean "):
        assert forbidden not in words


def test_the_digest_of_the_record_is_kept() -> None:
    cycle = good_cycle()
    assert cycle.judged().record_sha256 == cycle.record().sha256

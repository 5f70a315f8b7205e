"""The verdict on one cycle: every criterion with its state, and what follows from them."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from patency.catalogue import schema_of
from patency.evidence.alarm import ALARM_CRITERION
from patency.evidence.calendar import Relied
from patency.evidence.case import BareCase, Case
from patency.evidence.circulation import FixedWindow, fixed_windows
from patency.evidence.completeness import completeness_criterion
from patency.evidence.criteria import Asked, Criterion, CriterionState, unanswered
from patency.evidence.findings import Finding
from patency.evidence.found_stages import Origin
from patency.evidence.measuring import answers_of, coded, together
from patency.evidence.moist import find_moist
from patency.evidence.outcome import overall
from patency.evidence.parts import judged
from patency.evidence.stages import find_stages, interruptions
from patency.evidence.thermal import a0_criteria, a0_of

if TYPE_CHECKING:
    from patency.catalogue import CycleLimits, Programme
    from patency.evidence.prediction import EyeCheck, LoadMachine, PressurePrediction
    from patency.evidence.record import CycleRecord

# What cannot be asked of a record without its programme and its load.
_NEED_A_PLAN = (
    ("programme", ""),
    ("machine", ""),
    ("sensors of the machine", "1"),
    ("stages in order", "1"),
    ("calibration of the sensors", "s"),
    ("highest temperature before cleaning", "degC"),
    ("cleaning time", "s"),
    ("disinfection hold time", "s"),
    ("conductivity of the last water", "uS/cm"),
    ("carried over into the rinse", "1"),
    ("fastest heating", "K"),
    ("slowest heating", "K"),
    ("temperature of the rinses", "degC"),
    ("conductivity of the rinses with a dose", "uS/cm"),
    ("drying time", "s"),
    ("drying time at temperature", "s"),
    ("highest temperature of the drying air", "degC"),
    ("speed of the arms for this load", "rpm"),
    ("circulation pressure", "Pa"),
    ("swing of the circulation pressure", "1"),
    (ALARM_CRITERION, "1"),
    ("circulation time", "s"),
    ("every hose and sleeve seen at unloading", ""),
)


class _Told(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)


class StageTold(_Told):
    """Where a stage was found."""

    name: str
    kind: str
    start_s: float
    """From the first sample of the record [s]."""
    end_s: float


class Evidence(_Told):
    """What a cycle record proves about one load, and what it leaves open."""

    format: Literal["patency-evidence/1"] = "patency-evidence/1"
    a0_s: dict[str, float]
    """Column of each temperature sensor to A0 from its raw values [s]."""
    a0_guarded_s: dict[str, float]
    """The same with the sensor's uncertainty subtracted first [s]; a sensor of unknown uncertainty has none."""
    criteria: Annotated[tuple[Criterion, ...], Field(min_length=1)]
    verdict: CriterionState
    on: date
    """The day on which limits had to hold."""
    programme: str
    programme_version: str
    stages_found_by: Origin
    stages: tuple[StageTold, ...]
    fixed_pressure_windows: tuple[FixedWindow, ...]
    """For comparison only; they decide nothing."""
    findings: tuple[Finding, ...]
    record_sha256: str
    """Digest of the record's text as it came."""
    machine: str | None = None
    """The machine the record names; None where it names none."""
    started: datetime | None = None
    """Moment of the record's first sample; None where the record counts seconds only."""
    relies_on: tuple[Relied, ...] | None = None
    """The tests of the calendar the cycle relied on; None where no calendar was given."""


def judge(
    record: CycleRecord,
    programme: Programme,
    limits: CycleLimits,
    prediction: PressurePrediction | None,
    *,
    on: date,
    eye_check: EyeCheck | None = None,
    programme_key: str | None = None,
    machine: LoadMachine | None = None,
) -> Evidence:
    """Judge a cycle record against its programme, the site's limits and the prediction for this very load.

    Parameters
    ----------
    record
        The record.
    programme
        The programme that should have run.
    limits
        The site's limits; what is missing or out of date leaves its criterion not evaluated.
    prediction
        The circulation pressures predicted for the load as planned; None leaves their criteria not evaluated.
    on
        The day of the decision.
    eye_check
        What was seen at unloading; None leaves that criterion not evaluated.
    programme_key
        How the department's records name the programme; None where they use its full name.
    machine
        The machine the load was planned for; None leaves what rests on it not evaluated.

    Returns
    -------
    Evidence
        Every criterion with its state. The verdict is no release: release is the decision of a qualified person.
    """
    found = find_stages(record, programme)
    case = Case(record, limits, on, found.moist, programme, found, prediction, eye_check, programme_key, machine)
    return evidence_of(case, tuple(one.told() for _, one in judged(case)))


def evidence_of(case: Case, criteria: tuple[Criterion, ...]) -> Evidence:
    """Put a case and its criteria together.

    Parameters
    ----------
    case
        The case.
    criteria
        Every criterion, judged.

    Returns
    -------
    Evidence
        The evidence.
    """
    record, programme, found = case.record, case.programme, case.found
    return Evidence(
        a0_s=_raw_a0(case),
        a0_guarded_s=_guarded_a0(case),
        criteria=criteria,
        verdict=overall(criterion.state for criterion in criteria),
        on=case.on,
        programme=programme.name,
        programme_version=programme.version,
        stages_found_by=found.origin,
        stages=tuple(
            StageTold(
                name=span.called,
                kind=span.stage.kind.value,
                start_s=float(record.time_s[span.first]),
                end_s=float(record.time_s[span.last]),
            )
            for span in found.spans
        ),
        fixed_pressure_windows=fixed_windows(case),
        findings=(*record.findings, *interruptions(record, found)),
        record_sha256=record.sha256,
        machine=record.description.machine,
        started=record.started,
    )


def judge_alone(record: CycleRecord, limits: CycleLimits, *, on: date) -> Evidence:
    """Tell what a record shows by itself, when nobody says which programme and which load it belongs to.

    Parameters
    ----------
    record
        The record.
    limits
        The site's limits, or none: an empty `CycleLimits`.
    on
        The day of the decision.

    Returns
    -------
    Evidence
        A0 and completeness; everything that needs programme or load is not evaluated, so the verdict is never met.
    """
    case = BareCase(record, limits, on, find_moist(record))
    open_questions = [
        unanswered(Asked(name, unit), "no programme and no load were given") for name, unit in _NEED_A_PLAN
    ]
    asking = together([completeness_criterion(case), a0_criteria(case)])
    told = [one.told() for one in asking.weigh(case, answers_of(case, coded(asking.measures)))]
    criteria = (*told, *open_questions)
    return Evidence(
        a0_s=_raw_a0(case),
        a0_guarded_s=_guarded_a0(case),
        criteria=criteria,
        verdict=overall(criterion.state for criterion in criteria),
        on=on,
        programme="no programme given",
        programme_version="none",
        stages_found_by=Origin.NOTHING,
        stages=(),
        fixed_pressure_windows=(),
        findings=record.findings,
        record_sha256=record.sha256,
        machine=record.description.machine,
        started=record.started,
    )


def _raw_a0(case: BareCase) -> dict[str, float]:
    return {trace.name: a0_of(case, trace, 0.0).a0_s for trace in case.record.of("temperature")}


def _guarded_a0(case: BareCase) -> dict[str, float]:
    sensors = case.record.of("temperature")
    return {
        trace.name: a0_of(case, trace, trace.uncertainty).a0_s for trace in sensors if trace.uncertainty is not None
    }


def evidence_document(evidence: Evidence) -> dict[str, Any]:
    """Return the evidence as plain values for JSON, format ``patency-evidence/1``.

    Parameters
    ----------
    evidence
        The evidence.

    Returns
    -------
    dict
        Mappings, lists, numbers and text only.
    """
    return evidence.model_dump(mode="json")


def evidence_schema() -> dict[str, Any]:
    """Return the JSON Schema of ``patency-evidence/1``.

    Returns
    -------
    dict
        The schema (draft 2020-12).
    """
    return schema_of(Evidence, "The evidence of a cycle")

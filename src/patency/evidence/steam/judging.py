"""The verdict on a cycle of a steam sterilizer, and on an air-leakage test."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from patency.catalogue import SteamProgramme
from patency.evidence.calendar import Relied
from patency.evidence.calibration import calibration_criterion
from patency.evidence.completeness import gap_weighed
from patency.evidence.criteria import Asked, Bounds, Criterion, CriterionState, compared, limit_fault, unanswered
from patency.evidence.findings import Finding
from patency.evidence.outcome import overall
from patency.evidence.steam.case import HOLDING, SteamCase
from patency.evidence.steam.entered import EnteredChecks, entered_criteria
from patency.evidence.steam.lethality import f0_s
from patency.evidence.steam.plateau import plateau_criteria
from patency.evidence.steam.vacuum import drying_criterion, leakage_criteria, pulses_criterion
from patency.evidence.two_sources import worse_of
from patency.evidence.verdict import StageTold

if TYPE_CHECKING:
    from patency.catalogue import SteamLimits
    from patency.evidence.record import CycleRecord, Trace


# A leakage test holds no temperature: nothing of a programme is asked.
LEAKAGE_TEST = SteamProgramme.model_validate(
    {
        "name": "air-leakage test",
        "version": "none",
        "sterilization_temperature": "134 °C",
        "holding": "0 s",
        "pulses": 0,
        "drying": "0 s",
    }
)


class _Told(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)


class SteamEvidence(_Told):
    """What the record of a steam sterilizer proves, and what it leaves open."""

    format: Literal["patency-steam-evidence/1"] = "patency-steam-evidence/1"
    f0_reference_c: float | None
    """Reference temperature of F0; None where the site states none, and then no F0 is told."""
    f0_s: dict[str, float]
    """Column of each temperature sensor to F0 from its raw values [s]; told, it decides nothing."""
    f0_guarded_s: dict[str, float]
    """The same with the sensor's uncertainty subtracted first; a sensor of unknown uncertainty has none."""
    criteria: Annotated[tuple[Criterion, ...], Field(min_length=1)]
    verdict: CriterionState
    on: date
    """The day on which limits had to hold."""
    programme: str
    programme_version: str
    stages: tuple[StageTold, ...]
    """Air removal, plateau and what follows it, by the raw readings: the plateau lasts from the first moment at which
    every point was at the sterilization temperature to the last, that of the reference point where there is none; empty
    where neither was ever there."""
    findings: tuple[Finding, ...]
    record_sha256: str
    """Digest of the record's text as it came."""
    machine: str | None = None
    """The machine the record names; None where it names none."""
    started: datetime | None = None
    """Moment of the record's first sample; None where the record counts seconds only."""
    relies_on: tuple[Relied, ...] | None = None
    """The tests of the calendar the cycle relied on; None where no calendar was given."""


def judge_steam(
    record: CycleRecord,
    programme: SteamProgramme,
    limits: SteamLimits,
    *,
    on: date,
    programme_key: str,
    entered: EnteredChecks | None = None,
) -> SteamEvidence:
    """Judge the record of a cycle of a steam sterilizer.

    Parameters
    ----------
    record
        The record.
    programme
        The programme that should have run.
    limits
        The site's limits; what is missing or out of date leaves its criterion not evaluated.
    on
        The day of the decision.
    programme_key
        How the department's records name the programme.
    entered
        The tests of the machine and the look at the load; None leaves them not evaluated.

    Returns
    -------
    SteamEvidence
        Every criterion with its state. The verdict is no release: release is the decision of a qualified person.
    """
    case = SteamCase(record, programme, limits, on)
    criteria = _criteria(case, programme_key, entered)
    for by in range(1, len(case.pressure_sensors)):
        criteria = worse_of(criteria, _criteria(replace(case, by=by), programme_key, entered))
    return _evidence(case, criteria)


def _criteria(case: SteamCase, programme_key: str, entered: EnteredChecks | None) -> tuple[Criterion, ...]:
    return (
        _programme(case, programme_key),
        _sensors(case),
        calibration_criterion(case.record, case.limits.calibration_interval, case.on),
        _completeness(case),
        pulses_criterion(case),
        *plateau_criteria(case),
        drying_criterion(case),
        *entered_criteria(case, entered),
    )


def judge_leakage(record: CycleRecord, limits: SteamLimits, *, on: date) -> SteamEvidence:
    """Judge the record of an air-leakage test.

    Parameters
    ----------
    record
        The record of the test alone.
    limits
        The site's limits.
    on
        The day of the decision.

    Returns
    -------
    SteamEvidence
        Start and rise of the pressure.
    """
    case = SteamCase(record, LEAKAGE_TEST, limits, on)
    criteria = tuple(leakage_criteria(case))
    return SteamEvidence(
        f0_reference_c=None,
        f0_s={},
        f0_guarded_s={},
        criteria=criteria,
        verdict=overall(criterion.state for criterion in criteria),
        on=on,
        programme=LEAKAGE_TEST.name,
        programme_version=LEAKAGE_TEST.version,
        stages=(),
        findings=record.findings,
        record_sha256=record.sha256,
        machine=record.description.machine,
        started=record.started,
    )


def _evidence(case: SteamCase, criteria: tuple[Criterion, ...]) -> SteamEvidence:
    reference = case.limits.f0_reference
    usable = reference is not None and limit_fault(reference, "degC", case.on) is None
    reference_c = reference.value if reference is not None and usable else None
    sensors = case.record.of("temperature") if reference_c is not None else []
    return SteamEvidence(
        f0_reference_c=reference_c,
        f0_s={trace.name: _f0(case, trace, 0.0, reference_c or 0.0) for trace in sensors},
        f0_guarded_s={
            trace.name: _f0(case, trace, trace.uncertainty, reference_c or 0.0)
            for trace in sensors
            if trace.uncertainty is not None
        },
        criteria=criteria,
        verdict=overall(criterion.state for criterion in criteria),
        on=case.on,
        programme=case.programme.name,
        programme_version=case.programme.version,
        stages=_stages(case),
        findings=case.record.findings,
        record_sha256=case.record.sha256,
        machine=case.record.description.machine,
        started=case.record.started,
    )


def _stages(case: SteamCase) -> tuple[StageTold, ...]:
    if case.shown is None:
        return ()
    time = case.record.time_s
    start_s, end_s, last_s = float(time[case.shown[0]]), float(time[case.shown[1]]), float(time[-1])
    parts = (("air removal", "heat", 0.0, start_s), (HOLDING, "hold", start_s, end_s))
    after = ("exhaust and drying", "dry", end_s, last_s)
    return tuple(StageTold(name=name, kind=kind, start_s=a, end_s=b) for name, kind, a, b in (*parts, after))


def _f0(case: SteamCase, trace: Trace, subtract_k: float, reference_c: float) -> float:
    """Integrate F0 up to the end of the plateau, crediting no more than saturation where a pressure is measured.

    A reading beside which the pressure is missing counts as missing: it may have been superheated.
    """
    values = trace.values - subtract_k
    if not isinstance(case.pressure, str):
        values = np.minimum(values, case.pressure.saturated_c)
    counted = np.arange(values.size) <= (case.plateau[1] if case.plateau else -1)
    return f0_s(case.record.axis, values, counted, reference_c)


def _programme(case: SteamCase, key: str) -> Criterion:
    named = case.record.description.programme
    asked = Asked("programme")
    if named is None:
        return unanswered(asked, "the record names no programme")
    same = named in (key, case.programme.name)
    why = f"the record names {named!r}" + ("" if same else f", {key!r} should have run")
    source = f"programme {case.programme.name}, version {case.programme.version}"
    state = CriterionState.MET if same else CriterionState.NOT_MET
    return Criterion("programme", None, "", None, source, None, state, why)


def _sensors(case: SteamCase) -> Criterion:
    """Judge that the record holds as many sensors as the programme says, so that none that would object is left out."""
    asked = Asked("sensors of the machine", "1")
    prescribed = case.programme.sensors
    if prescribed is None:
        return unanswered(asked, "the programme does not say how many sensors the record of a cycle holds")
    named = {trace.beside or trace.name for trace in (*case.thermometers, *case.pressure_sensors)}
    count = len(named & case.record.description.columns.keys())
    if count < prescribed:
        return unanswered(asked, f"the record has {count} of {prescribed} in chamber, drain and load")
    source = f"programme {case.programme.name}, version {case.programme.version}"
    return compared(asked, float(count), 0.0, Bounds(source, low=float(prescribed)))


def _completeness(case: SteamCase) -> Criterion:
    judged = [*case.thermometers, *case.record.of("pressure", "chamber")]
    return gap_weighed(case.record, case.limits.longest_gap, case.on, judged).told()


def steam_document(evidence: SteamEvidence) -> dict[str, Any]:
    """Return the evidence as plain values for JSON, format ``patency-steam-evidence/1``.

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


def steam_schema() -> dict[str, Any]:
    """Return the JSON Schema of ``patency-steam-evidence/1``.

    Returns
    -------
    dict
        The schema (draft 2020-12).
    """
    return SteamEvidence.model_json_schema(mode="serialization")

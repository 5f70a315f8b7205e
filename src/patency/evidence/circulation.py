"""The criteria of circulation: pressure against the prediction for this very load, time, what only an eye can see."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from patency.evidence.criteria import (
    Asked,
    Bounds,
    Criterion,
    CriterionState,
    compared,
    compared_time,
    limit_fault,
    shown,
    unanswered,
)
from patency.evidence.holding import total
from patency.evidence.prediction import Seen
from patency.evidence.process import part_of

if TYPE_CHECKING:
    from patency.catalogue import Stage
    from patency.evidence.case import Case
    from patency.evidence.prediction import PredictedPressure
    from patency.evidence.record import Trace
    from patency.evidence.stages import StageSpan


@dataclass(frozen=True, slots=True)
class FixedWindow:
    """What a fixed window around the expected pressure would have said; for information, it decides nothing.

    Parameters
    ----------
    stage
        Name of the wet stage.
    sensor
        Column of the pressure sensor.
    value_pa
        Pressure in the steady part of the stage, above the surroundings [Pa].
    low_pa
        Lower end of the window [Pa].
    high_pa
        Upper end of the window [Pa].
    source
        Where the window comes from.
    state
        Met inside, not met outside.
    """

    stage: str
    sensor: str
    value_pa: float
    low_pa: float
    high_pa: float
    source: str
    state: CriterionState


@dataclass(frozen=True, slots=True)
class _Steady:
    """The pressure of one stage as one sensor saw it."""

    span: StageSpan
    trace: Trace
    value_pa: float
    predicted: PredictedPressure


def pressure_criteria(case: Case) -> list[Criterion]:
    """Judge the circulation pressure of each wet stage against the interval predicted for this load.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each wet stage and pressure sensor of the circulation.
    """
    criteria: list[Criterion] = []
    for position, stage in enumerate(case.programme.stages):
        if stage.kind.wet:
            criteria += _pressure(case, position, stage)
    return criteria


def _pressure(case: Case, position: int, stage: Stage) -> list[Criterion]:
    asked = Asked("circulation pressure", "Pa", stage.name)
    sensors = case.record.of("pressure", "circulation")
    if not sensors:
        return [unanswered(asked, "the record has no pressure at the circulation")]
    span = next((span for span in case.found.spans if span.position == position), None)
    if span is None:
        return [unanswered(asked, "the stage was not found in the record")]
    criteria = []
    for trace in sensors:
        asked = Asked(asked.name, asked.unit, stage.name, trace.name)
        found = _steady(case, span, trace)
        if isinstance(found, str):
            criteria.append(unanswered(asked, found))
            continue
        if trace.uncertainty is None:
            criteria.append(unanswered(asked, "the uncertainty of the sensor is not known"))
            continue
        # Prediction and sensor may both be off: the reading meets the prediction where their intervals touch.
        interval = found.predicted.pressure_pa
        bounds = Bounds(
            f"prediction for this load ({case.prediction.source if case.prediction else ''}); sensor uncertainty added",
            low=interval.low - trace.uncertainty,
            high=interval.high + trace.uncertainty,
        )
        off = found.value_pa / interval.nominal - 1 if interval.nominal else 0.0
        note = f"predicted {shown(interval.nominal, 'Pa')}, the reading lies {off:+.1%} from it"
        criteria.append(compared(asked, found.value_pa, 0.0, bounds, note))
    return criteria


def _steady(case: Case, span: StageSpan, trace: Trace) -> _Steady | str:
    """Return the pressure of a stage with its prediction, or why there is none."""
    predicted = case.prediction.stages.get(_predicted_as(case, span)) if case.prediction else None
    if case.prediction is None or predicted is None:
        return "no pressure was predicted for this stage of this load"
    ambient = 0.0 if trace.gauge else case.prediction.ambient_pressure_pa
    if ambient is None:
        return "the sensor measures absolute pressure and the pressure of the surroundings is not known"
    readings = part_of(case, trace, span)
    if not readings.size:
        return "the sensor shows no value in the steady part of the stage"
    return _Steady(span, trace, float(np.median(readings)) - ambient, predicted)


def _predicted_as(case: Case, span: StageSpan) -> str:
    """Return how a prediction names a stage: by its name, with a number behind it where the name comes again."""
    name = span.stage.name
    before = sum(stage.kind.wet and stage.name == name for stage in case.programme.stages[: span.position])
    return f"{name} {before + 1}" if before else name


def circulation_time_criteria(case: Case) -> list[Criterion]:
    """Judge that water circulated in each wet stage for at least its prescribed time; pauses do not count.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    list
        One criterion for each wet stage found.
    """
    criteria = []
    for span in case.found.wet:
        asked = Asked("circulation time", "s", span.stage.name)
        if case.found.running is None:
            criteria.append(unanswered(asked, "nothing in the record shows when the pump ran"))
            continue
        mask = np.zeros(case.found.running.size, dtype=bool)
        mask[span.first : span.last + 1] = case.found.running[span.first : span.last + 1]
        # Whether the pump ran is told for every sample; only gaps between samples leave time open.
        ran = total(mask, np.zeros_like(mask), case.record.axis, case.tolerated_gap_s)
        note = f"in {ran.parts} stretches" if ran.parts > 1 else ""
        bounds = Bounds(case.programme_source, low=span.stage.hold_s)
        criteria.append(compared_time(asked, ran.certain_s, ran.possible_s, bounds, note))
    return criteria


def fixed_windows(case: Case) -> tuple[FixedWindow, ...]:
    """Tell what a fixed window around the predicted pressure would have said, for comparison only.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    tuple
        One entry for each wet stage with a prediction; empty where the site states no such window.
    """
    limit = case.limits.fixed_pressure_window
    if limit is None or limit_fault(limit, "1", case.on):
        return ()
    windows = []
    for trace in case.record.of("pressure", "circulation"):
        for span in case.found.wet:
            found = _steady(case, span, trace)
            if isinstance(found, str):
                continue
            nominal = found.predicted.pressure_pa.nominal
            low, high = sorted((nominal * (1 - limit.value), nominal * (1 + limit.value)))
            state = CriterionState.MET if low <= found.value_pa <= high else CriterionState.NOT_MET
            windows.append(FixedWindow(span.stage.name, trace.name, found.value_pa, low, high, limit.source, state))
    return tuple(windows)


def eye_check_criterion(case: Case) -> Criterion:
    """Ask for the look at every hose and sleeve at unloading, and say what the pressure can show of one hose off.

    Parameters
    ----------
    case
        The case.

    Returns
    -------
    Criterion
        Not evaluated until somebody has looked.
    """
    check = case.eye_check
    blind = _blindness(case)
    if check is None:
        state, why = CriterionState.NOT_EVALUATED, f"nobody has entered it; {blind}"
    elif check.seen is Seen.ALL_IN_PLACE:
        state, why = CriterionState.MET, f"seen by {check.by} at {check.at.isoformat()}"
    else:
        state, why = (
            CriterionState.NOT_MET,
            f"seen by {check.by} at {check.at.isoformat()}: {check.remark or 'something off'}",
        )
    return Criterion(
        name="every hose and sleeve seen at unloading",
        value=None,
        unit="",
        limit=None,
        source="common practice; a pressure sensor cannot see every disconnected lumen",
        margin=None,
        state=state,
        why=why,
    )


def _blindness(case: Case) -> str:
    """Say whether the pressure could show a single hose off, at the stage where it shows most."""
    shifts = [
        (abs(predicted.one_hose_off_pa), predicted, trace)
        for trace in case.record.of("pressure", "circulation")
        for predicted in (case.prediction.stages.values() if case.prediction else ())
        if predicted.one_hose_off_pa is not None
    ]
    if not shifts:
        return "whether the pressure could show one hose off was not computed, so it counts as unable to"
    shift, predicted, trace = max(shifts, key=lambda item: item[0])
    interval = predicted.pressure_pa
    share = f" ({shift / interval.nominal:.1%})" if interval.nominal else ""
    doubt = (interval.high - interval.low) / 2
    words = f"one hose off would change the pressure by at most {shown(shift, 'Pa')}{share}"
    if trace.uncertainty is None:
        return f"{words}, and the sensor's uncertainty is not known"
    seen = shift > (interval.high - interval.low) + 2 * trace.uncertainty
    end = (
        "larger than both together, but which hose it is the pressure does not say" if seen else "so it cannot show it"
    )
    sensor = f"the sensor is uncertain by {shown(trace.uncertainty, 'Pa')}"
    return f"{words}; {sensor}, the prediction by {shown(doubt, 'Pa')}, {end}"
